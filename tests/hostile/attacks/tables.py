"""A shop's own tables: odd values under known keys, wounds, depth, chains."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from random import Random

from .. import mutations, program
from ..protocol import Fault

NAMES = ("lids", "cutters", "machines", "woods", "recipes", "rates", "settings", "intake", "defaults")
VALUES = (
    "0", "-1", "1e-9", "1e9", "1e308", "nan", "inf", "-inf", "9" * 400, "9" * 5000, "true", "false", '""', '"x"', '"3 5/8 in"', '"1e400 mm"',
    '"\\u0000"', '"\\u202e"', "[]", "{}", "[[]]", "[1, 2]", "[0, 0]", "{ circle = 0 }", "{ circle = 1e9 }", '{ svg = "none.svg" }', '{ svg = "." }',
    '{ svg = "/dev/zero" }', '{ svg = "a\\u0000b" }', '{ path = "M 0 0" }', "{ polygon = [[0, 0], [1, 1]] }", "{ sides = 3, across = 1 }",
    "{ sides = 100000, across = 90 }", "{ rectangle = [100, 80], corner = 1e9 }", "1979-05-27", "07:32:00", "9999-12-31T23:59:59Z", "0x7fffffffffffffffffff",
    '"round-caddy"', '"walnut"', '"co2-tube"', '"rim"', '"idna"', '"undefined"', '"utf-7"', '"unicode_escape"', '"rot13"', '"punycode"', '"dmy"', '"bottom"',
    '"inside"', '"left"', "{ a = 1 }", '["a", 1, true]', '["all"]', "0.5", "0.999999", "1.0", "100", "1e5",
)  # fmt: skip


class Tables:
    """Tables in a shop's folder; the shelf is shown and words are tried. A case's first line names the table."""

    name, share, suffix, full = "tables", 2.0, ".toml", 2000

    def make(self, random: Random) -> bytes:
        """Return a table of a shop."""
        name = random.choice(NAMES)
        ours = (program.TABLES / f"{name}.toml").read_text("utf-8")
        match random.randrange(10):
            case 0:
                body = mutations.damaged(ours.encode(), random)
            case 1:
                body = deep(random).encode()
            case _:
                body = valued(ours, random).encode()
        return f"# {name}\n".encode() + body

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Show the shelf, and if the tables can be used, try words with them."""
        name = re.match(rb"# (\w+)", case)
        shop = place / "shop"
        shop.mkdir()
        (shop / f"{name[1].decode() if name else 'lids'}.toml").write_bytes(case)
        asked = program.ask("try", "Wanda", "--message", "sixty summers", "--shop", shop, "--json")
        yield from asked.faults()


def valued(ours: str, random: Random) -> str:
    """Return one of our tables with a few values replaced, keys doubled, lines missing."""
    lines = ours.split("\n")
    for _ in range(random.choice((1, 1, 2, 4))):
        keyed = [i for i, line in enumerate(lines) if re.match(r"\s*[\w\"'.-]+\s*=", line)]
        at = random.choice(keyed)
        if random.random() < 0.9:
            key = lines[at].partition("=")[0]
            lines[at] = f"{key}= {random.choice(VALUES)}"
        elif random.random() < 0.5:
            del lines[at]
        else:
            lines.insert(at, lines[random.choice(keyed)])
    return "\n".join(lines)


def deep(random: Random) -> str:
    """Return a table that is deep, long-chained or many-digited."""
    many = random.choice((50, 1000, 5000, 20_000))
    return random.choice(
        (
            f"[a]\nx = {'[' * many}{']' * many}\n",
            f"[a]\nx = {'{ a = ' * many}1{' }' * many}\n",
            f"[{'.'.join('a' * 1 for _ in range(many))}]\nx = 1\n",
            f"[a]\nx = {'9' * many}\n",
            "".join(f'[l{i}]\nlike = "l{i + 1}"\n' for i in range(min(many, 5000)))
            + f'[l{min(many, 5000)}]\nlike = "round-caddy"\n',
            "".join(f"[e{i}]\ntitle = 'x'\n" for i in range(min(many, 3000))),
            f"[a]\n{'x' * many} = 1\n",
            f'[a]\ntitle = "{"x" * many}"\n',
            '[a]\nlike = "b"\n[b]\nlike = "a"\n',
            f"[columns]\nname = [{', '.join(repr(str(i)) for i in range(min(many, 5000)))}]\n",
        )
    )
