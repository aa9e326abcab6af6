"""Narrow places with answers from plain geometry: ends, corners, mouths in the open, ties, and gaps between letters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon, affinity, box, union_all
from shapely.geometry.base import BaseGeometry

from cutting.workbench import lid, outline, region_lettering, tool, wood
from engrave.cutting import KeptMeasures, check, criteria
from engrave.cutting.measure.glyphs import measure_lines, measure_region
from engrave.geometry import medial_graph
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.typefaces import load_shelf
from engrave.typefaces.run import Glyph


def staple(gap: float, facing: float) -> BaseGeometry:
    """Two serifs that face each other in the open, `facing` high, hung from a bow far above."""
    bow = box(-0.6, 0.9, 0.6, 1.0)
    posts = [box(side - 0.05, 0.0, side + 0.05, 1.0) for side in (-0.55, 0.55)]
    serifs = [box(-0.6, 0.0, -gap / 2, facing), box(gap / 2, 0.0, 0.6, facing)]
    return union_all([bow, *posts, *serifs])


@pytest.mark.parametrize("gap", [0.08, 0.12, 0.2])
def test_serifs_face_each_other_as_long_as_their_feet_do(gap: float) -> None:
    """Beyond their ends the feet are the corners, opposite within the angle for half the gap times its half's tangent.

    So a web of serifs counts from a facing length of RUN less gap x tan(half the angle) on, whatever the sampling.
    """
    least = criteria.LEAST_RUN - gap * math.tan(criteria.WEB_TILT / 2.0)
    assert measure_region(staple(gap, least + 0.001)).web == pytest.approx(gap, rel=0.01)
    short = measure_region(staple(gap, least - 0.002)).web
    assert short is None or short > 1.5 * gap


@pytest.mark.parametrize("turn", [0.0, 17.0, 45.0])
@pytest.mark.parametrize("taper", [4.0, 8.0, 11.0])
def test_a_tapered_stroke_is_measured_at_its_run(taper: float, turn: float) -> None:
    """A stroke from 0.1 up, its sides opening by `taper` degrees each: the width RUN beyond its end, to 0.5 %.

    Along the axis a circle's diameter grows by twice the sine of the taper (exact).
    """
    slope = math.tan(math.radians(taper))
    shape = Polygon([(0, 0.05), (1.2, 0.05 + 1.2 * slope), (1.2, -0.05 - 1.2 * slope), (0, -0.05)])
    # the first circle that touches both sides, not the end: as far from the end as its radius
    found = measure_region(affinity.rotate(shape, turn, origin=(0, 0))).stroke
    radius = (0.05 + slope * 0.0) * math.cos(math.radians(taper)) / (1.0 - math.sin(math.radians(taper)))
    assert found == pytest.approx(2 * (radius + criteria.LEAST_RUN * math.sin(math.radians(taper))), rel=0.005)


def test_a_gap_is_found_whatever_decimals_its_letters_stand_at() -> None:
    """The nearest neighbours of a line are looked for at their own distance: rounding must not hide them all."""
    bar = Glyph("test/bar/0", "outline", outline(box(0.0, 0.0, 0.1, 1.0)), 0.2)
    for k in range(60):
        apart = 0.25 + k / 137.0 * math.pi
        marks = tuple(Mark(bar, (10.0, 0.0, 0.0, -10.0, n * apart * 10.0, 0.0), "l", 0) for n in range(3))
        laid = Lettering("outline", "stack", marks, (Line("lll", "name", 10.0, 0.0, 0.0),), 0.0)
        found = check(laid, tool(0.01), wood(0.01, 0.01), lid(), KeptMeasures(None))
        assert found.web is not None
        assert found.web.width == pytest.approx(10.0 * (apart - 0.1), abs=1e-4)


def test_arabic_digits_have_gaps() -> None:
    """Separate digits of Noto Naskh Arabic, none of which has a web of its own."""
    placed = load_shelf(None).get("noto-naskh-arabic").shape("١٢٣").placed
    marks = tuple(Mark(p.glyph, (10.0, 0.0, 0.0, -10.0, 10 * p.x, -10 * p.y), p.text, 0) for p in placed)
    laid = Lettering("outline", "stack", marks, (Line("١٢٣", "name", 10.0, 0.0, 0.0),), 0.0)
    assert check(laid, tool(0.01), wood(0.01, 0.01), lid(), KeptMeasures(None)).web is not None


def test_strokes_that_touch_in_the_drawing_touch_in_the_measure() -> None:
    """A capital of Great Vibes whose flourish only just meets its bow: chords must not open a crack of a micron."""
    (placed,) = load_shelf(None).get("great-vibes").shape("G").placed
    marks = (Mark(placed.glyph, (10.0, 0.0, 0.0, -10.0, 0.0, 0.0), "G", 0),)
    laid = Lettering("outline", "stack", marks, (Line("G", "name", 10.0, 0.0, 0.0),), 0.0)
    found = check(laid, tool(0.01), wood(0.01, 0.01), lid(), KeptMeasures(None)).web
    assert found is not None
    assert found.width > 0.1


def test_of_equal_places_the_first_that_is_read_is_named() -> None:
    bars = [("a", box(8.0, 0.0, 8.8, 10.0)), ("b", box(0.0, 0.0, 0.8 + 1e-7, 10.0)), ("c", box(4.0, 0.0, 4.8, 10.0))]
    found = check(region_lettering(bars, 10.0), tool(0.01), wood(), lid(), KeptMeasures(None))
    assert found.stroke is not None
    assert found.stroke.text == "a"
    assert found.web is not None
    assert found.web.text == "ac"


@pytest.mark.parametrize(("x", "y"), [(1e6, -1e6), (3e4, 7e5)])
def test_far_from_the_origin_widths_are_the_same(x: float, y: float) -> None:
    shape = union_all([box(0.0, 0.0, 0.2, 1.0), box(0.0, 0.4, 0.8, 0.55)])
    assert measure_region(affinity.translate(shape, x, y)).stroke == pytest.approx(0.15, rel=1e-3)


def test_a_shape_of_no_sensible_size_is_measured_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shape a thousand cap heights high has as many samples as can be worked on, and no more."""
    monkeypatch.setattr(medial_graph, "MOST_SAMPLES", 3000)
    assert measure_region(box(0.0, 0.0, 100.0, 1000.0)).stroke == pytest.approx(100.0, rel=0.01)


@pytest.mark.parametrize(
    "ring",
    [
        [(0, 0), (0, 0), (1, 0), (1, 0), (1, 1), (1, 1), (0, 1)],
        [(0, 0), (1, 0), (0, 0), (0, 0)],
        [(0, 0), (1, 0), (1, 1e-9)],
        [(0, 0), (1, 1), (1, 0), (0, 1)],
        [(0, 0), (2, 0), (1, 1), (2, 2), (0, 2), (1, 1)],
    ],
    ids=["points twice", "no area", "sliver", "crossing itself", "touching itself"],
)
def test_odd_outlines_give_figures_or_nothing(ring: list[tuple[float, float]]) -> None:
    found = measure_region(Polygon(ring))
    for place in (*found.strokes, *found.parts, *found.webs, *found.counters, *found.specks):
        assert place.width >= 0.0
        assert all(math.isfinite(v) for v in (place.width, place.x, place.y, place.axis or 0.0))


def test_the_mouth_of_a_single_line_c_is_a_corridor() -> None:
    """Two ends face each other over 0.6: feet are opposite within the angle over 0.6 times its half's tangent."""
    turn = [math.radians(a) for a in range(37, 324)]
    bow = np.array([(0.5 * math.cos(a), 0.5 * math.sin(a)) for a in turn])
    mouth = float(np.hypot(*(bow[0] - bow[-1])))
    assert mouth * math.tan(criteria.WEB_TILT / 2.0) > criteria.LEAST_RUN
    found = measure_lines([bow]).web
    assert found == pytest.approx(mouth, rel=0.01)
