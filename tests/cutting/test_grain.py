"""Wood left standing, along and across the grain: which limit holds, at every turn, and which comes before it.

Across the grain a thin wall is short grain and breaks out; along it, fibres run its whole length (common practice, no
source; the angle of 30 degrees within which a wall counts as along is ours).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Point, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from cutting.workbench import RECIPE, lid, region_lettering, tool, wood
from engrave.cutting import Fitness, KeptMeasures, check

WEB = 0.5
"""mm of wood between two bars 2 mm wide: enough along the grain (0.4), too thin across it (0.6)."""

UPRIGHT = [("i", box(0, 0, 2, 10)), ("l", box(2 + WEB, 0, 4 + WEB, 10))]


def checked(shapes: list[tuple[str, BaseGeometry]], grain: str, depth: float = 0.1, **recipe: float) -> Fitness:
    of = tool(0.8, depth=depth, recipe=replace(RECIPE, **recipe))
    return check(region_lettering(shapes, 10.0), of, wood(0.4, 0.6), lid(grain=grain), KeptMeasures(None))


def codes(found: Fitness) -> list[str]:
    return [p.code for p in found.problems if p.level == "hold"]


def turned(degrees: float) -> list[tuple[str, BaseGeometry]]:
    return [(t, rotate(s, degrees, origin=(0, 0))) for t, s in UPRIGHT]


@pytest.mark.parametrize(
    ("degrees", "grain", "holds"),
    [(0, "x", True), (0, "y", False), (90, "x", False), (90, "y", True),
     (61, "x", False), (59, "x", True), (119, "x", False), (121, "x", True),
     (29, "y", False), (31, "y", True), (-29, "y", False), (-31, "y", True)],
)  # fmt: skip
def test_a_wall_is_held_against_the_limit_of_its_own_direction(degrees: float, grain: str, holds: bool) -> None:
    found = checked(turned(degrees), grain)
    assert found.web is not None
    assert found.web.width == pytest.approx(WEB, rel=0.01)
    assert codes(found) == (["web-too-thin"] if holds else [])
    if holds:
        (problem,) = [p for p in found.problems if p.level == "hold"]
        assert problem.limit == 0.6
        assert "Across the grain" in problem.says


def test_an_island_has_no_long_fibres_whichever_way_they_run() -> None:
    """A round counter of 0.5 mm is short grain both ways."""
    ring = Point(0, 5).buffer(3, 32).difference(Point(0, 5).buffer(WEB / 2, 32))
    for grain in ("x", "y"):
        found = checked([("o", ring)], grain)
        assert codes(found) == ["web-too-thin"]
        assert "As an island of wood" in next(p.says for p in found.problems if p.level == "hold")


@pytest.mark.parametrize(("grain", "along", "across", "holds"), [("y", 0.51, 0.1, True), ("x", 0.9, 0.49, False)])
def test_the_shops_own_figures_come_before_the_woods(grain: str, along: float, across: float, holds: bool) -> None:
    """As a test piece gave them for this cutter in this wood."""
    assert bool(codes(checked(UPRIGHT, grain, web_along=along, web_across=across))) == holds


@pytest.mark.parametrize(("depth", "holds"), [(0.99, False), (1.01, True)])
def test_a_wall_is_never_under_half_its_height(depth: float, holds: bool) -> None:
    assert codes(checked(UPRIGHT, "y", depth=depth)) == (["web-under-depth"] if holds else [])
