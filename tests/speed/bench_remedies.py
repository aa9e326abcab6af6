"""What is offered for random pieces on hold: how often it keeps machine and typeface, whether it holds, what it costs.

python tests/speed/bench_remedies.py [KEPT.json] [--minutes 25] [--held 2000] [--seed 17]

Orders are drawn evenly from what is at hand, always the same ones for a seed. It ends after so many minutes, or so many
pieces on hold; the same command goes on where it stopped, as long as the tables draw the same orders. Each remedy is applied
by itself to the order and made from the beginning: it fails if the piece is on hold, or if other findings are to be looked at
than the remedy says. The floor B of a piece: shape its words once, write every coordinate of its letters as they stand, write
the file. Seconds are the processor's.
"""

from __future__ import annotations

import argparse
import json
import random
import statistics
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import Any

from engrave.making import Env, environment
from engrave.output.svg.lid_file import path_data
from engrave.verbs import Tried, apply_remedy, try_words, with_advice
from engrave.week import Entry

NAMES = [
    "Ida", "Philip", "Wanda", "Rosemary", "Bartholomew", "Zoë & Tom", "Willi Ritter", "Þórður", "Friedrich", "Jo",
    "Anneliese", "Marguerite Delacroix", "Elodie", "MAX", "Grandad", "Ole", "Christopher", "Łukasz Wójcik", "Ada",
    "Wilhelmina Featherstonehaugh", "Sam & Alex", "Mehmet", "Yvonne", "Quentin", "ee", "Will", "Katharina", "Hannah",
]  # fmt: skip
MESSAGES = [
    "", "", "", "with all our love", "sixty summers", "happy birthday from all of us", "14 June 2024",
    "for the keys and all small things", "thank you for everything you did for us this year", "Merry Christmas",
]  # fmt: skip

FAR = {"typeface", "lid", "name", "message", "foot"}
"""Columns whose change makes it another thing than was ordered."""


def random_orders(env: Env, seed: int = 17) -> Iterator[dict[str, str]]:
    """Yield words with what they are cut with, everything drawn evenly from what is at hand."""
    rng, shop = random.Random(seed), env.shop
    faces = sorted(i for i in env.shelf.ids if not i.startswith("noto-sans-") or i == "noto-sans-bold")
    faces = [i for i in faces if i != "noto-naskh-arabic"]
    while True:
        yield {
            "name": rng.choice(NAMES), "message": rng.choice(MESSAGES), "lid": rng.choice(sorted(shop.lids)),
            "typeface": rng.choice(faces), "cutter": rng.choice(sorted(shop.cutters)), "wood": rng.choice(sorted(shop.woods)),
        }  # fmt: skip


def floor_seconds(entry: Entry, env: Env, file: Path) -> float | None:
    """Return what the floor takes of a piece that was laid."""
    piece = entry.piece
    if piece.task is None or piece.lettering is None or not piece.lettering.marks:
        return None
    begun = time.process_time()
    for field, words in piece.task.words.filled():
        env.shelf.get(piece.task.typeface(field)).shape(words)
    file.write_text("\n".join(path_data(mark.path()) for mark in piece.lettering.marks))
    return time.process_time() - begun


def told(ordered: dict[str, str], tried: Tried, seconds: float, env: Env, file: Path) -> dict[str, Any]:
    """Return what came out of a piece as plain values, each remedy with what is wrong with it once it is applied."""
    entry = tried.entries[0]
    offered = []
    for remedy in entry.remedies:
        task, now = remedy.checked.task if remedy.checked else None, entry.piece.task
        cutters, shop = dict(remedy.change).get("cutter", ordered["cutter"]), env.shop
        same = now.tool.machine.id if now else shop.cutters[ordered["cutter"]].machine
        machine = same == (task.tool.machine.id if task else shop.cutters[cutters].machine)
        columns = [c for c, _ in remedy.change]
        offered.append({
            "columns": columns, "values": [v for _, v in remedy.change], "machine": machine,
            "near": machine and not FAR & set(columns), "leaves": list(remedy.leaves),
            "wrong": failing(tried, frozenset(remedy.leaves), apply_remedy(tried, remedy, env, advice=False)),
        })  # fmt: skip
    holds = sorted({p.code for p in entry.piece.problems if p.level == "hold"})
    return {
        "ordered": ordered, "holds": holds, "remedies": offered,
        "seconds": seconds, "floor": floor_seconds(entry, env, file),
    }  # fmt: skip


def failing(tried: Tried, leaves: frozenset[str], again: Tried) -> str:
    """Return what is wrong with an applied remedy, '' if nothing is."""
    area = tried.entries[0].piece.task.area.name if tried.entries[0].piece.task else None
    pieces = [e.piece for e in again.entries]
    same = [p for p in pieces if p.task is not None and (area is None or p.task.area.name == area)] or pieces[:1]
    if not all(p.is_made for p in same):
        return f"on hold: {sorted({p.code for p in same[0].problems if p.level == 'hold'})}"
    looks = frozenset(code for p in same for code in p.serious)
    return f"said {sorted(leaves)}, is {sorted(looks)}" if looks != leaves else ""


class Sample:
    """What came out so far, kept in a file: the pieces on hold, and how many orders were drawn for them."""

    def __init__(self, file: Path | None, env: Env, seed: int) -> None:
        self._file, self._env, self._seed = file, env, seed
        self._drawn_from = json.dumps(list(islice(random_orders(env, seed), 40)))
        self.drawn, self.held = 0, list[dict[str, Any]]()
        if file is not None and file.exists():
            kept = json.loads(file.read_text("utf-8"))
            if kept["drawn_from"] == self._drawn_from:
                self.drawn, self.held = kept["drawn"], kept["held"]
            else:
                print(f"{file} was drawn from other tables: begun anew")

    def go_on(self, most: int, until: float) -> None:
        """Draw further orders until so many were on hold, or the time (of `time.monotonic`) is over."""
        with tempfile.TemporaryDirectory() as folder:
            for ordered in islice(random_orders(self._env, self._seed), self.drawn, None):
                if len(self.held) >= most or time.monotonic() >= until:
                    return
                begun = time.process_time()
                tried = try_words(env=self._env, advice=False, **ordered)
                if tried.entries[0].piece.verdict == "hold":
                    tried = with_advice(tried, self._env)
                    seconds = time.process_time() - begun
                    self.held.append(told(ordered, tried, seconds, self._env, Path(folder) / "floor.svg"))
                self.drawn += 1
                self._keep()

    def _keep(self) -> None:
        if self._file is None:
            return
        text = json.dumps({"drawn_from": self._drawn_from, "drawn": self.drawn, "held": self.held})
        beside = self._file.with_suffix(".new")
        beside.write_text(text, "utf-8")
        beside.replace(self._file)


def shares(held: Sequence[dict[str, Any]]) -> None:
    """Print what is offered, and what of it does not hold."""
    count = max(1, len(held))
    every = [r for e in held for r in e["remedies"]]
    wrong = [
        f"{e['ordered']} {r['columns']} {r['values']}: {r['wrong']}" for e in held for r in e["remedies"] if r["wrong"]
    ]
    near = [e for e in held if any(r["near"] for r in e["remedies"])]
    same = [e for e in held if any(r["machine"] and "typeface" not in r["columns"] for r in e["remedies"])]
    print(f"{len(held)} pieces on hold: {sum(bool(e['remedies']) for e in held) / count:.1%} have a remedy")
    print(f"  with machine, typeface, words and lid as ordered: {len(near) / count:.1%}")
    print(f"  with machine and typeface as ordered: {len(same) / count:.1%}")
    print(f"  remedies that fail when applied by themselves: {len(wrong)} of {len(every)}", *wrong, sep="\n    ")
    print(f"  that leave something to be looked at, and say so: {sum(bool(r['leaves']) for r in every)}")
    print("  " + ", ".join(f"{n} {k}" for n, k in Counter("+".join(r["columns"]) for r in every).most_common(12)))
    multiples = sorted(e["seconds"] / e["floor"] for e in held if e["floor"])
    if multiples:
        print(
            f"  answer and remedies: median {statistics.median(multiples):.0f} B, "
            f"90 % {multiples[int(0.9 * len(multiples))]:.0f} B, most {multiples[-1]:.0f} B"
        )


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("kept", nargs="?", type=Path)
    asked.add_argument("--minutes", type=float, default=25.0)
    asked.add_argument("--held", type=int, default=2000)
    asked.add_argument("--seed", type=int, default=17)
    given = asked.parse_args()
    sample = Sample(given.kept, environment(), given.seed)
    try:
        sample.go_on(given.held, time.monotonic() + 60.0 * given.minutes)
    finally:
        print(f"{sample.drawn} orders drawn")
        shares(sample.held)


if __name__ == "__main__":
    main()
