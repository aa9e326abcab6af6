"""A lid that cups: what a bit's cut becomes where the face lies low and where it stands high."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import box
from shapely.geometry.base import BaseGeometry

from cutting.workbench import lettering, lid, region_lettering, tool, wood
from engrave.cutting import Fitness, KeptMeasures, check
from engrave.cutting.effect.cupping import groove_extremes, width_changes
from engrave.geometry.paths import polygon_path
from engrave.making import environment
from engrave.output.terminal.answers import tried as answer
from engrave.output.week_tables import entry
from engrave.setting import Lettering
from engrave.shop.models import CutterKind, Method
from engrave.tasks import Tool
from engrave.verbs import try_words

CAP = 10.0


def bit(kind: CutterKind, depth: float, method: Method = "follow", angle: float = 60.0) -> Tool:
    """A pointed bit with a tip of 0.2 mm, a round one of 2 mm, or a mill of 0.8 mm."""
    across = {"v-bit": 12.0, "half-round": 3.0, "ball-nose": 2.0}.get(kind, 0.8)
    pointed = {"angle": angle, "tip": 0.2} if kind in ("v-bit", "half-round") else {}
    made = tool(across, method, kind, depth, **({"kerf_x": 0.8} if kind == "beam" else pointed))
    groove = made.cutter.groove_at(depth, made.recipe)
    return replace(made, groove=groove, diameter=0.2 if method == "vee" else groove)


def lines_apart(groove: float, apart: float) -> Lettering:
    """Two single lines whose middles stand `apart` mm from each other."""
    two = tuple(polygon_path([(x, 0.0), (x, CAP)], closed=False) for x in (0.0, apart))
    return lettering([("x", two)], CAP, kind="single-line", groove=groove)


def bars_apart(width: float, apart: float) -> BaseGeometry:
    return box(0, 0, width, CAP).union(box(width + apart, 0, 2 * width + apart, CAP))


def checked(laid: Lettering, of: Tool, flatness: float, web: float = 0.4) -> Fitness:
    return check(laid, of, wood(web, web), lid(flatness), KeptMeasures(None))


def flat_codes(fitness: Fitness) -> list[str]:
    assert all(p.level == "look" for p in fitness.problems if p.code.startswith("flatness"))
    return [p.code for p in fitness.problems if p.code.startswith("flatness")]


@pytest.mark.parametrize("kind", ["v-bit", "half-round"])
@pytest.mark.parametrize(("angle", "a_mm"), [(30.0, 0.54), (60.0, 1.15), (90.0, 2.0)])
def test_a_pointed_bits_cut_widens_by_its_angle(angle: float, a_mm: float, kind: CutterKind) -> None:
    """The inverse of Machinery's Handbook's depths of points, 0.866 and 0.5 at 60 and 90 degrees; 30 by its formula."""
    of = bit(kind, 0.6, angle=angle)
    assert of.cutter.widening == pytest.approx(a_mm, abs=0.006)
    low, high = groove_extremes(of, of.groove, 0.25)
    assert (of.groove - low, high - of.groove) == pytest.approx((0.25 * a_mm, 0.25 * a_mm), abs=0.002)


def test_the_stroke_is_told_from_low_to_high() -> None:
    """60 degrees, tip 0.2, 0.6 mm deep: 0.893 mm; 0.2 higher or lower 0.231 more or less. A wide bar by `vee` alike."""
    of = bit("v-bit", 0.6)
    lines = checked(lines_apart(of.groove, 5.0), of, 0.2)
    assert lines.stroke_range == pytest.approx((0.662, 1.124), abs=0.001)
    bars = checked(region_lettering([("x", bars_apart(1.0, 3.0))], CAP), bit("v-bit", 2.0, "vee"), 0.2)
    assert bars.stroke_range == pytest.approx((1.0 - 0.231, 1.0 + 0.231), abs=0.002)


def test_a_ball_nose_widens_until_it_is_half_in() -> None:
    """Chords of a circle of radius 1 at 0.3 and 0.7 mm, drawn at 0.5; at 1.2 mm it is as wide as it gets (geometry)."""
    of = bit("ball-nose", 0.5)
    assert of.groove == pytest.approx(1.7321, abs=1e-4)
    assert groove_extremes(of, of.groove, 0.2) == pytest.approx((1.4283, 1.9079), abs=1e-4)
    deep = bit("ball-nose", 1.2)
    assert width_changes(deep, deep.groove, 0.1) == (0.0, 0.0)


@pytest.mark.parametrize("kind", ["end-mill", "beam"])
def test_a_mill_and_a_beam_cut_as_wide_anywhere(kind: CutterKind) -> None:
    of = bit(kind, 0.5)
    found = checked(lines_apart(of.groove, of.groove + 0.401), of, 0.4)
    assert found.stroke_range == (of.groove, of.groove)
    assert flat_codes(found) == []


@pytest.mark.parametrize("method", ["follow", "pocket"])
@pytest.mark.parametrize(
    ("kind", "depth", "told"),
    [("end-mill", 0.3, True), ("end-mill", 0.301, False), ("ball-nose", 0.3, True), ("beam", 0.1, False)],
)
def test_a_cut_no_deeper_than_the_lid_may_lie_low_is_told(
    kind: CutterKind, depth: float, told: bool, method: Method
) -> None:
    """Lettering may be missed however it is cut: along lines or cleared. A beam reaches down."""
    of = bit(kind, depth, method)
    laid = lines_apart(of.groove, 8.0) if method == "follow" else region_lettering([("x", bars_apart(4.0, 4.0))], CAP)
    found = checked(laid, of, 0.3)
    assert flat_codes(found) == (["flatness-misses"] if told else [])
    assert (found.stroke_range is not None) and (found.stroke_range[0] == 0.0) == told


@pytest.mark.parametrize(("flatness", "told"), [(0.34, False), (0.35, True)])
def test_a_hairline_by_vee_is_only_as_deep_as_it_is_wide(flatness: float, told: bool) -> None:
    """A stroke of 0.6 mm at 60 degrees with a tip of 0.2: (0.6 - 0.2)/2 cot 30 = 0.346 mm deep."""
    hairlined = box(0, 0, 0.6, CAP).union(box(4, 0, 6, CAP))
    found = checked(region_lettering([("x", hairlined)], CAP), bit("v-bit", 2.0, "vee"), flatness, 0.1)
    assert flat_codes(found) == (["flatness-misses"] if told else [])
    if told:
        assert found.problems[-1].value == pytest.approx(0.346, abs=0.003)


@pytest.mark.parametrize(("spare", "told"), [(0.24, False), (0.22, True), (-0.01, False)])
@pytest.mark.parametrize("method", ["follow", "vee"])
def test_wood_that_is_thick_enough_only_on_a_flat_lid(spare: float, told: bool, method: Method) -> None:
    """0.2 mm high at 60 degrees takes 0.231 mm: with less to spare that is told; below the limit the web itself is."""
    of = bit("v-bit", 0.6 if method == "follow" else 2.0, method)
    least = 0.8
    if method == "follow":
        laid = lines_apart(of.groove, of.groove + least + spare)
    else:
        # a wall between V-cuts 0.7 mm deep is twice as thick where it breaks: half of the least is asked of its top
        laid = region_lettering([("x", bars_apart(1.0, least / 2.0 + spare))], CAP)
    found = checked(laid, of, 0.2, least)
    assert flat_codes(found) == (["flatness-web"] if told else [])
    assert any(p.code == "web-too-thin" for p in found.problems) == (spare < 0)


def test_a_flat_lid_has_nothing_to_tell() -> None:
    of = bit("v-bit", 0.6)
    found = checked(lines_apart(of.groove, of.groove + 0.4001), of, 0.0)
    assert found.stroke_range == (of.groove, of.groove)
    assert flat_codes(found) == []


def test_the_widths_on_a_lid_that_cups_are_told_and_none_for_a_beam() -> None:
    env = environment()
    for cutter, told in (("v60", True), ("diode-450", False)):
        tried = try_words("Wilma", lid="card-box", typeface="withy", cutter=cutter, wood="maple", env=env)
        one = entry(tried.entries[0].piece, ())
        assert (one["stroke_range_mm"] is not None) == told
        assert ("as the lid cups" in answer(tried.entries, env.shop)) == told
        if told:
            low, high = one["stroke_range_mm"]
            assert low < one["stroke_mm"] < high
