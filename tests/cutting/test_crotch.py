"""How far sharp crotches fill: wedges of known angle, the tool and the wood, and when it is worth a word."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box, get_coordinates
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from cutting.workbench import lettering, lid, region_lettering, tool, wood
from engrave.cutting import KeptMeasures, check
from engrave.cutting.measure.components import glyph_shape
from engrave.cutting.measure.crotch import Crotch, filled_at
from engrave.cutting.measure.glyphs import measure_lines, measure_region
from engrave.geometry.paths import polygon_path
from engrave.geometry.regions import centre_lines
from engrave.problems import Problem
from engrave.tasks import Tool
from engrave.typefaces import load_shelf

TIP = (0.5, 0.1)


def notched(degrees: float, floor: float = 0.0) -> BaseGeometry:
    """A block a cap height tall with a wedge of wood cut into it from above, sharp or with a floor."""
    slope, (x, y) = math.tan(math.radians(degrees / 2.0)), TIP
    wedge = Polygon(
        [(x - floor / 2, y), (x + floor / 2, y), (x + floor / 2 + slope, 1 + y), (x - floor / 2 - slope, 1 + y)]
    )
    return box(-0.8, 0.0, 1.8, 1.0).difference(wedge)


def length_at(shape: BaseGeometry, width: float) -> float:
    found = filled_at(measure_region(shape).crotches, width)
    return found.length if found else 0.0


@settings(max_examples=25, deadline=None)
@given(st.floats(13.0, 78.0), st.floats(0.03, 0.17), st.floats(0.0, 360.0))
def test_a_wedge_fills_as_trigonometry_has_it(degrees: float, width: float, turn: float) -> None:
    """Straight sides A apart are g from each other at g/2 cot(A/2) from where they meet."""
    shape = rotate(notched(degrees), turn, origin=(0, 0))
    expected = width / 2.0 / math.tan(math.radians(degrees / 2.0))
    found = filled_at(measure_region(shape).crotches, width)
    if expected > 0.8:  # the block ends before
        return
    assert found is not None
    assert found.length == pytest.approx(expected, rel=0.03, abs=0.008)
    x, y = rotate(translate(box(0, 0, 0, 0).centroid, *TIP), turn, origin=(0, 0)).coords[0]
    assert math.dist((found.x, found.y), (x, y)) < 0.01


@pytest.mark.parametrize("degrees", [8.0, 82.0])
def test_what_hardly_tapers_is_a_web_and_what_is_blunt_a_corner(degrees: float) -> None:
    assert measure_region(notched(degrees)).crotches == ()


def test_a_floor_as_drawn_is_no_tip() -> None:
    """A bay with a floor is as wide at its end as it was drawn: only what needs three times that fills from there."""
    shape = notched(30.0, floor=0.06)
    assert length_at(shape, 0.12) == 0.0
    assert measure_region(box(0, 0, 0.3, 1).union(box(0.4, 0, 0.7, 1)).union(box(0, 0, 0.7, 0.2))).crotches == ()


def test_between_the_widths_measured_it_grows_evenly() -> None:
    rows = (Crotch(0.02, 0.1, 1.0, 1.0, 0.5), Crotch(0.04, 0.3, 2.0, 2.0, 0.6))
    lengths = [found.length for w in (0.01, 0.02, 0.03, 0.04, 0.5) if (found := filled_at(rows, w))]
    assert lengths == pytest.approx([0.05, 0.1, 0.2, 0.3, 0.3])
    assert filled_at(rows, 0.0) is None
    assert filled_at((), 0.1) is None


def told(shape: BaseGeometry, of: Tool, cap: float, web: float) -> Problem | None:
    scaled = [("M", translate(shape, 0, 0))]
    laid = region_lettering(scaled, cap, "M")
    problems = check(laid, of, wood(web, web), lid(), KeptMeasures(None)).problems
    assert all(p.code == "crotch-fills" and p.level == "note" for p in problems)
    return problems[0] if problems else None


BIT, BEAM = tool(0.2), tool(0.2, "raster", "beam", depth=0.5, kerf_x=0.2)


@pytest.mark.parametrize(
    ("of", "cap", "needs"),
    [
        (BIT, 8.0, 0.5),  # a bit leaves the wedge as drawn: thinner than 0.5 mm it crumbles
        (BEAM, 8.0, 0.6 * 0.5 + 0.2),  # a beam's mark closes it first, and its shallow mark asks for 0.6 of that
        (BIT, 6.0, 0.5),
        (BIT, 16.0, None),  # under a tenth of the letter's height
    ],
)
def test_it_is_told_by_tool_wood_and_size(of: Tool, cap: float, needs: float | None) -> None:
    shape = rotate(notched(30.0), 0.0)
    letter = Polygon([(x * cap, y * cap) for x, y in shape.exterior.coords])
    found = told(letter, of, cap, 0.5)
    if needs is None:
        assert found is None
        return
    assert found is not None
    assert found.value == pytest.approx(needs / 2.0 / math.tan(math.radians(15.0)), rel=0.03)
    assert found.limit == pytest.approx(0.1 * cap)
    assert found.where == "'M'"
    assert f"fills {found.value:.2f} mm from its tip" in found.says


def test_single_lines_fill_beyond_their_own_groove() -> None:
    """A V of 30 degrees, 10 mm high, in a groove of 0.3 mm: what the groove itself covers belongs to the letter."""
    slope = 10.0 * math.tan(math.radians(15.0))
    strokes = polygon_path([(-slope, 10.0), (0.0, 0.0), (slope, 10.0)], closed=False)
    laid = lettering([("V", (strokes,))], 10.0, kind="single-line", groove=0.8)
    problems = check(laid, tool(0.8, "follow"), wood(0.7, 0.7), lid(), KeptMeasures(None)).problems
    (found,) = [p for p in problems if p.code == "crotch-fills"]
    assert found.value == pytest.approx(0.7 / 2.0 / math.tan(math.radians(15.0)), rel=0.03)


def test_one_note_a_piece_and_none_where_a_web_holds_it() -> None:
    letter = Polygon([(8 * x, 8 * y) for x, y in notched(30.0).exterior.coords])
    three = [("M", translate(letter, 30.0 * k)) for k in range(3)]
    codes = [
        p.code for p in check(region_lettering(three, 8.0), BIT, wood(0.5, 0.5), lid(), KeptMeasures(None)).problems
    ]
    assert codes == ["crotch-fills"]
    near = [("M", letter), ("I", box(14.6, 0, 16, 8))]
    codes = [
        p.code for p in check(region_lettering(near, 8.0), BIT, wood(0.5, 0.5), lid(), KeptMeasures(None)).problems
    ]
    assert codes == ["web-too-thin"]


@pytest.mark.parametrize("typeface", ["noto-sans", "withy"])
@pytest.mark.parametrize(
    ("letter", "most"), [("M", True), ("N", True), ("W", True), ("v", True), ("o", False), ("I", False)]
)
def test_on_letters_it_is_the_pointed_ones(typeface: str, letter: str, most: bool) -> None:
    (placed,) = load_shelf(None).get(typeface).shape(letter).placed
    if placed.glyph.kind == "outline":
        found = measure_region(glyph_shape(placed.glyph, False)).crotches
    else:
        lines = centre_lines(placed.glyph.path, 0.0004)
        found = measure_lines([get_coordinates(line) for line in lines.geoms]).crotches
    assert bool(found) == most
