"""What everything costs as a multiple of the floor B, in one table: orders, stages, proof, page, remedies, one text, start-up.

python tests/speed/bench_multiples.py [ORDERS [TEXTS]]     ORDERS a cell of the first table (6); TEXTS tried at random (40)

B is taken of each piece by itself: its words shaped once, every coordinate of its letters as they stand written out, the
file written. Seconds are the processor's, so a busy machine moves the multiples little; letters have been measured before,
words have not been set. Where a piece comes out ready or asks for a look it counts as an order, where it is held as a hold.
"""

from __future__ import annotations

import os
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import wraps
from itertools import count
from pathlib import Path
from typing import Any

from bench_remedies import random_orders

from engrave import making
from engrave.approval import KeptOrders
from engrave.batch import unit_drawn, unit_written
from engrave.intake.order import Order, Words
from engrave.making import PLACED, Env, Piece, environment
from engrave.output.page import card, outlined, week_pages
from engrave.output.page.week_html import Files
from engrave.output.svg.lid_file import path_data
from engrave.setting.compose.composition import COMPOSED, COULD_BE
from engrave.setting.reading_frame import FRAMES
from engrave.tasks import define_all
from engrave.verbs import try_words
from engrave.verbs.words_tried import with_advice
from engrave.week import Entry, group, sorts_of, sum_up, week_advice

LIDS = {
    "convex": ("card-box", "oval-box", "seed-box", "honey-box", "letter-box"),
    "with knob": ("round-caddy", "domino-box"),
    "with holes": ("puzzle-box", "fly-box", "reel-box", "needle-box"),
}
FACES = {"outline": ("vollkorn", "quicksand", "noto-sans", "blankenburg"), "single-line": ("withy", "ems-felix")}
WOODS = ("maple", "cherry", "walnut")
NAMES = ("Ida", "Rosemary", "Zoë & Tom", "Willi Ritter", "Friedrich", "Anneliese", "Łukasz", "Hannah", "Ada")
MESSAGES = ("", "with all our love", "", "sixty summers", "14 June 2024", "for the keys and all small things")

STAGES = {
    "set": [(making, "place")],
    "check": [(making, "check")],
    "toolpath": [(making, "toolpath_of")],
    "estimate": [(making, "estimate_time")],
    "quote": [(making, "quote")],
    "remedies": [(group, "remedies"), (group, "letters_that_fit")],
    "code": [(unit_drawn, "judge_order"), (unit_drawn, "proof_code")],
    "svg": [(unit_drawn, "lid_svg"), (unit_drawn, "outline_svg")],
    "svg check": [(unit_drawn, "check_svg")],
    "proof": [(unit_drawn, "order_proof")],
}
"""Where each stage is called from. What a stage calls in its turn, a remedy's pieces say, is its own."""

AIMS = {"order": (12, 60), "hold": 300, "try": (15, 60, 150)}
"""B at the median and at most; B at most; ms at the median, of 95 in 100, and at most."""


class Clock:
    """Seconds by stage since it was last emptied."""

    def __init__(self) -> None:
        self.spent: dict[str, float] = {}
        self._inside = False
        for stage, places in STAGES.items():
            for module, name in places:
                setattr(module, name, self._timed(stage, getattr(module, name)))

    def _timed(self, stage: str, work: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(work)
        def timed(*given: Any, **named: Any) -> Any:
            if self._inside:
                return work(*given, **named)
            self._inside, begun = True, time.process_time()
            try:
                return work(*given, **named)
            finally:
                self._inside = False
                self.add(stage, time.process_time() - begun)

        return timed

    def add(self, stage: str, seconds: float) -> None:
        self.spent[stage] = self.spent.get(stage, 0.0) + seconds

    def emptied(self) -> dict[str, float]:
        spent, self.spent = self.spent, {}
        return spent


@dataclass
class Timed:
    """One order as it was made: its floor, its seconds by stage ('all' is the whole), and what became of it."""

    floor: float
    spent: dict[str, float]
    entry: Entry
    drawn: list[unit_drawn.DrawnEntry] = field(default_factory=list)

    def multiple(self, *without: str) -> float:
        return (self.spent["all"] - sum(self.spent.get(stage, 0.0) for stage in without)) / self.floor


NEVER_SHAPED = count(1)
"""Spaces too small to see between letters: each makes words that were not shaped before."""


def floor_seconds(piece: Piece, env: Env, file: Path) -> float:
    """Return the least of three runs of the floor of a piece that was laid."""
    assert piece.task is not None
    assert piece.lettering is not None
    spent = []
    for _ in range(3):
        begun = time.process_time()
        for name, words in piece.task.words.filled():
            env.shelf.get(piece.task.typeface(name)).shape(words, 1e-9 * next(NEVER_SHAPED))
        file.write_text("\n".join(path_data(mark.path()) for mark in piece.lettering.marks), "utf-8")
        spent.append(time.process_time() - begun)
    return min(spent)


def forget_words(env: Env) -> None:
    """Forget what was shaped and set, not what was measured of letters or of lids' rooms."""
    env.cache._kept.pop(PLACED.name, None)
    for frame in filter(None, env.cache._kept.get(FRAMES.name, {}).values()):
        for kind in (COMPOSED, COULD_BE):
            frame.kept._kept.pop(kind.name, None)
    for ident in {f for faces in FACES.values() for f in faces}:
        env.shelf.get(ident)._runs.clear()


def orders_of(lids: Sequence[str], faces: Sequence[str], many: int, seed: int) -> Iterator[Order]:
    rng = random.Random(seed)
    for i in range(many):
        words = Words(rng.choice(NAMES), rng.choice(MESSAGES))
        lid, face = lids[i % len(lids)], faces[i % len(faces)]
        yield Order(f"M-{i}", 1, 0, words, words, lid=lid, typeface=face, wood=rng.choice(WOODS))


def made(order: Order, env: Env, clock: Clock, folder: Path) -> Timed | None:
    """Make an order and write its lids' files; None where its first piece was not laid."""
    forget_words(env)
    clock.emptied()
    begun = time.process_time()
    whats = define_all([order], env.shop, env.shelf.kinds())
    clock.add("define", time.process_time() - begun)
    drawn = unit_written.draw_unit(whats, env, KeptOrders(folder / f"kept_{next(NEVER_SHAPED)}"))
    written = time.process_time()
    for k, one in enumerate(drawn):
        if one.svg is not None:
            (folder / f"lid_{k}.svg").write_text(one.svg, "utf-8")
    clock.add("write", time.process_time() - written)
    clock.add("all", time.process_time() - begun)
    spent = clock.emptied()
    first = drawn[0].entry
    if not first.piece.is_laid:
        return None
    laid = [d.entry.piece for d in drawn if d.entry.piece.is_laid]  # an order of two fields on two areas is two pieces
    return Timed(sum(floor_seconds(piece, env, folder / "floor.svg") for piece in laid), spent, first, drawn)


def orders(env: Env, clock: Clock, folder: Path, many: int) -> list[Timed]:
    """Print what an order costs by kinds of lid and typeface, and return the orders."""
    every: list[Timed] = []
    print(f"An order without its proof, in B; aims {AIMS['order'][0]} at the median, {AIMS['order'][1]} at most")
    for lid_kind, lids in LIDS.items():
        for face_kind, faces in FACES.items():
            some = list(orders_of(lids, faces, many, len(every)))
            for order in some:
                made(order, env, clock, folder)  # letters are measured, boards drawn
            timed = [found for order in some if (found := made(order, env, clock, folder)) is not None]
            ready = [t.multiple("proof", "remedies") for t in timed if t.entry.piece.is_made]
            print(f"  {lid_kind:11s}{face_kind:12s} {middle_most(ready)}   {len(ready)} of {len(some)} orders")
            every += timed
    return every


def middle_most(values: Sequence[float]) -> str:
    return f"{statistics.median(values):6.1f} {max(values):6.1f}" if values else "     -      -"


def by_stage(every: Sequence[Timed]) -> None:
    ready = [t for t in every if t.entry.piece.is_made]
    print(
        f"By stage, in B: median, most ({len(ready)} orders; B is {1e3 * statistics.median(t.floor for t in ready):.2f} ms)"
    )
    known = [stage for stage in ("define", *STAGES, "write") if stage != "remedies"]
    for stage in known:
        print(f"  {stage:20s} {middle_most([t.spent.get(stage, 0.0) / t.floor for t in ready])}")
    print(f"  {'what lies between':20s} {middle_most([t.multiple(*known, 'remedies') for t in ready])}")


def page(every: Sequence[Timed], env: Env) -> None:
    """Print what the week's own files cost a lid: the page, and notes on what would save time."""
    floor = statistics.median(t.floor for t in every)
    drawn = [d for t in every for d in t.drawn]
    begun = time.process_time()
    cards = [card(f"p{i}", d.entry, Files("lids/x.svg", "proofs/x.png"), env.shop, 1) for i, d in enumerate(drawn)]
    week = sum_up([d.entry for d in drawn], env.shop.rates)
    size = sum(len(bit) for _, bits in week_pages(week, env.shop, [outlined(c) for c in cards], cards) for bit in bits)
    told = time.process_time()
    week_advice(sorts_of(d.entry for d in drawn).costly(), env, {})
    print(f"The page, a lid: {(told - begun) / len(drawn) / floor:.1f} B, {size / len(drawn) / 1000:.0f} kB; "
          f"the week's advice, once: {(time.process_time() - told) / floor:.0f} B")  # fmt: skip


def texts(env: Env, folder: Path, many: int) -> None:
    """Print what it costs to try texts drawn at random, and what those cost that are held."""
    stream = random_orders(env, 23)
    some = [next(stream) for _ in range(many)]
    for ordered in some:
        try_words(env=env, **ordered)
    first: list[float] = []
    held: list[float] = []
    for ordered in some:
        forget_words(env)
        begun = time.process_time()
        tried = try_words(env=env, **ordered, advice=False)
        answered = time.process_time()
        first.append(1e3 * (answered - begun))
        piece = tried.entries[0].piece
        if piece.verdict == "hold" and piece.is_laid:
            with_advice(tried, env)
            held.append((time.process_time() - begun) / floor_seconds(piece, env, folder / "floor.svg"))
    print(f"A hold with its remedies, in B: {middle_most(held)}   {len(held)} held; aim {AIMS['hold']} at most")
    most = sorted(first)[min(len(first) - 1, int(0.95 * len(first)))]
    print(f"try in a warm process, its answer: median {statistics.median(first):.0f} ms, of 95 in 100 {most:.0f}, "
          f"most {max(first):.0f}; {many} texts; aims {' / '.join(str(v) for v in AIMS['try'])}")  # fmt: skip


CLICK_ALONE = "import click; click.command(help='Nothing.')(lambda: None).main(['--help'], standalone_mode=False)"


def start_up() -> None:
    """Print the processor's seconds of whole processes, the least of three: modules are compiled, as installed ones are."""
    asked = {
        "click alone": ["-c", CLICK_ALONE], "--help": ["-m", "engrave", "--help"],
        "try Ida": ["-m", "engrave", "try", "Ida"],
    }  # fmt: skip
    with tempfile.TemporaryDirectory() as compiled:
        env = {**os.environ, "PYTHONPYCACHEPREFIX": compiled}
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        spent = {name: min(_process_seconds(args, env) for _ in range(3)) for name, args in asked.items()}
    told = ", ".join(f"{name} {s:.2f} s = {s / spent['click alone']:.1f}" for name, s in spent.items())
    print(f"Start-up, in processes of click alone: {told}")


def _process_seconds(args: Sequence[str], env: Mapping[str, str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *args], check=True, stdout=subprocess.DEVNULL, env=env)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 6
    tried = int(sys.argv[2]) if len(sys.argv) > 2 else 40
    print(f"{date.today():%-d %B %Y}")
    env, clock = environment(), Clock()
    with tempfile.TemporaryDirectory() as name:
        every = orders(env, clock, Path(name), many)
        by_stage(every)
        page(every, env)
        texts(env, Path(name), tried)
    start_up()


if __name__ == "__main__":
    main()
