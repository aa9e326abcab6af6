"""Typefaces at 4, 8 and 20 mm with names that buyers have: `python tests/tools/typeface_sheet.py OUT.png [TYPEFACE ...]`.

All at one scale, so that what stands beside each other compares. Single lines are drawn with a groove of a tenth of
their cap height (ISO 3098-1, type B). Letters that a typeface has from elsewhere are named beside it.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw

from engrave.output.pictures.labels import Labels, labels_for
from engrave.output.pictures.paper import DARK, EDGE, PAPER, RULE, SMALL, SOFT, as_png
from engrave.output.writing import put

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.typefaces import Shelf

NAMES = ("Wanda", "Tatjana", "Łukasz", "Ağrı", "Nguyễn", "Łódź", "AVA", "To", "Lý")
"""Strokes through letters, marks above and below, two marks over one letter, and pairs that need kerning."""

OTHERS = ("Θεοδώρα", "Дмитрий", "Їжак", "יעל", "محمد", "लक्ष्मी")
"""Names in further scripts, shown where a typeface has their letters itself."""

SCALE = 6.0
"""Pixels a millimetre: a letter of 4 mm is 24 pixels high, the least in which its form can be judged."""

CAPS = (20.0, 8.0, 4.0)
"""Cap heights in mm: a large lid, a usual one, and a message on a small one."""

LEAD, GAP = 2.1, 0.6
"""Line pitch, and the gap between names, in cap heights: with accents ISO 3098-1, type B has 19/10; scripts reach farther."""

WIDE = 2200
"""Pixels: four names of 20 mm in most typefaces."""


def typeface_sheet(shelf: Shelf, idents: Sequence[str] = ()) -> bytes:
    """Return the sheet as PNG: a row for each typeface named, or for all on the shelf. Raises UnknownTypeface."""
    labels = labels_for(shelf)
    rows = [_row(shelf, ident, labels) for ident in (idents or shelf.ids)]
    sheet = Image.new("RGB", (WIDE, 2 * EDGE + sum(r.height for r in rows)), PAPER)
    y = EDGE
    for row in rows:
        sheet.paste(row, (0, y))
        y += row.height
    return as_png(sheet)


def _row(shelf: Shelf, ident: str, labels: Labels) -> Picture:
    face = shelf.get(ident)
    own = tuple(n for n in OTHERS if all(face.own(c) is not None for c in n))
    lines = [(cap, line) for cap in CAPS for line in _filled(NAMES, cap, ident, labels)]
    lines += [(CAPS[1], own)] if own else []
    high = round(50 + sum(LEAD * cap * SCALE for cap, _ in lines) + 30)
    row = Image.new("RGB", (WIDE, high), PAPER)
    kind = "single line" if face.kind == "single-line" else "outline"
    labels.draw(row, (EDGE, 30), f"{face.title}  ({ident}, {kind}){_elsewhere(shelf, ident)}", SMALL, SOFT)
    y = 50.0
    for cap, names in lines:
        y += LEAD * cap * SCALE
        x = float(EDGE)
        for name in names:
            x += labels.draw(row, (x, y - 0.35 * cap * SCALE), name, cap * SCALE, DARK, (ident,)) + GAP * cap * SCALE
    ImageDraw.Draw(row).line([(EDGE, high - 6), (WIDE - EDGE, high - 6)], fill=RULE, width=2)
    return row


def _filled(names: Sequence[str], cap: float, ident: str, labels: Labels) -> list[tuple[str, ...]]:
    """Return names in as many lines as they need at a cap height."""
    lines: list[tuple[str, ...]] = [()]
    x = 0.0
    for name in names:
        wide = labels.width(name, cap * SCALE, (ident,))
        if lines[-1] and x + wide > WIDE - 2 * EDGE:
            lines.append(())
            x = 0.0
        lines[-1] = (*lines[-1], name)
        x += wide + GAP * cap * SCALE
    return lines


def _elsewhere(shelf: Shelf, ident: str) -> str:
    """Return what is told of letters that the typeface lacks."""
    face = shelf.get(ident)
    composed = [c for c in dict.fromkeys("".join(NAMES)) if face.own(c) is None and face.composed(c) is not None]
    lent = [c for c in dict.fromkeys("".join(NAMES)) if face.own(c) is None and face.composed(c) is None]
    told = [f"composed: {' '.join(composed)}"] if composed else []
    told += [f"from a companion: {' '.join(lent)}"] if lent else []
    return "".join(f"  ·  {t}" for t in told)


def main(arguments: Sequence[str]) -> None:
    """Draw the sheet into the file named."""
    from engrave.typefaces import load_shelf

    put(Path(arguments[0]), typeface_sheet(load_shelf(), arguments[1:]))


if __name__ == "__main__":
    main(sys.argv[1:])
