"""How large words come out, and how long that takes: `python tests/speed/bench_setting.py`.

1. The gap to proved optima (the ground truth of the tests).
2. Milliseconds a piece, by lid and length of text, everything kept from earlier pieces warm.
3. Cap height beside two things that one would script otherwise, on every lid of the shop and without limits of taste:
   the text's bounding box in the largest rectangle inside the room, and the bounding box in the middle of the room,
   shrunk until it fits; and how many texts each of them would call too small though they are not.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path

import numpy as np
import shapely
from shapely import box

sys.path.insert(0, str(Path(__file__).parents[1] / "setting"))
from fits import cases

from engrave.intake.order import Order, Words
from engrave.setting import place
from engrave.setting.compose.composition import stack_of
from engrave.setting.fit.largest_fit import largest
from engrave.setting.fit.layout import Stack
from engrave.setting.fit.solver import SizeSearch
from engrave.setting.placing import leasts
from engrave.setting.reading_frame import ReadingFrame, frame_of
from engrave.setting.text.fields import shaped_fields
from engrave.shop import load_shop
from engrave.tasks import Task, define_all
from engrave.typefaces import load_shelf

TEXTS = {
    "short": Words("Eve"),
    "two words": Words("Anna Berg"),
    "name, message": Words("Charlotte", "with love from Mum and Dad, Christmas 2024"),
    "sentence": Words("", "Happy birthday dear Grandad from all of us"),
}
GRID = 80
"""Cells across the room in which the largest rectangle is sought."""


def main() -> None:
    gaps()
    shop, shelf = load_shop(), load_shelf()
    times: dict[tuple[str, str], list[float]] = {}
    rows: list[tuple[float, float, float, float]] = []
    for task, name in _tasks(shop, shelf):
        place(task, shelf)
        start = time.perf_counter()
        laid = place(task, shelf)
        spent = 1000 * (time.perf_counter() - start)
        where = frame_of(task.area, task.tool.machine, task.tool.cutter, laid.groove)
        if where is None:
            continue
        times.setdefault(("convex" if where.solving.convex else "with holes or bays", name), []).append(spent)
        rows.append(_beside(task, where, shelf))
    print("\nmilliseconds a piece (median, most)")
    for (kind, name), spent in sorted(times.items()):
        print(f"  {kind:20s}{name:16s}{statistics.median(spent):7.1f}{max(spent):8.1f}   {len(spent)} lids")
    compared(rows)


def gaps() -> None:
    print("gap to the proved size (found over proved bound)")
    for mode in ("centred", "free"):
        found = []
        start = time.perf_counter()
        for case in cases():
            fit = largest(case.room, case.stack, mode)
            found.append(100 * (1 - fit.cap / case.truth[mode]["bound_mm"]) if fit else 100.0)
        spent = 1000 * (time.perf_counter() - start) / len(found)
        print(f"  {mode:8s} median {statistics.median(found):.3f} %, most {max(found):.3f} %, {spent:.1f} ms a case")


def _tasks(shop, shelf) -> Iterator[tuple[Task, str]]:
    for lid in shop.lids.values():
        for name, words in TEXTS.items():
            order = Order("bench", 1, 0, words, words, lid=lid.id, setting="stack")
            for what in define_all([order], shop, shelf.kinds()):
                if isinstance(what, Task):
                    yield what, name


def _beside(task: Task, where: ReadingFrame, shelf) -> tuple[float, float, float, float]:
    """Return cap heights: ours, in the largest rectangle, by shrinking; and the least allowed."""
    fields, _ = shaped_fields(task, shelf)
    stack = stack_of(fields, task.setting)
    axis = where.axis if where.axis is not None else float(where.room.centroid.x)
    best = SizeSearch(where.solving, stack, axis, tidy=True).best()
    least = max(m / v.ratio for v, m in zip(fields, leasts(task, fields), strict=True))
    boxes = list(_boxes(stack))
    wide, high = _rectangle(where)
    in_rectangle = max(min(wide / w, high / h) for w, h in boxes)
    return (best[1] if best else 0.0, in_rectangle, max(_shrunk(where, w, h) for w, h in boxes), least)


def _boxes(stack: Stack) -> Iterator[tuple[float, float]]:
    """Yield width and height in caps of the bounding boxes of all breaks of up to 12 words, 1 to 5 lines a field."""
    fields = []
    for f, fld in enumerate(stack.fields):
        found = []
        count = len(fld.units)
        for many in range(min(5, count)):
            for cuts in combinations(range(1, count), many):
                spans = zip((0, *cuts), (*cuts, count), strict=True)
                width = max(max(u.right for u in fld.units[i:j]) - fld.units[i].left for i, j in spans)
                found.append((width * fld.ratio, (many + 1) * stack.pitch_of(f) * fld.ratio))
        best: dict[float, float] = {}
        for width, height in found:
            best[height] = min(best.get(height, width), width)
        fields.append([(w, h) for h, w in best.items()])
    combos = [(0.0, 0.0)]
    for found in fields:
        combos = [(max(w, a), h + b) for w, h in combos for a, b in found]
    yield from combos


def _rectangle(where: ReadingFrame) -> tuple[float, float]:
    """Return width and height of the largest rectangle inside the room, on a grid (largest under a histogram)."""
    low, bottom, high, top = where.room.bounds
    step = max(high - low, top - bottom) / GRID
    xs, ys = np.arange(low, high, step), np.arange(bottom, top, step)
    cells = shapely.box(*np.meshgrid(xs, ys), *np.meshgrid(xs + step, ys + step))
    free = shapely.covers(where.room, cells)
    tall = np.zeros(len(xs), dtype=int)
    best = (0, 0)
    for row in free:
        tall = np.where(row, tall + 1, 0)
        for i in range(len(xs)):
            lowest = tall[i]
            for j in range(i, len(xs)):
                lowest = min(lowest, tall[j])
                if lowest == 0:
                    break
                if (j - i + 1) * lowest > best[0] * best[1]:
                    best = (j - i + 1, lowest)
    return best[0] * step, best[1] * step


def _shrunk(where: ReadingFrame, width: float, height: float) -> float:
    """Return the size at which a box in the middle of the lid fits the room, shrinking by a hundredth at a time."""
    x, y = where.axis or 0.0, where.middle
    size = min(
        (where.room.bounds[2] - where.room.bounds[0]) / width, (where.room.bounds[3] - where.room.bounds[1]) / height
    )
    for _ in range(300):
        w, h = size * width / 2, size * height / 2
        if where.room.covers(box(x - w, y - h, x + w, y + h)):
            return size
        size *= 0.99
    return 0.0


def compared(rows: list[tuple[float, float, float, float]]) -> None:
    fit = [r for r in rows if r[0] >= r[3]]
    print(f"\n{len(rows)} texts on lids; {len(fit)} come out at their least size or larger")
    for k, name in ((1, "largest rectangle"), (2, "shrunk in the middle")):
        gains = [r[0] / r[k] - 1 for r in rows if r[k] > 0]
        false = sum(r[k] < r[3] for r in fit)
        print(f"  beside '{name}': median {100 * statistics.median(gains):.0f} % larger, mean "
              f"{100 * statistics.mean(gains):.0f} %; {false} of {len(fit)} it would call too small")  # fmt: skip


if __name__ == "__main__":
    main()
