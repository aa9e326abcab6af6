"""Grooves against handbook figures."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from engrave.shop import load_shop
from engrave.shop.cutters import KINDS, BallNose, Beam, Bit, Cutter, CutterKind, DragBit, EndMill, VBit
from engrave.units import length_mm


def v_bit(angle: float, tip: float = 0.0, diameter: float = 50.0) -> Bit:
    return VBit(id="v", title="V", machine="m", diameter=diameter, angle=angle, tip=tip, deepest=3)


def ball(diameter: float) -> Bit:
    return BallNose(id="b", title="B", machine="m", diameter=diameter, flute=10)


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
    assert v_bit(angle).depth_for(10.0) == pytest.approx(10 * factor, abs=0.005)
    assert v_bit(angle).groove_at(10 * factor) == pytest.approx(10.0, abs=0.01)


@pytest.mark.source("Machinery's Handbook: (W - T)/2 cot(a/2)")
def test_depth_with_a_flat_tip() -> None:
    # (W - T)/2 cot(a/2), the same formula: 60 degrees, 3 mm wide, tip 0.2 mm.
    assert v_bit(60, 0.2).depth_for(3.0) == pytest.approx(2.4249, abs=1e-3)


@pytest.mark.source("a published width of a 60 degree V 0.030 in deep (rounded as 0.035 in)")
def test_width_of_a_shallow_v() -> None:
    # 60 degrees, 0.030 in deep: 0.0346 in (published rounded as 0.035).
    assert v_bit(60).groove_at(length_mm("0.030 in")) == pytest.approx(length_mm("0.0346 in"), abs=0.01)


@pytest.mark.parametrize(("angle", "tip", "depth"), [(30, 0.1, 1.68), (60, 0.2, 0.69), (90, 0.2, 0.40)])
def test_depth_for_a_stroke_of_one_mm(angle: float, tip: float, depth: float) -> None:
    assert v_bit(angle, tip).depth_for(1.0) == pytest.approx(depth, abs=0.005)  # by the same formula


def test_width_of_a_ball_nose() -> None:
    # A chord of the circle, 2 sqrt(2 R z - z^2): R 3, z 1 gives 4.4721 (geometry).
    assert ball(6).groove_at(1.0) == pytest.approx(4.4721, abs=5e-4)
    assert ball(6).groove_at(3.0) == pytest.approx(6.0)
    assert ball(6).groove_at(5.0) == pytest.approx(6.0)


@pytest.mark.source("machinecalcs.com, scallop of a ball nose")
@pytest.mark.parametrize(("step", "ridge"), [(0.5, 0.01043), (0.346, 0.005)])
def test_ridge_between_two_rounds_of_a_ball_nose(step: float, ridge: float) -> None:
    # Scallop of a 6 mm ball nose, machinecalcs.com: the depth at which its groove is as wide as the step.
    assert ball(6).depth_for(step) == pytest.approx(ridge, abs=2e-5)


def test_other_cutters() -> None:
    mill = EndMill(id="e", title="E", machine="m", diameter=0.8, flute=3)
    drag = DragBit(id="d", title="D", machine="m", tip=0.15)
    beam = Beam(id="l", title="L", machine="m", kerf_x=0.12, kerf_y=0.18, wavelength=450)
    assert mill.groove_at(0.1) == mill.groove_at(1.0) == mill.least_width(1.0) == 0.8
    assert drag.groove_at(0.1) == 0.15
    assert beam.groove_at(0.3) == 0.18
    assert beam.mark() == (0.12, 0.18)
    assert mill.depth_for(0.8) is None
    assert v_bit(60, 0.2).depth_for(0.1) is None


def test_a_v_bit_is_limited_by_its_tip_and_its_body() -> None:
    bit = v_bit(60, 0.2, diameter=3.0)
    assert bit.least_width(2.0) == 0.2
    assert bit.groove_at(10.0) == 3.0


@given(st.floats(10, 150), st.floats(0, 0.5), st.floats(0.6, 5))
def test_depth_and_width_go_there_and_back(angle: float, tip: float, width: float) -> None:
    depth = v_bit(angle, tip).depth_for(width)
    assert depth is not None
    assert v_bit(angle, tip).groove_at(depth) == pytest.approx(width)


@given(st.floats(0.01, 0.999))
def test_ball_nose_goes_there_and_back(share: float) -> None:
    depth = ball(4).depth_for(4 * share)
    assert depth is not None
    assert ball(4).groove_at(depth) == pytest.approx(4 * share, abs=1e-6)
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
    tapered = BallNose(id="t", title="T", machine="m", diameter=diameter, angle=angle, flute=10)
    assert tapered.groove_at(depth) == pytest.approx(cut.length, abs=1e-4)
    assert tapered.depth_for(tapered.groove_at(depth)) == pytest.approx(depth, abs=1e-9)


# --- kinds ------------------------------------------------------------------------------------------------------------

CUTTERS: dict[str, Cutter] = {c.kind: c for c in load_shop().cutters.values()}


def test_every_kind_has_a_class_and_stands_in_the_tables() -> None:
    assert set(CUTTERS) == set(KINDS)
    assert all(type(cutter) is KINDS[cutter.kind] for cutter in CUTTERS.values())


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_says_how_it_cuts(kind: CutterKind) -> None:
    cutter = CUTTERS[kind]
    assert cutter.methods[0] == "follow"
    assert cutter.is_beam == isinstance(cutter, Beam)
    depth = 0.3
    groove = cutter.groove_at(depth)
    assert 0 < cutter.least_width(depth) <= groove
    assert cutter.depth_for(groove) == (pytest.approx(depth) if kind in ("ball-nose", "v-bit", "half-round") else None)
    wider = cutter.groove_at(depth + 0.1) - groove
    assert cutter.widening == (pytest.approx(10 * wider) if kind in ("v-bit", "half-round") else 0.0)
    assert cutter.fineness > 0
    limits = {what: limit for limit, what in cutter.depth_limits()}
    assert ("cone" in limits) == (kind in ("v-bit", "half-round"))
    assert bool(limits) != cutter.is_beam


def test_a_holder_stays_above_by_what_stands_out_of_it() -> None:
    bit = CUTTERS["v-bit"]
    assert isinstance(bit, Bit)
    assert bit.reach is not None
    assert bit.holder_above == pytest.approx(bit.reach - 3.0)  # of three V-bits the last: run to 3 mm at most
    assert replace(bit, reach=None).holder_above == 0.0
    assert CUTTERS["beam"].holder_above == 0.0


@pytest.mark.parametrize("kind", ["ball-nose", "v-bit", "half-round"])
@pytest.mark.parametrize("depth", [0.05, 0.3, 0.8])
def test_the_side_view_is_as_wide_as_the_groove(kind: CutterKind, depth: float) -> None:
    """What is drawn of a bit is the shape that its groove is worked out from; a ball's chords lie within its circle."""
    bit = CUTTERS[kind]
    assert isinstance(bit, Bit)
    cut = Polygon(bit.side_view(12.0)).intersection(LineString([(-50, depth), (50, depth)]))
    assert cut.length == pytest.approx(bit.groove_at(depth), rel=0.02)


def test_a_cutter_of_one_kind_is_none_of_another() -> None:
    vee = load_shop().cutters["v60"]
    assert KINDS["half-round"](**{f.name: getattr(vee, f.name) for f in fields(vee)}) != vee
