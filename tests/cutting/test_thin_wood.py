"""Wood too thin as a picture: where it lacks, and nowhere else."""

from __future__ import annotations

import pytest
from shapely import Point, Polygon, box, union_all

from engrave.cutting.effect.thin_wood import thin_regions
from engrave.cutting.measure.narrow_places import NarrowPlace


def site(x: float, y: float, width: float, axis: float | None = None) -> NarrowPlace:
    return NarrowPlace(width, x, y, axis, (0,))


def test_a_gap_between_two_bars_is_thin_over_all_its_length_and_a_wide_one_is_not() -> None:
    bars = union_all([box(0, 0, 1, 3), box(1.3, 0, 2.3, 3), box(3.3, 0, 4.3, 3)])
    found = thin_regions(bars, [(site(1.15, 1.5, 0.3), 0.3, 0.5)])
    assert found.intersection(box(1, 0.5, 1.3, 2.5)).area == pytest.approx(0.3 * 2.0, rel=0.02)
    assert found.intersection(box(2.35, 0, 3.25, 3)).is_empty
    assert found.intersection(bars).area < 1e-6


def test_between_two_corners_the_place_itself_is_shown() -> None:
    """Two points 0.8 apart: discs of 1.2 reach in between from above and below, and yet no more than 0.8 is left."""
    wedges = union_all([Polygon([(-3, -1), (-0.4, 0), (-3, 1)]), Polygon([(3, -1), (0.4, 0), (3, 1)])])
    found = thin_regions(wedges, [(site(0, 0, 0.8), 0.8, 1.2)])
    assert found.contains(Point(0, 0))
    assert found.intersection(box(-0.39, -0.01, 0.39, 0.01)).area == pytest.approx(0.78 * 0.02, rel=0.05)


def test_what_fills_up_is_shown_as_it_was_drawn() -> None:
    """A loop 0.6 mm across under a groove of 0.8: all is cut, and the loop that went is told by its circle."""
    cut = Point(0, 0).buffer(0.7)
    found = thin_regions(cut, [(site(0, 0, 0.6), -0.2, 0.4)])
    assert found.area == pytest.approx(3.1416 * 0.09, rel=0.02)


def test_nothing_lacks_where_no_place_is_given() -> None:
    assert thin_regions(box(0, 0, 1, 1), []).is_empty
