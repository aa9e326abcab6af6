"""Grooves against handbook figures."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point

from engrave.shop import Cutter, depth_for, groove_at, least_width, mark_of
from engrave.units import length_mm


def v_bit(angle: float, tip: float = 0.0, diameter: float = 50.0) -> Cutter:
    return Cutter("v", "V", "v-bit", "m", diameter=diameter, angle=angle, tip=tip, deepest=3)


def ball(diameter: float) -> Cutter:
    return Cutter("b", "B", "ball-nose", "m", diameter=diameter, flute=10)


@pytest.mark.source("Machinery's Handbook, depths of countersinks and spot drills (engineersedge.com)")
@pytest.mark.parametrize(
    ("angle", "factor"),
    [
        (60, 0.866),
        (82, 0.5752),
        (90, 0.5000),
        (100, 0.4195),
        (118, 0.3004),
        (120, 0.2887),
        (135, 0.2071),
        (142, 0.1722),
    ],
)
def test_depth_of_a_point_for_a_diameter(angle: float, factor: float) -> None:
    # Depth over diameter of countersinks and spot drills, table in the manner of Machinery's Handbook
    # (engineersedge.com, countersink and spot drill depth).
    assert depth_for(v_bit(angle), 10.0) == pytest.approx(10 * factor, abs=0.005)
    assert groove_at(v_bit(angle), 10 * factor) == pytest.approx(10.0, abs=0.01)


@pytest.mark.source("Machinery's Handbook: (W - T)/2 cot(a/2)")
def test_depth_with_a_flat_tip() -> None:
    # (W - T)/2 cot(a/2), the same formula: 60 degrees, 3 mm wide, tip 0.2 mm.
    assert depth_for(v_bit(60, 0.2), 3.0) == pytest.approx(2.4249, abs=1e-3)


@pytest.mark.source("a published width of a 60 degree V 0.030 in deep (rounded as 0.035 in)")
def test_width_of_a_shallow_v() -> None:
    # 60 degrees, 0.030 in deep: 0.0346 in (published rounded as 0.035).
    assert groove_at(v_bit(60), length_mm("0.030 in")) == pytest.approx(length_mm("0.0346 in"), abs=0.01)


@pytest.mark.parametrize(("angle", "tip", "depth"), [(30, 0.1, 1.68), (60, 0.2, 0.69), (90, 0.2, 0.40)])
def test_depth_for_a_stroke_of_one_mm(angle: float, tip: float, depth: float) -> None:
    assert depth_for(v_bit(angle, tip), 1.0) == pytest.approx(depth, abs=0.005)  # by the same formula


def test_width_of_a_ball_nose() -> None:
    # A chord of the circle, 2 sqrt(2 R z - z^2): R 3, z 1 gives 4.4721 (geometry).
    assert groove_at(ball(6), 1.0) == pytest.approx(4.4721, abs=5e-4)
    assert groove_at(ball(6), 3.0) == pytest.approx(6.0)
    assert groove_at(ball(6), 5.0) == pytest.approx(6.0)


@pytest.mark.source("machinecalcs.com, scallop of a ball nose")
@pytest.mark.parametrize(("step", "ridge"), [(0.5, 0.01043), (0.346, 0.005)])
def test_ridge_between_two_rounds_of_a_ball_nose(step: float, ridge: float) -> None:
    # Scallop of a 6 mm ball nose, machinecalcs.com: the depth at which its groove is as wide as the step.
    assert depth_for(ball(6), step) == pytest.approx(ridge, abs=2e-5)


def test_other_cutters() -> None:
    mill = Cutter("e", "E", "end-mill", "m", diameter=0.8, flute=3)
    drag = Cutter("d", "D", "drag-bit", "m", tip=0.15)
    beam = Cutter("l", "L", "beam", "m", kerf_x=0.12, kerf_y=0.18, wavelength=450)
    assert groove_at(mill, 0.1) == groove_at(mill, 1.0) == least_width(mill, 1.0) == 0.8
    assert groove_at(drag, 0.1) == 0.15
    assert groove_at(beam, 0.3) == 0.18
    assert mark_of(beam) == (0.12, 0.18)
    assert depth_for(mill, 0.8) is None
    assert depth_for(v_bit(60, 0.2), 0.1) is None


def test_a_v_bit_is_limited_by_its_tip_and_its_body() -> None:
    bit = v_bit(60, 0.2, diameter=3.0)
    assert least_width(bit, 2.0) == 0.2
    assert groove_at(bit, 10.0) == 3.0


@given(st.floats(10, 150), st.floats(0, 0.5), st.floats(0.6, 5))
def test_depth_and_width_go_there_and_back(angle: float, tip: float, width: float) -> None:
    depth = depth_for(v_bit(angle, tip), width)
    assert depth is not None
    assert groove_at(v_bit(angle, tip), depth) == pytest.approx(width)


@given(st.floats(0.01, 0.999))
def test_ball_nose_goes_there_and_back(share: float) -> None:
    depth = depth_for(ball(4), 4 * share)
    assert depth is not None
    assert groove_at(ball(4), depth) == pytest.approx(4 * share, abs=1e-6)
    assert math.isclose(depth, 2 - math.sqrt(4 - (2 * share) ** 2))


@pytest.mark.source("GEOS, hull of a ball and a disc")
@pytest.mark.parametrize(("diameter", "angle"), [(0.5, 10.0), (1.0, 6.2), (2.0, 30.0)])
@pytest.mark.parametrize("depth", [0.05, 0.2, 0.31, 0.9, 2.5])
def test_a_tapered_ball_is_as_wide_as_the_shape_swept(diameter: float, angle: float, depth: float) -> None:
    """Against shapely's hull of a ball and a great disc up its axis, which touch the same two lines (geometry)."""
    radius, half = diameter / 2, math.radians(angle / 2)
    far = 10.0
    upper = Point(0, far).buffer(radius + (far - radius) * math.sin(half), quad_segs=2000)
    body = Point(0, radius).buffer(radius, quad_segs=2000).union(upper).convex_hull
    cut = body.intersection(LineString([(-50, depth), (50, depth)]))
    tapered = Cutter("t", "T", "ball-nose", "m", diameter=diameter, angle=angle, flute=10)
    assert groove_at(tapered, depth) == pytest.approx(cut.length, abs=1e-4)
    assert depth_for(tapered, groove_at(tapered, depth)) == pytest.approx(depth, abs=1e-9)
