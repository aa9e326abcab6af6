"""Fonts built for tests: letters of large scripts as bars and boxes, with the licence bits that are asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

Box = tuple[float, float, float, float]
"""Left, bottom, right, top of a bar, in units of which the capitals have 700."""

TREE: Sequence[Box] = ((80, 400, 820, 470), (415, -60, 485, 760))
"""A cross, as the Han letter for ten."""

CORNERS: Sequence[Box] = ((80, 300, 400, 370), (401, 371, 471, 760))
"""Two strokes whose corners stand a hair apart."""

BESIDE: Sequence[Box] = ((80, 300, 800, 370), (80, 372, 800, 442))
"""Two strokes that run beside each other, a hair apart for their whole length."""


def built(path: Path, letters: Mapping[str, Sequence[Box]], fs_type: int = 0, name: str = "Built Kanji") -> Path:
    """Build a font of an H and some letters."""
    shapes = {" ": (), "H": ((60, 0, 130, 700), (430, 0, 500, 700), (100, 315, 460, 385))} | dict(letters)
    glyphs = {".notdef": _drawn(())} | {f"u{ord(c):X}": _drawn(boxes) for c, boxes in shapes.items()}
    font = FontBuilder(1000)
    font.setupGlyphOrder(list(glyphs))
    font.setupCharacterMap({ord(c): f"u{ord(c):X}" for c in shapes})
    font.setupGlyf(glyphs)
    font.setupHorizontalMetrics(dict.fromkeys(glyphs, (900, 0)))
    font.setupHorizontalHeader(ascent=880, descent=-120)
    font.setupNameTable({"familyName": name, "styleName": "Regular", "fullName": f"{name} Regular"})
    font.setupOS2(fsType=fs_type, sCapHeight=700)
    font.setupPost()
    font.save(path)
    return path


def _drawn(boxes: Sequence[Box]) -> object:
    pen = TTGlyphPen(None)
    for left, low, right, top in boxes:
        for k, point in enumerate([(left, low), (left, top), (right, top), (right, low)]):
            (pen.lineTo if k else pen.moveTo)(point)
        pen.closePath()
    return pen.glyph()
