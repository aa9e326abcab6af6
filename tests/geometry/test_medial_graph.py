"""The medial graph and its narrow runs against closed forms, turned and scaled."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import Point, Polygon, box, contains_xy, get_coordinates, prepare, unary_union
from shapely.affinity import rotate, scale
from shapely.geometry.base import BaseGeometry

from engrave.geometry.medial_graph import medial_graph_of
from engrave.geometry.medial_points import MedialGraph
from engrave.geometry.narrow_strips import Narrow, narrow_runs
from engrave.geometry.regions import polygons

STEP = 0.01
TILT = math.radians(25.0)


def graph_of(shape: BaseGeometry, step: float = STEP) -> tuple[MedialGraph, NDArray[np.bool_]]:
    """The graph of a region's boundary, and which of its points lie inside."""
    parts = polygons(shape)
    found = medial_graph_of([get_coordinates(r) for p in parts for r in (p.exterior, *p.interiors)], step)
    prepare(shape)
    return found, contains_xy(shape, found.points[:, 0], found.points[:, 1])


def runs(shape: BaseGeometry, inside: bool = True, tilt: float = TILT, least: float = 0.05) -> tuple[Narrow, ...]:
    found, within = graph_of(shape)
    return narrow_runs(found, within if inside else ~within, tilt, least, 3 * least)


def off(axis: float | None, degrees: float) -> float:
    """How far a direction is from another, in degrees, either way round."""
    assert axis is not None
    return abs((math.degrees(axis) - degrees + 90.0) % 180.0 - 90.0)


def disc(radius: float) -> Polygon:
    return Point(0.0, 0.0).buffer(radius, quad_segs=128)


def test_a_rectangles_middle_line_and_diagonals() -> None:
    """Between the ends' bisectors the middle line is half the height from either long side; radii are distances."""
    shape = box(0.0, 0.0, 4.0, 1.0)
    found, within = graph_of(shape)
    middle = within & (found.points[:, 0] > 0.6) & (found.points[:, 0] < 3.4) & (found.spread > 3.0)
    assert middle.sum() > 100
    assert found.points[middle, 1] == pytest.approx(0.5, abs=1e-6)
    assert found.width[middle] == pytest.approx(1.0, abs=1e-6)
    away = [shape.exterior.distance(Point(p)) for p in found.points[within]]
    assert found.radius[within] == pytest.approx(away, abs=1e-6)
    (run,) = runs(shape)
    assert run.width == pytest.approx(1.0, abs=1e-6)
    assert off(run.axis, 0.0) < 0.1


def test_a_discs_graph_is_its_centre() -> None:
    found, sound = graph_of(disc(1.0), 0.02)  # corners of the chords alone: between them the bisectors begin
    assert np.hypot(*found.points[sound].T) == pytest.approx(0.0, abs=0.02)
    assert found.radius[sound] == pytest.approx(1.0, abs=1e-3)
    assert runs(disc(1.0)) == ()  # nothing long enough: a dot is no stroke


@pytest.mark.parametrize(("outer", "inner"), [(1.0, 0.8), (0.5, 0.2), (2.0, 1.99)])
def test_an_annulus_is_one_stroke(outer: float, inner: float) -> None:
    ring = disc(outer).difference(disc(inner))
    (run,) = runs(ring)
    assert run.width == pytest.approx(outer - inner, rel=0.01)
    assert math.hypot(run.x, run.y) == pytest.approx((outer + inner) / 2.0, abs=0.01)
    assert off(run.axis, math.degrees(math.atan2(run.y, run.x)) + 90.0) < 3.0  # along the ring


@pytest.mark.parametrize("half", [2.0, 5.0, 9.0, 12.0, 13.0, 20.0])
def test_a_wedge_counts_by_its_taper(half: float) -> None:
    """Sides `half` degrees off the middle face each other pi - 2 half apart; a truncated wedge is as thin as its end.

    The run that is asked for lies on the bisector from where the end's corners let go of it: at the narrow end's
    half height e the middle line begins at e / cos - e tan behind it, and is 2 (e + s sin) / cos wide s further on.
    """
    slope, end, long, least = math.tan(math.radians(half)), 0.1, 2.0, 0.2
    shape = Polygon([(0, -end), (long, -end - slope * long), (long, end + slope * long), (0, end)])
    found = [r for r in runs(shape, tilt=TILT, least=least) if off(r.axis, 0.0) < 1.0]
    if 2.0 * half > math.degrees(TILT):
        assert found == []
        return
    cos, sin = math.cos(math.radians(half)), math.sin(math.radians(half))
    start = end * cos / (1.0 - sin)  # where a circle touches both sides and the end
    width = 2.0 * (end + (start + least) * slope) * cos
    assert found[0].width == pytest.approx(width, rel=0.015)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.05, 1.0), st.floats(0.1, 1.0), st.floats(0.0, 180.0))
def test_two_bars_and_what_stands_between_them(gap: float, width: float, turn: float) -> None:
    bars = box(0, 0, width, 3).union(box(width + gap, 0, 2 * width + gap, 3))
    turned = rotate(bars, turn, origin=(0, 0))
    cut, wood = runs(turned)[0], runs(turned, inside=False)[0]
    assert cut.width == pytest.approx(width, rel=1e-3)
    assert wood.width == pytest.approx(gap, rel=1e-3)
    for run in (cut, wood):
        assert off(run.axis, 90.0 + turn) < 0.5


def test_an_l_has_both_its_arms() -> None:
    """Arms of 0.3 and 0.5, of which neither hides the other; the corner between them is wider than both."""
    shape = box(0, 0, 0.3, 3).union(box(0, 0, 3, 0.5))
    upright, lying = runs(shape)
    assert (upright.width, lying.width) == pytest.approx((0.3, 0.5), abs=1e-3)
    assert off(upright.axis, 90.0) < 0.5
    assert off(lying.axis, 0.0) < 0.5
    assert runs(shape, inside=False) == ()  # the bay between the arms opens by a right angle


def test_a_neck_is_found_where_it_is() -> None:
    """Two circles of radius 1, 2.2 apart, taken out of a plate: what stands between narrows to 0.2 at the middle."""
    plate = box(-3, -2, 3, 2)
    for x in (-1.1, 1.1):
        plate = plate.difference(Point(x, 0).buffer(1.0, quad_segs=128))
    neck = runs(plate, least=0.05)[0]
    assert (neck.x, neck.y) == pytest.approx((0.0, 0.0), abs=0.02)
    assert neck.width == pytest.approx(0.2 + 2 * (1 - math.sqrt(1 - 0.025**2)), abs=1e-3)
    assert off(neck.axis, 90.0) < 2.0


LETTERLIKE = unary_union(
    [
        box(0, 0, 0.13, 1), box(0, 0.45, 0.6, 0.53), box(0.5, 0, 0.6, 1),
        rotate(box(1.2, 0, 1.27, 1).union(box(1.36, 0, 1.46, 1)), 20),
        disc(0.4).difference(disc(0.31)).buffer(0), disc(0.2),
    ]
)  # fmt: skip
"""An H, two slanting bars 0.09 apart, and a ring about a dot, some in each other's way."""


@settings(max_examples=15, deadline=None)
@given(st.floats(0.0, 360.0), st.floats(0.05, 40.0), st.booleans())
def test_turned_and_scaled_it_is_the_same(turn: float, times: float, inside: bool) -> None:
    """Widths grow with the shape and directions turn with it, if samples stand as close and runs are as long."""
    before = runs(LETTERLIKE, inside)
    moved = scale(rotate(LETTERLIKE, turn, origin=(0, 0)), times, times, origin=(0, 0))
    found, within = graph_of(moved, STEP * times)
    after = narrow_runs(found, within if inside else ~within, TILT, 0.05 * times, 0.15 * times)
    assert after
    assert [r.width / times for r in after] == pytest.approx([r.width for r in before], rel=0.01)
    assert off(after[0].axis, math.degrees(before[0].axis or 0.0) + turn) < 2.0


@pytest.mark.parametrize(
    "lines",
    [[], [np.zeros((1, 2))], [np.zeros((2, 2))], [np.array([[0.0, 0.0], [1.0, 0.0]])], [np.array([[0.0, 0.0], [1e-9, 0.0], [0.0, 1e-9]])]],
    ids=["none", "a point", "a point twice", "a line", "next to nothing"],
)  # fmt: skip
def test_what_has_no_middle_has_no_runs(lines: list[NDArray[np.float64]]) -> None:
    found = medial_graph_of(lines, STEP)
    assert narrow_runs(found, np.ones(len(found.points), dtype=bool), TILT, 0.05, 0.15) == ()
