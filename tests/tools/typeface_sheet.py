"""Typefaces at 4, 8 and 20 mm with names that buyers have: `python tests/tools/typeface_sheet.py OUT.png [TYPEFACE ...]`.

All at one scale, so that what stands beside each other compares. Single lines are drawn with a groove of a tenth of
their cap height (ISO 3098-1, type B). Letters that a typeface has from elsewhere are named beside it.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from engrave.output.pictures.paper import DARK, EDGE, in_few_colours
from engrave.output.pictures.specimens import ABOVE, ASIDE, specimen
from engrave.output.typesetting import own_typesetter
from engrave.output.writing import put

if TYPE_CHECKING:
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


TEMPLATE = """#import "picture.typ": *
#let d = json(bytes(sys.inputs.data))
#show: on-paper.with(d.width)
#pad(px(d.edge), for row in d.rows {
  block(width: 100%, height: px(row.high), above: 0pt, below: 0pt, {
    place(dy: 12pt, text(fill: soft, row.says))
    for name in row.names {
      place(dx: px(name.x), dy: px(name.y), image(name.picture, width: px(name.width), height: px(name.height)))
    }
    place(bottom, line(length: 100%, stroke: 2pt + hair))
  })
})
"""
"""Words stand where their drawings are put; a row is as high as its lines need."""


def typeface_sheet(shelf: Shelf, idents: Sequence[str] = ()) -> bytes:
    """Return the sheet as PNG: a row for each typeface named, or for all on the shelf. Raises UnknownTypeface."""
    pictures = {"typefaces.typ": TEMPLATE.encode()}
    rows = [_row(shelf, ident, pictures) for ident in (idents or shelf.ids)]
    (png,) = own_typesetter().pages("typefaces.typ", {"width": WIDE, "edge": EDGE, "rows": rows}, pictures, dpi=72)
    return in_few_colours(png)


def _row(shelf: Shelf, ident: str, pictures: dict[str, bytes]) -> dict[str, Any]:
    face = shelf.get(ident)
    own = tuple(n for n in OTHERS if all(face.own(c) is not None for c in n))
    lines = [(cap, line) for cap in CAPS for line in _filled(NAMES, cap, ident, shelf)]
    lines += [(CAPS[1], own)] if own else []
    kind = "single line" if face.kind == "single-line" else "outline"
    names: list[dict[str, Any]] = []
    y = 50.0
    for cap, line in lines:
        high = cap * SCALE
        y += LEAD * high
        x = 0.0
        for name in line:
            one = specimen(face.shape(name), DARK)
            file = f"typefaces-{len(pictures)}.svg"
            pictures[file] = one.svg
            names.append(
                {"picture": file, "x": x - ASIDE * high, "y": y - (0.35 + ABOVE) * high,
                 "width": one.width * high, "height": one.height * high}
            )  # fmt: skip
            x += (one.advance + GAP) * high
    says = f"{face.title}  ({ident}, {kind}){_elsewhere(shelf, ident)}"
    return {"says": says, "high": y + 30.0, "names": names}


def _filled(names: Sequence[str], cap: float, ident: str, shelf: Shelf) -> list[tuple[str, ...]]:
    """Return names in as many lines as they need at a cap height."""
    lines: list[tuple[str, ...]] = [()]
    x = 0.0
    for name in names:
        wide = shelf.get(ident).shape(name).advance * cap * SCALE
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
