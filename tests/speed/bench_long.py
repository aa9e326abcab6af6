"""Whether a long table costs no more a piece than a short one, what it takes of memory, and whether it outlives an interruption.

python tests/speed/bench_long.py stubbed 1000 20000 100000     one piece is made and stands for all: all the rest is as ever
python tests/speed/bench_long.py real 1000 4000                random names and messages, really made, on all cores
python tests/speed/bench_long.py killed 2000                   the same, killed twice midway, and finished: the same bytes?
python tests/speed/bench_long.py killed 20000 --names          the same with a message on one lid of ten only

Each run is a process of its own. CPU is that of all its processes; memory is the most that the first of them held.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import random
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from faker import Faker

from engrave.batch import run_week, unit_written
from engrave.output.sheets import Proof

HEAD = "order,name,message,foot,lid,typeface,wood,quantity,due,sku\n"
LOCALES = ("en_US", "de_DE", "fr_FR", "sv_SE", "pl_PL", "es_ES", "nl_NL")
LIDS, FACES, WOODS = (
    ("round-caddy", "card-box", "oval-box"),
    ("withy", "vollkorn", "quicksand"),
    ("maple", "walnut", "cherry"),
)
MESSAGES = (
    "",
    "",
    "with all our love",
    "sixty summers",
    "happy birthday from all of us",
    "Merry Christmas",
    "for the keys",
)


def orders(count: int, messages: Sequence[str] = MESSAGES) -> str:
    """Return a table of orders that are alike for a seed, however many there are."""
    rng, people = random.Random(5), [Faker(locale) for locale in LOCALES]
    for number, one in enumerate(people):
        one.seed_instance(number)
    rows = []
    for i in range(count):
        person = rng.choice(people)
        name = rng.choice((person.first_name, person.first_name, person.name))()
        rows.append(
            f'R-{i:06d},"{name}",{rng.choice(messages)},{rng.choice(("", "", str(rng.randint(1980, 2026))))},{rng.choice(LIDS)},'
            f"{rng.choice(FACES)},{rng.choice(WOODS)},{rng.choice((1, 1, 2))},2026-12-{rng.randint(1, 28):02d},S-{rng.randint(1, 99)}\n"
        )
    return HEAD + "".join(rows)


def stub() -> None:
    """Make one piece only, and let it stand for all: its files are short, what is said of it is said of each."""
    draw, told, known = unit_written.draw_unit, unit_written._told, dict[str, Any]()

    def drawn(whats: Sequence[Any], env: Any, *rest: Any) -> Any:
        if not known:
            (one,) = draw(whats[:1], env, *rest)
            known.update(one=replace(one, svg="<svg/>", outline=None, proof=Proof(b"png", b"pdf")))
        one = known["one"]
        pieces = [replace(one.entry.piece, order=w.order, piece=w.piece) for w in whats]
        return [replace(one, entry=replace(one.entry, piece=piece)) for piece in pieces]

    def said(one: Any, names: Any, unit: Any, env: Any) -> Any:
        if "told" not in known:
            known["told"] = told(one, names, unit, env)
        of = known["told"]
        return {
            **of,
            "entry": {**of["entry"], "order": one.entry.piece.order.id, "svg": names.svg, "proof": names.proof},
        }

    os.fsync = lambda _: None  # what a disk takes is its own
    unit_written.draw_unit, unit_written._told = drawn, said


def one_run(table: Path, out: Path, stubbed: bool) -> None:
    """Make a table and print (CPU ms a piece, most MB of this process)."""
    if stubbed:
        stub()
    pieces = len(run_week(table, out, jobs=1 if stubbed else None).week.entries)
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    spent = sum(one.ru_utime + one.ru_stime for one in used)
    print(
        f"{pieces} pieces: {1000 * spent / pieces:.1f} ms of CPU each, at most {used[0].ru_maxrss / 1024:.0f} MB",
        flush=True,
    )


def started(table: Path, out: Path, kind: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, __file__, "one", str(table), str(out), kind])


def digests(out: Path) -> dict[str, bytes]:
    """Return what stands in a folder; ten thousand proofs are not held in memory."""
    return {str(p.relative_to(out)): hashlib.blake2b(p.read_bytes()).digest() for p in out.rglob("*") if p.is_file()}


def killed(at: Path, table: str) -> None:
    """Print whether a run that is killed twice comes to the bytes of one that is not, and what the last one made anew."""
    week = at / "orders.csv"
    week.write_text(table, "utf-8")
    begun = time.monotonic()
    started(week, at / "whole", "real").wait()
    whole = time.monotonic() - begun
    for number in (1, 2):
        process = started(week, at / "killed", "real")
        time.sleep(whole / 3)
        process.send_signal(signal.SIGKILL)
        process.wait()
        print(f"killed for the {number}. time: {len(list((at / 'killed' / 'lids').iterdir()))} lids stand", flush=True)
    begun = time.monotonic()
    started(week, at / "killed", "real").wait()
    print(f"finished in {(time.monotonic() - begun) / whole:.2f} of the time of a whole run")
    found = [digests(out) for out in (at / "whole", at / "killed")]
    print(f"{len(found[0])} files, the same bytes: {found[0] == found[1]}")


def main() -> None:
    """Print what was asked for."""
    parser = argparse.ArgumentParser()
    parser.add_argument("kind", choices=("stubbed", "real", "killed", "one"))
    parser.add_argument("rest", nargs="+")
    parser.add_argument("--names", action="store_true", help="a message on one lid of ten only")
    asked = parser.parse_args()
    if asked.kind == "one":
        one_run(Path(asked.rest[0]), Path(asked.rest[1]), asked.rest[2] == "stubbed")
        return
    messages = (*[""] * 9 * (len(MESSAGES) - 2), *MESSAGES[2:]) if asked.names else MESSAGES
    for count in map(int, asked.rest):
        with tempfile.TemporaryDirectory() as folder:
            if asked.kind == "killed":
                killed(Path(folder), orders(count, messages))
                continue
            table = Path(folder) / "orders.csv"
            table.write_text(orders(count, messages), "utf-8")
            started(table, Path(folder) / "out", asked.kind).wait()


if __name__ == "__main__":
    main()
