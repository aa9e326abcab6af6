"""Stem widths that type makers publish inside their fonts, against what is measured on the letters."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from shapely import LineString

from engrave.cutting.measure.components import glyph_shape
from engrave.cutting.measure.glyphs import GlyphMeasure, measure_region
from engrave.typefaces import load_shelf

FONTS = Path(__file__).parents[2] / "fonts_open"


LIBERTINE = FONTS / "linux-libertine" / "LinLibertine_R.otf"
"""The one face of the shelf whose font tells the stems of upright letters; Dancing Script's are of a slanting brush."""


def published(file: Path) -> dict[str, list[float]]:
    """Stem widths of a CFF font in heights of its H (Adobe Technical Note 5176, Private DICT).

    StdVW and StdHW: the dominant width of its vertical and horizontal stems. StemSnapV: common ones, ascending.
    """
    font = TTFont(file)
    private = font["CFF "].cff.topDictIndex[0].Private
    glyphs = font.getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs["H"].draw(pen)
    said = {"StdVW": [private.StdVW], "StdHW": [private.StdHW], "StemSnapV": private.StemSnapV}
    return {key: [float(v) / float(pen.bounds[3]) for v in values] for key, values in said.items()}


def measured(letter: str, face: str) -> GlyphMeasure:
    (placed,) = load_shelf(None).get(face).shape(letter).placed
    return measure_region(glyph_shape(placed.glyph, False))


def stem(letter: str, face: str) -> float:
    """Width of the letter's left stem, on a level line where nothing but stems is crossed."""
    (placed,) = load_shelf(None).get(face).shape(letter).placed
    shape = glyph_shape(placed.glyph, False)
    x0, _, x1, y1 = shape.bounds
    crossed = shape.intersection(LineString([(x0 - 1, 0.3 * y1), (x1 + 1, 0.3 * y1)]))
    return float(min(getattr(crossed, "geoms", [crossed]), key=lambda g: g.bounds[0]).length)


@pytest.mark.source(
    "stem widths that Linux Libertine's makers publish in its Private dictionary (Adobe, Type 1 Font Format, 1990)"
)
def test_stems_are_as_wide_as_the_font_says() -> None:
    (says,) = published(LIBERTINE)["StdVW"]
    assert 10 * says == pytest.approx(1.217, abs=0.02)  # 79 units to a capital of 649
    widths = [stem(letter, "linux-libertine") for letter in "nmhil"]
    assert float(np.median(widths)) == pytest.approx(says, rel=0.03)
    for letter in "il":  # a stem alone: the widest circle within is as wide as the stem, or a serif's root more
        assert says * 0.97 <= max(p.width for p in measured(letter, "linux-libertine").parts) <= says * 1.35


@pytest.mark.source(
    "stem widths that Linux Libertine's makers publish in its Private dictionary (Adobe, Type 1 Font Format, 1990)"
)
@pytest.mark.parametrize(
    ("letters", "key", "which", "upright"),
    [
        ("ilnmhu", "StdVW", 0, True),
        ("HILTEF", "StemSnapV", 1, True),  # capitals' stems are the heavier of the two that are common
        ("HILEF", "StdHW", 0, False),  # what lies: serifs; bars and arms are up to a fifth heavier
    ],
)
def test_the_measure_finds_the_published_stems(letters: str, key: str, which: int, upright: bool) -> None:
    """Of each letter's narrow runs that stand (or lie), one is as wide as the font says, within one and a half of its 647 units."""
    says = published(LIBERTINE)[key][which]
    for letter in letters:
        runs = [n for n in measured(letter, "linux-libertine").strokes if n.axis is not None]
        along = [n.width for n in runs if (abs(math.cos(n.axis or 0.0)) < 0.1) == upright]
        assert min(abs(width - says) for width in along) < 1.5 / 647, letter
