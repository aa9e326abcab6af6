"""Wood that grooves enclose: loops as they are cut, whatever the drawing's last digits, and dots that are dots."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage
from shapely import LineString, MultiLineString, Point, contains_xy

from cutting.workbench import lettering, lid, tool, wood
from engrave.cutting import Fitness, KeptMeasures, check
from engrave.cutting.measure.glyphs import measure_lines
from engrave.geometry.paths import Contour, polygon_path, transformed
from engrave.geometry.regions import centre_lines
from engrave.typefaces import Shelf, load_shelf

CAP = 10.0


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return load_shelf()


def letter_a(miss: float) -> tuple[Contour, ...]:
    """An A whose bar ends `miss` cap heights short of both legs; its loop is a triangle with a bar below."""
    legs = polygon_path([(0.0, 0.0), (0.4, 1.0), (0.8, 0.0)], closed=False)
    return legs, polygon_path([(0.16 + miss, 0.4), (0.64 - miss, 0.4)], closed=False)


def cut(shape: tuple[Contour, ...], groove: float, web: float) -> Fitness:
    laid = lettering(
        [("A", transformed(shape, (CAP, 0.0, 0.0, CAP, 0.0, 0.0)))], CAP, kind="single-line", groove=groove
    )
    return check(laid, tool(groove, "follow"), wood(web, web), lid(), KeptMeasures(None))


def inscribed(a: float, b: float, c: float) -> float:
    """The diameter of a triangle's inscribed circle (Heron): its area over a quarter of its sides."""
    s = (a + b + c) / 2.0
    return 2.0 * float(np.sqrt(s * (s - a) * (s - b) * (s - c))) / s


LEG = float(np.hypot(0.24, 0.6))
LOOP = inscribed(LEG, LEG, 0.48)


@pytest.mark.parametrize("miss", [0.0, 1e-17, 1e-9, 0.01, 0.03, 0.057])
def test_a_loop_that_the_groove_closes_is_judged_whatever_the_drawing_misses_by(miss: float) -> None:
    """Stroke ends of drawn typefaces miss each other by 1e-17 to 0.057 cap heights: a groove of 1 mm closes all of it."""
    found = cut(letter_a(miss), groove=1.0, web=CAP * LOOP - 1.0 + 0.3)
    assert [p.code for p in found.problems if p.level == "hold"] == ["web-too-thin"]
    assert found.web is not None
    assert found.web.width == pytest.approx(CAP * LOOP - 1.0, abs=0.05 if miss < 0.02 else 0.35)
    assert not [p for p in cut(letter_a(miss), 1.0, CAP * LOOP - 1.0 - 0.4).problems if p.level == "hold"]


def test_what_the_groove_leaves_open_is_no_loop() -> None:
    """A bar a whole millimetre short of both legs: a groove of 0.5 mm leaves the wood hanging together."""
    (gap,) = {
        loop.closed_by for loop in measure_lines([np.asarray(line.coords) for line in lines_of(letter_a(0.1))]).counters
    }
    away = 0.1 * 0.6 / LEG  # from the bar's end straight to the leg, cap heights
    assert gap == pytest.approx(away, abs=0.002)
    found = cut(letter_a(0.1), groove=0.5, web=0.9)
    assert not [p for p in found.problems if p.level == "hold"]


def lines_of(shape: tuple[Contour, ...]) -> list[LineString]:
    return list(centre_lines(shape, 0.0001).geoms)


def ring(radius: float, x: float = 0.0, y: float = 0.0) -> Contour:
    turn = np.linspace(0.0, 2.0 * np.pi, 33)[:-1]
    return polygon_path([(x + radius * np.cos(t), y + radius * np.sin(t)) for t in turn])


@pytest.mark.parametrize("across", [0.08, 0.106, 0.12])
def test_a_dot_drawn_as_a_small_ring_is_a_dot(across: float) -> None:
    """No thin wood inside a dot, at any size of letter; the ring of a degree sign keeps its wood."""
    stem = polygon_path([(0.0, 0.0), (0.0, 0.7)], closed=False)
    found = cut((stem, ring(across / 2.0, 0.0, 0.95)), groove=0.6, web=0.9)
    assert not [p for p in found.problems if p.level == "hold"]
    degree = cut((stem, ring(0.11, 0.4, 0.95)), groove=0.6, web=1.7)
    assert "web-too-thin" in {p.code for p in degree.problems}


def test_a_small_loop_that_a_stroke_runs_into_is_no_dot() -> None:
    tail = polygon_path([(0.06, 0.0), (0.5, 0.0)], closed=False)
    measure = measure_lines([np.asarray(line.coords) for line in lines_of((ring(0.06), tail))])
    assert measure.counters


def test_no_single_line_typeface_s_dot_is_held_as_thin_wood(shelf: Shelf) -> None:
    for ident in (i for i, kind in shelf.kinds().items() if kind == "single-line"):
        for placed in shelf.get(ident).shape("i.:!?").placed:
            parts = list(centre_lines(placed.glyph.path, 0.0001).geoms)
            small = [p for p in parts if max(p.bounds[2] - p.bounds[0], p.bounds[3] - p.bounds[1]) < 0.13]
            if small and all(p.is_ring for p in small):
                found = measure_lines([np.asarray(line.coords) for line in parts])
                spots = [Point(n.x, n.y) for n in (*found.counters, *found.webs)]
                assert not any(p.convex_hull.contains(s) for p in small for s in spots), (ident, placed.glyph.key)


PIXELS = 80
"""A cap height in pixels: an island's largest circle comes out within two of them."""


def islands(lines: MultiLineString, groove: float) -> list[float]:
    """Diameters of the largest circles in the wood that grooves enclose, in cap heights, by a raster of its own."""
    drawn = lines.buffer(groove / 2.0, quad_segs=16)
    low_x, low_y, high_x, high_y = drawn.bounds
    x = np.arange(low_x - 3 / PIXELS, high_x + 3 / PIXELS, 1 / PIXELS)
    y = np.arange(low_y - 3 / PIXELS, high_y + 3 / PIXELS, 1 / PIXELS)
    grid = np.stack(np.meshgrid(x, y), axis=-1)
    left = ~contains_xy(drawn, grid[..., 0], grid[..., 1])
    away = ndimage.distance_transform_edt(left)
    labels, count = ndimage.label(left)
    outside = labels[0, 0]
    return [2.0 * float(away[labels == k].max()) / PIXELS for k in range(1, count + 1) if k != outside]


@pytest.mark.slow
@pytest.mark.source("scipy.ndimage, distance transform and labels")
@pytest.mark.parametrize("groove", [0.06, 0.1, 0.15])
@pytest.mark.parametrize("ident", ["withy", "ems-nixish", "ems-felix", "hershey-sans", "ems-readability"])
def test_loops_are_those_of_a_raster(shelf: Shelf, ident: str, groove: float) -> None:
    """No island of a raster is missed, and none is told that it has not; the widest circle to two pixels."""
    for letter in "ABDPRabdegoqÆ4689&":
        for placed in shelf.get(ident).shape(letter).placed:
            lines = centre_lines(placed.glyph.path, 0.0001)
            theirs = sorted(w for w in islands(lines, groove) if w > 4 / PIXELS)
            found = measure_lines([np.asarray(line.coords) for line in lines.geoms])
            if any(abs(n.closed_by - groove) < 2 / PIXELS for n in found.counters):
                continue  # a raster cannot tell whether it is closed
            sure = [n.width - groove for n in found.counters if n.closed_by <= groove]
            ours = sorted(w for w in sure if w > 4 / PIXELS)
            assert len(ours) == len(theirs), (letter, ours, theirs)
            assert ours == pytest.approx(theirs, abs=2.5 / PIXELS), letter
