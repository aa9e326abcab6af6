"""Single-line typefaces beside each other at a cap height of 8 mm: pen-downs, seconds to cut, milliseconds to shape.

`python tests/speed/bench_typefaces.py`. The same names in each, cut by the shop's ball-nosed bit in cherry on its small
router and by its half-round cutter in maple; `joined` is after strokes whose ends meet are joined. A letter that a
typeface lacks is made or lent, and counts as its own. Shaping is timed on lines not seen before.
"""

from __future__ import annotations

import time
from itertools import product

from engrave.intake.order import Order, Words
from engrave.setting.lettering import Lettering, Mark
from engrave.shop import Shop, load_shop
from engrave.tasks import Task, define_all
from engrave.timing import estimate_time
from engrave.toolpath import toolpath_of
from engrave.typefaces import Shelf, load_shelf

CAP = 8.0
NAMES = (
    "Wanda",
    "Tatjana",
    "Łukasz",
    "Ağrı",
    "Nguyễn",
    "Łódź",
    "AVA",
    "To",
    "Lý",
    "Charlotte & Maximilian",
    "24 June 2026",
)
TOOLS = (("ball-1", "cherry"), ("half-round-20", "maple"), ("diode-450", "cherry"))
FIRST, LAST = ("Wanda", "Ole", "Jørgen", "Zoë", "Ágnes", "Duy"), ("Novák", "Østergaard", "Brown", "Nguyễn", "Çelik")
MOVES = ("cut", "travel", "plunge", "lift", "turn", "dwell", "beam", "starts")
"""Parts of a job that the letters cause: not the spindle's start, which each job has once."""


def lettering(shelf: Shelf, typeface: str, words: str, groove: float) -> Lettering:
    """Return one line at 8 mm, as it would stand alone on a board."""
    run = shelf.get(typeface).shape(words)
    placed = [(p, CAP * p.scale) for p in run.placed if p.glyph.path]
    marks = tuple(Mark(p.glyph, (c, 0.0, 0.0, -c, CAP * p.x, 20.0 - CAP * p.y), p.text, 0) for p, c in placed)
    return Lettering("single-line", "stack", marks, (), groove)


def task(shop: Shop, shelf: Shelf, typeface: str, cutter: str, wood: str) -> Task | None:
    """Return a small task whose tool cuts that typeface's lines, None where the shop has no recipe."""
    words = Words("Wanda")
    order = Order("bench", 1, 0, words, words, typeface=typeface, cutter=cutter, wood=wood)
    (found,) = define_all([order], shop, shelf.kinds())
    return found if isinstance(found, Task) else None


def shaping_ms(shelf: Shelf, typeface: str) -> float:
    """Return milliseconds a line, over lines that were not shaped before (the glyphs have been)."""
    lines = [f"{a} {b}" for a, b in product(FIRST, LAST)]
    face = shelf.get(typeface)
    for line in lines:
        face.shape(line + ".")
    start = time.perf_counter()
    for line in lines:
        face.shape(line)
    return 1e3 * (time.perf_counter() - start) / len(lines)


def main() -> None:
    """Print the table, the fewest pen-downs first."""
    shop, shelf = load_shop(), load_shelf()
    letters = sum(len(n.replace(" ", "")) for n in NAMES)
    rows = []
    for typeface in (i for i, kind in shelf.kinds().items() if kind == "single-line"):
        drawn = sum(len(m.path()) for n in NAMES for m in lettering(shelf, typeface, n, 0.5).marks)
        seconds: list[float | None] = []
        downs = length = 0.0
        for cutter, wood in TOOLS:
            one = task(shop, shelf, typeface, cutter, wood)
            words = [lettering(shelf, typeface, n, one.tool.groove) for n in NAMES] if one else []
            paths = [toolpath_of(w, one.tool) for w in words]
            times = [estimate_time(p, one.tool) for p in paths]
            seconds.append(sum(dict(t.parts).get(p, 0.0) for t in times for p in MOVES) / letters if times else None)
            if paths:
                downs = sum(p.course.starts / p.passes for p in paths)
                length = sum(p.course.cut_mm / p.passes for p in paths)
        rows.append(
            (drawn / letters, downs / letters, length / letters, seconds, shaping_ms(shelf, typeface), typeface)
        )
    print(
        f"{letters} letters, {CAP:g} mm; a letter: strokes drawn, pen-downs joined, mm, seconds; then ms a line shaped\n"
    )
    print(
        f"{'typeface':<18}{'drawn':>7}{'joined':>8}{'mm':>7}"
        + "".join(f"{c:>15}" for c, _ in TOOLS)
        + f"{'ms/line':>9}"
    )
    for drawn, downs, mm, seconds, ms, typeface in sorted(rows, key=lambda r: (r[1], r[5])):
        told = "".join(f"{s:>13.2f} s" if s is not None else f"{'no recipe':>15}" for s in seconds)
        print(f"{typeface:<18}{drawn:>7.2f}{downs:>8.2f}{mm:>7.1f}{told}{ms:>9.2f}")


if __name__ == "__main__":
    main()
