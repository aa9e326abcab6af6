"""Single-line typefaces as grooves cut them: `python tests/tools/grooves_sheet.py OUT.png [TYPEFACE ...]`.

Letters of 25, 12, 6 and 3 mm in every groove from a fine beam's mark to a wide V-cut, then with the two weights of the
lettering standard, all at one scale and with the round ends that a cutter leaves.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import centre_lines, polygons, region
from engrave.output.pictures.paper import DARK, EDGE, PAPER
from engrave.output.writing import put
from engrave.typefaces import weighted
from engrave.typefaces.run import Run

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.typefaces import Shelf

GROOVES = (0.15, 0.3, 0.6, 1.0, 1.5)
"""mm."""

WEIGHTS = (1 / 14, 1 / 10)
"""Cap heights (ISO 3098-1, types A and B)."""

WORDS = {25.0: "ag", 12.0: "Bo 8", 6.0: "Idris 3", 3.0: "Ella & Sigi, 2026"}
"""What stands at each size, mm."""

CLOSES = 0.17
"""Cap heights: wider grooves close the letters, and nobody would cut them so."""

SCALE, FINER = 10.0, 3
"""Pixels a millimetre, and how much larger it is drawn, for smooth edges."""

NAMED = 4.0
"""mm: capitals of the typeface's name above its band."""

CHORD = 0.0005
LEAD, GAP = 1.75, 0.8
"""Line pitch and gap between samples, cap heights."""


def grooves_sheet(shelf: Shelf, idents: Sequence[str] = ()) -> bytes:
    """Return the sheet as PNG: a band for each single-line typeface named, or for all of them."""
    every = idents or [i for i in shelf.ids if shelf.kinds()[i] == "single-line"]
    bands = [_band(shelf, ident) for ident in every]
    sheet = Image.new("RGB", (max(b.width for b in bands), sum(b.height for b in bands)), PAPER)
    y = 0
    for band in bands:
        sheet.paste(band, (0, y))
        y += band.height
    out = io.BytesIO()
    sheet.save(out, "PNG")
    return out.getvalue()


def samples(shelf: Shelf, ident: str, cap: float) -> Iterator[tuple[BaseGeometry, float]]:
    """Yield what is cut of a size's words, cap heights, and their advance: in each groove that fits, then each weight."""
    face = shelf.get(ident)
    run = face.shape(WORDS[cap])
    for groove in GROOVES:
        if groove / cap < CLOSES:
            yield _cut(run, groove / cap), run.advance
    for share in WEIGHTS:
        heavy = weighted(face, share, shelf.cache).shape(WORDS[cap])
        yield _cut(heavy, 0.0), heavy.advance


def _cut(run: Run, groove: float) -> BaseGeometry:
    shapes = []
    for p in run.placed:
        if p.glyph.path:
            found = (
                centre_lines(p.glyph.path, CHORD).buffer(groove / p.scale / 2)
                if groove
                else region(p.glyph.path, CHORD)
            )
            shapes.append(affine_transform(found, (p.scale, 0.0, 0.0, p.scale, p.x, p.y)))
    out: BaseGeometry = shapes[0]
    for shape in shapes[1:]:
        out = out.union(shape)
    return out


def _band(shelf: Shelf, ident: str) -> Picture:
    px = SCALE * FINER
    name = weighted(shelf.get(ident), WEIGHTS[-1], shelf.cache).shape(shelf.get(ident).title)
    rows = [(NAMED, [(_cut(name, 0.0), name.advance)]), *((cap, list(samples(shelf, ident, cap))) for cap in WORDS)]
    wide = max(sum((advance + GAP) * cap for _, advance in row) for cap, row in rows) * SCALE + 2 * EDGE
    high = sum(LEAD * cap for cap, _ in rows) * SCALE + EDGE
    band = Image.new("RGB", (round(wide) * FINER, round(high) * FINER), PAPER)
    pen = ImageDraw.Draw(band)
    y = EDGE / 2 * FINER
    for cap, row in rows:
        x, base = float(EDGE * FINER), y + 1.2 * cap * px
        for shape, advance in row:
            placed = affine_transform(shape, (cap * px, 0.0, 0.0, -cap * px, x, base))
            for part in polygons(placed):
                pen.polygon(list(part.exterior.coords), fill=DARK)
                for hole in part.interiors:
                    pen.polygon(list(hole.coords), fill=PAPER)
            x += (advance + GAP) * cap * px
        y += LEAD * cap * px
    return band.resize((round(wide), round(high)), Image.Resampling.LANCZOS)


def main(arguments: Sequence[str]) -> None:
    """Draw the sheet into the file named."""
    from engrave.typefaces import load_shelf

    put(Path(arguments[0]), grooves_sheet(load_shelf(), arguments[1:]))


if __name__ == "__main__":
    main(sys.argv[1:])
