"""The silhouettes of letters: what a solver and the room between lines know of them."""

from __future__ import annotations

import numpy as np
import pytest

from engrave.geometry.flattening import flatten
from engrave.setting.text.glyph_shapes import glyph_shape
from engrave.setting.text.silhouettes import letter_slices
from engrave.typefaces import Shelf


def covered(slices: np.ndarray, x: float, y: float) -> bool:
    """Tell whether a point lies in a silhouette."""
    for x0, x1, top0, top1, low0, low1 in slices:
        if x0 <= x <= x1:
            share = (x - x0) / (x1 - x0) if x1 > x0 else 0.0
            if low0 + share * (low1 - low0) - 1e-9 <= y <= top0 + share * (top1 - top0) + 1e-9:
                return True
    return False


def test_an_upright_stroke_is_kept() -> None:
    """A T of two strokes: the stem has no width, and was lost."""
    bar, stem = np.array([[0.0, 1.0], [1.0, 1.0]]), np.array([[0.5, 0.0], [0.5, 1.0]])
    slices = letter_slices([bar, stem])
    assert covered(slices, 0.5, 0.0)
    assert covered(slices, 0.25, 1.0)
    assert not covered(slices, 0.25, 0.5)


@pytest.mark.parametrize("typeface", ["withy", "hershey-sans", "ems-readability", "vollkorn"])
def test_every_letter_lies_in_its_silhouette(typeface: str, shelf: Shelf) -> None:
    """Every point of the strokes of letters and figures; stems of 25 glyphs were lost by up to a whole capital."""
    face = shelf.get(typeface)
    for char in "ABDEFHIJKLMNPRTUVYbdfhijklmnpqrtu1479&":
        for placed in face.shape(char).placed:
            shape = glyph_shape(placed.glyph)
            if shape is None:
                continue
            for contour in placed.glyph.path:
                points = flatten(contour, 0.002)
                assert all(covered(shape.slices, x, y) for x, y in points.tolist()), (typeface, char)
