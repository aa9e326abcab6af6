"""Middle lines of a letter: the same however its outline is told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import Polygon, get_coordinates
from shapely.affinity import rotate, scale, translate

from engrave.cutting.criteria import GLYPH_CHORD
from engrave.geometry.medial_axis import axis_lines
from engrave.geometry.regions import polygons, region
from engrave.typefaces import Shelf, load_shelf

LETTERS = "AORSQdgm&8"


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return load_shelf(None)


def _parts(shelf: Shelf, typeface: str) -> list[Polygon]:
    return [
        part
        for letter in LETTERS
        for mark in shelf.get(typeface).shape(letter).placed
        for part in polygons(region(mark.glyph.path, GLYPH_CHORD))
    ]


def _told_otherwise(part: Polygon, rng: np.random.Generator, decimals: int | None) -> Polygon:
    """A part with its rings begun anywhere, run round either way, in any order, and rounded as a file rounds them."""
    rings = []
    for ring in (part.exterior, *part.interiors):
        points: NDArray[np.float64] = np.roll(get_coordinates(ring)[:-1], int(rng.integers(1000)), axis=0)
        points = points[:: int(rng.choice([-1, 1]))]
        rings.append(points if decimals is None else points.round(decimals))
    return Polygon(rings[0], [rings[1:][k] for k in rng.permutation(len(rings) - 1)])


def _length(part: Polygon) -> float:
    return sum(float(np.hypot(*np.diff(line[:, :2], axis=0).T).sum()) for line in axis_lines(part))


@pytest.mark.parametrize(("typeface", "within"), [("vollkorn", 1e-4), ("gfs-didot", 1e-4), ("great-vibes", 5e-3)])
def test_moved_turned_or_begun_elsewhere_a_letter_has_the_same_middle_lines(
    shelf: Shelf, typeface: str, within: float
) -> None:
    rng = np.random.default_rng(3)
    for part in _parts(shelf, typeface):
        turn = float(rng.uniform(0.0, 2.0 * math.pi))
        moved = translate(rotate(part, turn, origin=(0.0, 0.0), use_radians=True), 3.7, -2.1)
        other = _told_otherwise(moved, rng, None)
        left, low, right, top = part.bounds
        assert _length(part) > 0.5 * max(right - left, top - low)  # there are some
        assert _length(other) == pytest.approx(_length(part), rel=within)


def test_what_a_file_rounds_changes_middle_lines_by_less_than_a_five_hundredth(shelf: Shelf) -> None:
    """Letters 12 mm high, written with four decimals."""
    rng = np.random.default_rng(4)
    was = now = 0.0
    for part in _parts(shelf, "vollkorn"):
        written = _told_otherwise(scale(part, 12.0, 12.0, origin=(0.0, 0.0)), rng, 4)
        was, now = was + _length(part), now + _length(scale(written, 1.0 / 12.0, 1.0 / 12.0, origin=(0.0, 0.0)))
    assert was > len(LETTERS)  # cap heights: each letter has more than one of it
    assert now == pytest.approx(was, rel=0.002)
