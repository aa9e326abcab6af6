"""Stem widths that type makers publish inside their fonts, against what is measured on the letters."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from shapely import LineString

from engrave.cutting.bodies import glyph_shape
from engrave.cutting.measure import measure_region
from engrave.typefaces import load_shelf

FONTS = Path(__file__).parents[2] / "fonts_open"


def published(file: Path) -> float:
    """StdVW of a CFF font, the dominant width of its vertical stems (Adobe Technical Note 5176), in heights of its H."""
    font = TTFont(file)
    private = font["CFF "].cff.topDictIndex[0].Private
    glyphs = font.getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs["H"].draw(pen)
    return float(private.StdVW) / float(pen.bounds[3])


def stem(letter: str, face: str) -> float:
    """Width of the letter's left stem, on a level line where nothing but stems is crossed."""
    (placed,) = load_shelf(None).get(face).shape(letter).placed
    shape = glyph_shape(placed.glyph, False)
    x0, _, x1, y1 = shape.bounds
    crossed = shape.intersection(LineString([(x0 - 1, 0.3 * y1), (x1 + 1, 0.3 * y1)]))
    return float(min(getattr(crossed, "geoms", [crossed]), key=lambda g: g.bounds[0]).length)


@pytest.mark.parametrize(("face", "file", "letters"), [("linux-libertine", "LinLibertine_R.otf", "nmhil")])
def test_stems_are_as_wide_as_the_font_says(face: str, file: str, letters: str) -> None:
    says = published(FONTS / face / file)
    assert 10 * says == pytest.approx(1.217, abs=0.02)  # 79 units to a capital of 649
    widths = [stem(letter, face) for letter in letters]
    assert float(np.median(widths)) == pytest.approx(says, rel=0.03)
    for letter in "il":  # a stem alone: the widest circle within is as wide as the stem, or a serif's root more
        (placed,) = load_shelf(None).get(face).shape(letter).placed
        parts = measure_region(glyph_shape(placed.glyph, False)).parts
        assert says * 0.97 <= max(p.width for p in parts) <= says * 1.35
