"""Rings that clear all that the bit can reach."""

from __future__ import annotations

import pytest
import shapely

from engrave.geometry.regions import region
from engrave.toolpath import toolpath_of
from engrave.toolpath.pocket import pockets
from toolpath.workbench import (
    RINGS,
    bit_tool,
    box,
    lettering,
)

LETTERS = {
    "ring": region(RINGS.marks[0].path()),
    "square": shapely.box(0, 0, 10, 7),
    "L": shapely.box(0, 0, 3, 12).union(shapely.box(0, 0, 9, 3)),
    "wedge": shapely.Polygon([(0, 0), (12, 0), (0, 5)]),
    "waist": shapely.box(0, 0, 6, 6).union(shapely.box(8, 0, 14, 6)).union(shapely.box(5, 2.5, 9, 3.3)),
}


@pytest.mark.source("GEOS; Serra 1982: what a disc reaches is the opening")
@pytest.mark.parametrize("step", [0.2, 0.5, 0.8, 0.99, 3.0])
@pytest.mark.parametrize("name", LETTERS)
def test_rings_cover_all_that_the_bit_can_reach(name: str, step: float) -> None:
    """The reach of a disc is the opening of the letter (erosion, then dilation); the swept rings must fill it."""
    letter = LETTERS[name]
    found = pockets(letter, 1.0, step)
    lines = [shapely.LineString(r) for p in found for r in p.rings]
    swept = shapely.union_all(shapely.buffer(lines, 0.5))
    reach = letter.buffer(-0.5).buffer(0.5)
    bare = reach.difference(swept).buffer(-0.011)
    assert bare.area < 1e-3
    assert swept.difference(letter.buffer(0.002)).area < 1e-3  # and never beyond the letter
    assert sum(p.cleared_mm2 for p in found) == pytest.approx(reach.area, rel=0.01)


def test_a_letter_too_thin_for_the_bit_is_counted_as_left() -> None:
    thin = lettering("outline", [(box(0, 0, 8, 0.4),)])
    toolpath = toolpath_of(thin, bit_tool("pocket", 0.6))
    facts = dict(toolpath.facts)
    cleared = sum(p.cleared_mm2 for p in pockets(region(thin.marks[0].path()), 0.6, 0.3))
    assert facts["area_mm2"] - cleared == pytest.approx(facts["area_mm2"]) == pytest.approx(3.2)
    assert toolpath.course.starts == 0


def test_pockets_cost_more_than_their_outlines() -> None:
    cleared, followed = toolpath_of(RINGS, bit_tool("pocket", 0.6, step_over=0.25)), toolpath_of(RINGS, bit_tool())
    assert cleared.course.cut_mm > 2 * followed.course.cut_mm
