"""Lid outlines as SVG: loops of `use`, depth, numbers that are none, wounds in a drawing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

from .. import mutations, program
from ..protocol import Fault

LID = """[drawn]
like = "card-box"
title = "Drawn"
keep_out = []
outline = { svg = "drawn.svg"SIZE }
"""


class Drawings:
    """Drawings as a lid's outline in a shop's folder; words are tried on each."""

    name, share, suffix, full = "drawings", 2.0, ".svg", 1500

    def make(self, random: Random) -> bytes:
        """Return a drawing."""
        if random.random() < 0.15:
            return deep(random).encode()
        drawn = f"<svg {_frame(random)}>{''.join(_element(random, 0) for _ in range(random.randint(1, 3)))}</svg>"
        data = drawn.encode("utf-8", "replace")
        return mutations.damaged(data, random, 3) if random.random() < 0.4 else data

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Try a name on a lid of this outline; the shop's other lids must still serve."""
        shop = place / "shop"
        shop.mkdir()
        (shop / "drawn.svg").write_bytes(case)
        size = ", width = 100" if len(case) % 3 else ""
        (shop / "lids.toml").write_text(LID.replace("SIZE", size), "utf-8")
        yield from program.ask("try", "Wanda", "--lid", "drawn", "--shop", shop, "--json").faults()


def _frame(random: Random) -> str:
    sizes = ("100mm", "4in", "100", "0mm", "-5mm", "1e9mm", "nan", "", "100%", "1e-9mm")
    size = (
        f'width="{random.choice(sizes)}" height="{random.choice(sizes)}"'
        if random.random() < 0.4
        else 'width="100mm" height="80mm"'
    )
    box = random.choice(
        ("0 0 100 80", "0 0 100 80", "0 0 0 0", "a b c d", "0 0", "-1e9 -1e9 1e308 1e308", "nan nan nan nan")
    )
    links = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f'{links} {size} viewBox="{box}"' if random.random() < 0.8 else links


def _element(random: Random, depth: int) -> str:
    kind = random.choice(
        (
            "path",
            "path",
            "path",
            "rect",
            "circle",
            "ellipse",
            "polygon",
            "line",
            "use",
            "g",
            "g",
            "symbol",
            "defs",
            "style",
            "text",
            "switch",
            "clipPath",
        )
    )
    marks = f' id="i{random.randrange(4)}"' * (random.random() < 0.6) + _transform(random) * (random.random() < 0.3)
    n = lambda: mutations.number(random) if random.random() < 0.25 else f"{random.uniform(0, 100):.2f}"  # noqa: E731
    match kind:
        case "path":
            return f'<path{marks} d="{path_data(random)}"/>'
        case "rect":
            return f'<rect{marks} x="{n()}" y="{n()}" width="{n()}" height="{n()}" rx="{n()}"/>'
        case "circle" | "ellipse":
            return f'<{kind}{marks} cx="{n()}" cy="{n()}" r="{n()}" rx="{n()}" ry="{n()}"/>'
        case "polygon" | "line":
            return f'<{kind}{marks} points="{" ".join(n() for _ in range(random.randrange(12)))}" x1="{n()}"/>'
        case "use":
            return f'<use{marks} xlink:href="#i{random.randrange(4)}" x="{n()}" href="#i{random.randrange(4)}"/>'
        case "style":
            return f"<style>.a{{stroke:{mutations.word(random)}}} path {{d: none}} @import url(x);</style>".replace(
                "&", "&amp;"
            ).replace("<script", "")
        case "text":
            return "<text x='5' y='5'>Ida</text>"
        case _:
            inner = "".join(_element(random, depth + 1) for _ in range(random.randint(0, 3))) if depth < 4 else ""
            return f"<{kind}{marks}>{inner}</{kind}>"


def _transform(random: Random) -> str:
    what = random.choice(("translate", "scale", "rotate", "matrix", "skewX", "perspective"))
    return f' transform="{what}({" ".join(mutations.number(random) for _ in range(random.choice((0, 1, 2, 6))))})"'


def path_data(random: Random) -> str:
    """Return path data, mostly of plausible numbers."""
    out = ["M 10 10"] if random.random() < 0.9 else []
    for _ in range(random.choice((1, 3, 6, 20))):
        letter = random.choice("MLHVCSQTAZmlhvcsqtaz")
        need = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}[letter.upper()]
        if random.random() < 0.05:
            need = random.randrange(9)
        far = 100 if letter.isupper() else 30
        values = [
            mutations.number(random) if random.random() < 0.03 else f"{random.uniform(-0.2 * far, far):.1f}"
            for _ in range(need)
        ]
        if letter.upper() == "A" and need == 7:
            values[3:5] = [random.choice("01"), random.choice("01")]
        out.append(" ".join([letter, *values]))
    return " ".join([*out, "Z"]) if random.random() < 0.8 else " ".join(out)


def deep(random: Random) -> str:
    """Return a drawing whose cost grows faster than its length, or that has no end."""
    head = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="80mm" viewBox="0 0 100 80">'
    rect = '<rect x="5" y="5" width="90" height="70"/>'
    many = random.choice((300, 2000, 6000))
    match random.randrange(9):
        case 0:
            body = '<g id="a"><use xlink:href="#a"/></g>' + rect
        case 1:
            body = '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>' + rect
        case 2:
            body = "<g>" * many + rect + "</g>" * many
        case 3:
            levels = "".join(
                f'<g id="l{i}">{f"""<use href="#l{i - 1}"/>""" * 10}</g>' for i in range(1, random.choice((4, 7)))
            )
            body = f'<defs><g id="l0">{rect}</g>{levels}</defs><use href="#l6"/><use href="#l3"/>'
        case 4:
            body = f'<path d="M {" ".join(f"{random.uniform(0, 100):.2f} {random.uniform(0, 80):.2f}" for _ in range(many))} Z"/>'
        case 5:
            body = f'<path d="{" ".join(f"M {x} {x} h 3 v 3 h -3 Z" for x in (random.uniform(0, 90) for _ in range(many)))}"/>'
        case 6:
            body = rect * many
        case 7:
            body = (
                '<symbol id="s"><symbol id="t"><use href="#s"/></symbol></symbol><use href="#t"/><use href="#s"/>'
                + rect
            )
        case _:
            body = f'<path d="M 5 5 {"C 1e5 0 0 1e5 50 50 " * many} Z"/>' + rect
    return head + body + "</svg>"
