"""Narrow places with answers from plain geometry: ends, corners, mouths in the open, ties, and gaps between letters."""

from __future__ import annotations

import math

import pytest
from shapely import Polygon, affinity, box, union_all
from shapely.geometry.base import BaseGeometry
from workbench import lid, outline, region_lettering, tool, wood

from engrave.cutting import Measures, check, limits
from engrave.cutting.measure import measure_region
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
    least = limits.RUN - gap * math.tan(limits.WEB_TILT / 2.0)
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
    assert found == pytest.approx(2 * (radius + limits.RUN * math.sin(math.radians(taper))), rel=0.005)


def test_a_gap_is_found_whatever_decimals_its_letters_stand_at() -> None:
    """The nearest neighbours of a line are looked for at their own distance: rounding must not hide them all."""
    bar = Glyph("test/bar/0", "outline", outline(box(0.0, 0.0, 0.1, 1.0)), 0.2)
    for k in range(60):
        apart = 0.25 + k / 137.0 * math.pi
        marks = tuple(Mark(bar, (10.0, 0.0, 0.0, -10.0, n * apart * 10.0, 0.0), "l", 0) for n in range(3))
        laid = Lettering("outline", "stack", marks, (Line("lll", "name", 10.0, 0.0, 0.0),), 0.0)
        found = check(laid, tool(0.01), wood(0.01, 0.01), lid(), Measures(None))
        assert found.web is not None
        assert found.web.width == pytest.approx(10.0 * (apart - 0.1), abs=1e-4)


def test_arabic_digits_have_gaps() -> None:
    """Separate digits of Noto Naskh Arabic, none of which has a web of its own."""
    placed = load_shelf(None).get("noto-naskh-arabic").shape("١٢٣").placed
    marks = tuple(Mark(p.glyph, (10.0, 0.0, 0.0, -10.0, 10 * p.x, -10 * p.y), p.text, 0) for p in placed)
    laid = Lettering("outline", "stack", marks, (Line("١٢٣", "name", 10.0, 0.0, 0.0),), 0.0)
    assert check(laid, tool(0.01), wood(0.01, 0.01), lid(), Measures(None)).web is not None


def test_strokes_that_touch_in_the_drawing_touch_in_the_measure() -> None:
    """A capital of Great Vibes whose flourish only just meets its bow: chords must not open a crack of a micron."""
    (placed,) = load_shelf(None).get("great-vibes").shape("G").placed
    marks = (Mark(placed.glyph, (10.0, 0.0, 0.0, -10.0, 0.0, 0.0), "G", 0),)
    laid = Lettering("outline", "stack", marks, (Line("G", "name", 10.0, 0.0, 0.0),), 0.0)
    found = check(laid, tool(0.01), wood(0.01, 0.01), lid(), Measures(None)).web
    assert found is not None
    assert found.width > 0.1


def test_of_equal_places_the_first_that_is_read_is_named() -> None:
    bars = [("a", box(8.0, 0.0, 8.8, 10.0)), ("b", box(0.0, 0.0, 0.8 + 1e-7, 10.0)), ("c", box(4.0, 0.0, 4.8, 10.0))]
    found = check(region_lettering(bars, 10.0), tool(0.01), wood(), lid(), Measures(None))
    assert found.stroke is not None
    assert found.stroke.text == "a"
    assert found.web is not None
    assert found.web.text == "ac"
