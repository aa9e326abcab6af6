"""How high the wall between two V-cuts is: by the strokes beside it, not by the widest of the piece."""

from __future__ import annotations

import math
from dataclasses import replace
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box, get_coordinates, maximum_inscribed_circle, union_all
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from cutting.workbench import lid, region_lettering, tool, wood
from engrave.cache import Cache
from engrave.cutting import KeptMeasures, check
from engrave.cutting.judge import case
from engrave.cutting.judge.walls import WALL_STEP, _circles, _outline, width_at, width_beside
from engrave.cutting.measure.components import components_of
from engrave.problems import Problem
from engrave.tasks import Tool

CAP = 10.0
STEM = ("l", box(20, 0, 23, 10))
"""A stroke 3 mm wide, far from the others: it is cut 2.4 mm deep by 60 degrees with a tip of 0.2."""


def v_bit(angle: float = 60.0) -> Tool:
    made = tool(12.0, "vee", "v-bit", 2.5, angle=angle, tip=0.2)
    return replace(made, diameter=0.2)


def problems(of: Tool, *shapes: BaseGeometry, web: float = 0.4) -> dict[str, Problem]:
    letters = [*(("i", s) for s in shapes), STEM]
    found = check(region_lettering(letters, CAP), of, wood(web, web), lid(), KeptMeasures(None)).problems
    return {p.code: p for p in found}


@pytest.mark.source("GEOS, largest inscribed circle")
@pytest.mark.parametrize("turn", [0.0, 33.0])
@pytest.mark.parametrize(
    ("shape", "foot"),
    [(box(0, 0, 2, 10), (0.0, 5.0)),  # beside a bar: its width
     (box(0, 0, 4, 0.5), (0.0, 0.25)),  # before the end of a thin one: its thickness
     (Point(0, 0).buffer(1.5, 64), (-1.5, 0.0)),  # a dot
     (Point(0, 0).buffer(4, 64).difference(Point(0, 0).buffer(3, 64)), (-3.0, 0.0))],  # inside a ring
)  # fmt: skip
def test_a_stroke_is_as_wide_as_its_largest_circle(shape: BaseGeometry, foot: tuple[float, float], turn: float) -> None:
    """Against GEOS's largest inscribed circle, which these shapes have at every foot."""
    (body,) = components_of(region_lettering([("x", rotate(shape, turn, origin=(0, 0)))], CAP), False, Cache())
    x, y = get_coordinates(rotate(Point(foot), turn, origin=(0, 0)))[0]
    circle = 2.0 * maximum_inscribed_circle(shape, 1e-4).length
    assert width_at(np.array([x, -y]), 0.1, body, _outline(body)) == pytest.approx(
        circle, rel=0.03
    )  # the lid's y runs down


def test_only_near_places_are_looked_at_and_none_is_missed() -> None:
    """A comb of forty thin teeth: along a tooth the width is the tooth's, at the back the back's, as all places tell."""
    comb = union_all([box(0, 0, 40, 3), *(box(k, 3, k + 0.3, 9) for k in range(40))])
    (body,) = components_of(region_lettering([("m", comb)], CAP), False, Cache())
    places, inwards = _outline(body)
    for x, y, wide in ((20.3, 6.0, 0.3), (11.0, 8.0, 0.3), (20.5, 0.0, 3.0), (0.0, 1.5, 3.0)):
        near = np.flatnonzero(np.hypot(*(places - (x, -y)).T) <= 0.2)
        every = _circles(places[near], inwards[near], places, 0.5 * WALL_STEP * CAP)
        assert len(near) and width_beside(places, inwards, near, body) == 2.0 * every[np.isfinite(every)].max()
        assert width_beside(places, inwards, near, body) == pytest.approx(wide, rel=0.03)


def test_thin_serifs_that_face_each_other_stand_though_the_piece_is_cut_deep_elsewhere() -> None:
    """By 10 degrees serifs 0.4 mm thick are cut 1.1 mm deep: 0.7 mm of wood between them is no high wall; between stems,
    cut 2.5 mm deep, it is."""
    serif = [box(0, 0, 4, 0.4), box(1, 0, 3, 10)], [box(4.7, 0, 8.7, 0.4), box(5.7, 0, 7.7, 10)]
    steep = v_bit(10.0)
    assert "web-under-depth" not in problems(steep, *(union_all(parts) for parts in serif))
    assert "web-under-depth" in problems(steep, *STEMS)


STEMS = box(0, 0, 3, 10), box(3.7, 0, 6.7, 10)
"""Two stems 3 mm wide with 0.7 mm of wood between them at the surface."""


def weakest(width: float, slope: float, depth: float) -> tuple[float, float]:
    """Depth and thickness at which a wall under a side load at its top is stressed most, by trying every depth."""
    z = np.linspace(1e-3, depth, 5000)
    thick = width + slope * z
    at = int((z / thick**2).argmax())
    return float(z[at]), float(thick[at])


@pytest.mark.parametrize("angle", [10.0, 20.0, 30.0, 60.0, 90.0])
@pytest.mark.parametrize("width", [0.2, 0.35, 0.7, 1.2])
def test_a_wall_between_v_cuts_is_judged_where_it_breaks(angle: float, width: float) -> None:
    """Bending stress of a cantilever z / t(z)^2, tried depth by depth (tapered beams; Gere, Mechanics of Materials)."""
    depth = min(2.5, 2.8 / 2.0 / math.tan(math.radians(angle / 2.0)))  # of stems 3 mm wide, tip 0.2
    slope = 2.0 * math.tan(math.radians(angle / 2.0))
    down, thick = weakest(width, slope, depth)
    for web in (0.9 * thick, 1.1 * thick):
        found = problems(v_bit(angle), box(0, 0, 3, 10), box(3 + width, 0, 6 + width, 10), web=web)
        assert ("web-too-thin" in found) == (web > thick), (web, thick)
        assert ("web-under-depth" in found) == (web < thick < 0.5 * down * 0.99), (thick, down)


def test_stems_of_a_v_cut_may_stand_nearer_than_those_of_a_flat_bit() -> None:
    """A V of 60 degrees leaves a wall 1.15 mm thicker at each mm of depth: 0.7 mm at the surface are no thin wall."""
    assert not {"web-too-thin", "web-under-depth"} & problems(v_bit(), *STEMS, web=0.9).keys()
    flat = tool(0.8, "pocket", "end-mill", 2.4)
    assert {"web-too-thin"} <= problems(flat, *STEMS, web=0.9).keys()


def test_what_the_shop_measured_is_taken_as_measured() -> None:
    """A test piece was read at the surface, where its gaps are drawn: nothing is taken off it."""
    of = v_bit()
    measured = replace(of, recipe=replace(of.recipe, web_along=0.9, web_across=0.9))
    assert "web-too-thin" in problems(measured, *STEMS)


@given(st.lists(st.floats(0.3, 1.6), min_size=1, max_size=4), st.permutations([30.0, 60.0, 90.0]))
@settings(max_examples=25, deadline=None)
def test_a_bit_finds_the_same_whichever_was_looked_at_before(gaps: list[float], angles: list[float]) -> None:
    """The strokes beside the webs are asked about once for all bits; how deep each cuts there is its own."""
    edges = np.cumsum([0.0, *(gap + 1.5 for gap in gaps)])
    letters = region_lettering([*(("i", box(x, 0, x + 1.5, 10)) for x in edges), STEM], CAP)
    together = KeptMeasures(None)
    for angle in angles:
        how = (v_bit(angle), wood(0.4, 0.4), lid())
        assert check(letters, *how, together).problems == check(letters, *how, KeptMeasures(None)).problems


@given(st.lists(st.floats(0.3, 1.6), min_size=1, max_size=4), st.sampled_from([30.0, 60.0, 90.0]), st.floats(0.0, 0.6))
@settings(max_examples=40, deadline=None)
def test_how_deep_it_is_cut_beside_wood_to_spare_changes_nothing(
    gaps: list[float], angle: float, flatness: float
) -> None:
    """Where enough is left even on a lid that stands high, the strokes beside it are not asked about."""
    edges = np.cumsum([0.0, *(gap + 1.5 for gap in gaps)])
    letters = region_lettering([*(("i", box(x, 0, x + 1.5, 10)) for x in edges), STEM], CAP)
    how = (v_bit(angle), wood(0.4, 0.4), lid(flatness))
    found = check(letters, *how, KeptMeasures(None))
    with patch.object(case, "width_changes", lambda *_: (9.0, 9.0)):
        asked = check(letters, *how, KeptMeasures(None))
    assert found.problems == asked.problems
    assert found.weak == asked.weak


@pytest.mark.parametrize(("flatness", "gap"), [(0.3, 0.9), (0.4, 1.1), (0.5, 1.3), (0.6, 1.5)])
def test_wood_on_a_lid_that_cups_much_is_judged_by_the_stroke_beside_it_too(flatness: float, gap: float) -> None:
    """What needs no asking was once 0.5 mm on every lid; a V-bit of 90 degrees grows by twice what the lid cups."""
    letters = region_lettering([("i", box(0, 0, 1.5, 10)), ("i", box(1.5 + gap, 0, 3.0 + gap, 10)), STEM], CAP)
    assert not check(letters, v_bit(90.0), wood(0.4, 0.4), lid(flatness), KeptMeasures(None)).problems
    assert check(letters, v_bit(90.0), wood(0.4, 0.4), lid(2.0 * flatness), KeptMeasures(None)).problems
