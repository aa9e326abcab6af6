"""What is offered for random pieces on hold: how often it keeps machine and typeface, whether it holds, what it costs.

python tests/speed/bench_remedies.py [HELD [KEPT]]     HELD pieces are sought (2,000); KEPT: a JSON file of what came out

The floor B of a piece: shape its words once, write every coordinate of its letters as they stand, write the file.
Seconds are the processor's. A file that was kept before is compared with, piece by piece.
"""

from __future__ import annotations

import json
import random
import statistics
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from engrave.making import Env, environment
from engrave.output.svg.lid_file import path_data
from engrave.verbs import Tried, apply_remedy, try_words
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


def told(ordered: dict[str, str], entry: Entry) -> dict[str, Any]:
    """Return what came out of a piece as plain values."""
    offered = []
    for remedy in entry.remedies:
        task, now = remedy.piece.task, entry.piece.task
        machine = (now.tool.machine.id if now else None) == (task.tool.machine.id if task else None)
        columns = [c for c, _ in remedy.change]
        offered.append({
            "columns": columns, "values": [v for _, v in remedy.change], "machine": machine,
            "near": machine and not {"typeface", "lid", "name", "message", "foot"} & set(columns),
        })  # fmt: skip
    holds = sorted({p.code for p in entry.piece.problems if p.level == "hold"})
    return {"ordered": ordered, "holds": holds, "remedies": offered}


def held_pieces(count: int, env: Env, seed: int = 17) -> Iterator[tuple[dict[str, str], Tried, float]]:
    """Yield orders of which a piece is on hold, what was tried, and the seconds that took."""
    for found, ordered in enumerate(random_orders(env, seed)):
        begun = time.process_time()
        tried = try_words(env=env, **ordered)
        seconds = time.process_time() - begun
        if tried.entries[0].piece.verdict == "hold":
            yield ordered, tried, seconds
            count -= 1
        if count <= 0 or found > 100_000:
            return


def failing(tried: Tried, env: Env) -> list[str]:
    """Return the remedies that do not hold when the order is changed as they say."""
    out = []
    area = tried.entries[0].piece.task.area.name if tried.entries[0].piece.task else None
    for remedy in tried.entries[0].remedies:
        again = [e.piece for e in apply_remedy(tried, remedy, env).entries]
        same = [p for p in again if p.task is not None and (area is None or p.task.area.name == area)] or again[:1]
        if not all(p.is_made for p in same):
            out.append(f"{tried.order.words} {remedy.change}: {sorted({p.code for p in same[0].problems})}")
    return out


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    kept = Path(sys.argv[2]) if len(sys.argv) > 2 else None
    env = environment()
    every, multiples, wrong, columns = [], [], [], Counter[str]()
    with tempfile.TemporaryDirectory() as folder:
        for ordered, tried, seconds in held_pieces(count, env):
            entry = tried.entries[0]
            floor = floor_seconds(entry, env, Path(folder) / "floor.svg")
            if floor:
                multiples.append(seconds / floor)
            every.append(told(ordered, entry))
            columns.update("+".join(r["columns"]) for r in every[-1]["remedies"])
            wrong += failing(tried, env)
    some = [e for e in every if e["remedies"]]
    near = [e for e in some if any(r["near"] for r in e["remedies"])]
    same = [e for e in some if any(r["machine"] and "typeface" not in r["columns"] for r in e["remedies"])]
    print(f"{len(every)} pieces on hold: {len(some) / len(every):.1%} have a remedy")
    print(f"  with machine, typeface, words and lid as ordered: {len(near) / len(every):.1%}")
    print(f"  with machine and typeface as ordered: {len(same) / len(every):.1%}")
    print(f"  remedies that fail: {len(wrong)} of {sum(len(e['remedies']) for e in every)}", *wrong, sep="\n    ")
    print("  " + ", ".join(f"{name} {n}" for name, n in columns.most_common()))
    multiples.sort()
    print(
        f"  answer and remedies: median {statistics.median(multiples):.0f} B, "
        f"90 % {multiples[int(0.9 * len(multiples))]:.0f} B, most {multiples[-1]:.0f} B"
    )
    if kept is not None and kept.exists():
        compared(json.loads(kept.read_text()), every)
    elif kept is not None:
        kept.write_text(json.dumps(every))


def compared(before: list[dict[str, Any]], now: list[dict[str, Any]]) -> None:
    """Print what became of each piece that was on hold both times."""
    known = {json.dumps(e["ordered"]): e for e in before}
    pairs = [(known[key], e) for e in now if (key := json.dumps(e["ordered"])) in known]
    print(f"  against what was kept, {len(pairs)} pieces on hold both times:")
    for what, of in (
        ("a remedy", lambda e: bool(e["remedies"])),
        ("one with machine, typeface, words and lid", lambda e: any(r["near"] for r in e["remedies"])),
    ):
        was, is_now = [sum(of(pair[k]) for pair in pairs) / max(1, len(pairs)) for k in (0, 1)]
        lost = sum(of(b) and not of(n) for b, n in pairs)
        print(f"    {what}: {was:.1%} before, {is_now:.1%} now; lost on {lost}")


if __name__ == "__main__":
    main()
