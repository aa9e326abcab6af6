"""A beam burns what is drawn, as wide as its mark: what closes, what is burnt wider, what falls between rows."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
import shapely
from shapely import Point, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from cutting.workbench import RECIPE, lettering, lid, region_lettering, tool, wood
from engrave.cutting import Fitness, KeptMeasures, check
from engrave.geometry.paths import polygon_path
from engrave.shop.models import Method
from engrave.tasks import Tool

MARK = (0.12, 0.18)
"""mm along x and y, as a diode's oblong spot burns."""

CAP = 1.0
"""mm: so small that no bar here is a speck of its letter."""

BARS = box(0, 0, 1, 10).union(box(2, 0, 3, 10))
"""Two bars with 1 mm of wood between them, upright."""


def beam(depth: float = 0.1, mark: tuple[float, float] = MARK, method: Method = "raster", **recipe: Any) -> Tool:
    of = replace(RECIPE, **{"row_pitch": 0.05, **recipe})
    return tool(max(mark), method, "beam", depth, recipe=of, kerf_x=mark[0], kerf_y=mark[1])


def burnt(shape: BaseGeometry, of: Tool, web: float = 0.05) -> Fitness:
    return check(region_lettering([("x", shape)], CAP), of, wood(web, web), lid(), KeptMeasures(None))


def codes(fitness: Fitness) -> dict[str, str]:
    return {p.code: p.level for p in fitness.problems}


@pytest.mark.parametrize(("turn", "closes"), [(0.0, 0.12), (90.0, 0.18)])
def test_a_web_closes_by_the_mark_across_it(turn: float, closes: float) -> None:
    """An upright web by the mark's width along x, a lying one by its height; nothing else is thinner than drawn."""
    found = burnt(rotate(BARS, turn, origin=(0, 0)), beam())
    assert found.web is not None
    assert found.web.width == pytest.approx(1.0 - closes, abs=0.003)
    x0, y0, x1, y1 = found.cut.bounds
    assert sorted((x1 - x0, y1 - y0)) == pytest.approx(
        sorted((3 + MARK[0], 10 + MARK[1]) if turn == 0.0 else (3 + MARK[1], 10 + MARK[0])), abs=1e-3
    )
    gap = shapely.distance(*found.cut.geoms)
    assert gap == pytest.approx(found.web.width, abs=0.003)
    assert found.lost.is_empty


def test_a_counter_closes_by_one_mark_and_fills_below_it() -> None:
    """A ring's hole 0.6 mm across keeps 0.4 under a round mark of 0.2; one of 0.2 is gone, and that is a hold."""
    rings = [Point(0, 5).buffer(3, 32).difference(Point(0, 5).buffer(r, 32)) for r in (0.3, 0.3 - 1e-3)]
    left = burnt(rings[0], beam(mark=(0.2, 0.2)))
    assert left.web is not None
    assert left.web.width == pytest.approx(0.4, abs=0.01)
    assert not codes(left)
    assert codes(burnt(rings[1], beam(mark=(0.6, 0.6)))) == {"loop-fills": "hold"}


def test_a_stroke_finer_than_the_mark_is_burnt_wider_and_not_lost() -> None:
    thin = burnt(box(0, 0, 0.1, 10), beam())
    assert codes(thin) == {"burnt-wider": "look"}
    assert thin.lost.is_empty
    x0, _, x1, _ = thin.cut.bounds
    assert x1 - x0 == pytest.approx(0.1 + MARK[0], abs=1e-3)
    assert not codes(burnt(box(0, 0, 0.125, 10), beam()))
    assert codes(burnt(box(0, 0, 10, 0.125), beam())) == {"burnt-wider": "look"}  # the mark is higher than wide


def test_an_inset_outline_is_burnt_true_to_size_and_may_be_lost() -> None:
    """Inset by half of its mark a beam works like a bit of that size: webs stay, fine strokes vanish."""
    whole = burnt(BARS, beam(inset=True))
    assert not codes(whole)
    assert whole.web is not None
    assert whole.web.width == pytest.approx(1.0, abs=1e-3)
    assert whole.cut.area == pytest.approx(BARS.area, rel=0.01)
    assert codes(burnt(box(0, 0, 0.1, 10), beam(inset=True))) == {"stroke-too-thin": "hold"}


@pytest.mark.parametrize(("depth", "web", "fails"), [
    (0.5, 0.9, False), (0.5, 0.58, True),  # 0.6 of 1 mm is asked of a mark up to half a mm deep
    (0.6, 1.01, False), (0.6, 0.99, True),  # a deeper one pushes and heats like a bit: all of it
])  # fmt: skip
def test_a_shallow_beam_needs_less_wood(depth: float, web: float, fails: bool) -> None:
    """Figures common practice, no source: six tenths of what a bit needs."""
    bars = box(0, 0, 1, 10).union(box(1 + web + 0.2, 0, 2 + web + 0.2, 10))
    found = burnt(bars, beam(depth, (0.2, 0.2)), web=1.0)
    assert found.web is not None
    assert found.web.width == pytest.approx(web, abs=1e-3)
    assert codes(found) == ({"web-too-thin": "hold"} if fails else {})
    if fails:
        (problem,) = found.problems
        assert problem.limit == (0.6 if depth <= 0.5 else 1.0)


@pytest.mark.parametrize(
    ("method", "pitch", "told"), [("raster", 0.5, True), ("raster", 0.4, False), ("follow", 0.5, False)]
)
def test_detail_finer_than_the_rows(method: Method, pitch: float, told: bool) -> None:
    found = burnt(box(0, 0, 0.45, 10), beam(method=method, row_pitch=pitch))
    assert codes(found) == ({"finer-than-rows": "look"} if told else {})


def test_a_single_line_is_burnt_as_wide_as_the_mark_in_each_direction() -> None:
    """A square of single lines 1 mm wide: its inside keeps that less the mark, the wider way."""
    square = polygon_path([(0, 0), (1, 0), (1, 1), (0, 1)])
    laid = lettering([("o", (square,))], CAP, kind="single-line", groove=0.18)
    found = check(laid, beam(method="follow"), wood(0.05, 0.05), lid(), KeptMeasures(None))
    assert found.web is not None
    assert found.web.width == pytest.approx(1.0 - 0.18, abs=0.01)
    x0, y0, x1, y1 = found.cut.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((1.12, 1.18), abs=1e-3)


def test_a_test_pieces_mark_stands_before_the_cutters() -> None:
    found = burnt(BARS, beam(mark_x=0.3, mark_y=0.1))
    assert found.web is not None
    assert found.web.width == pytest.approx(0.7, abs=0.003)


@pytest.mark.parametrize(("depth", "pores", "needs"), [
    (0.1, "diffuse", 0.15), (0.1, "ring", 0.25),  # so shallow that all it needs is to show
    (0.25, "diffuse", 0.3), (0.5, "diffuse", 0.6),  # half as deep, half as high a wall
])  # fmt: skip
def test_the_shallower_a_mark_the_less_wood_it_needs(depth: float, pores: str, needs: float) -> None:
    """One minute of arc at half a metre is 0.145 mm (ISO 8596); six tenths of 1 mm at half a mm: common practice."""
    for web in (needs - 0.02, needs + 0.02):
        bars = box(0, 0, 1, 10).union(box(1 + web + 0.2, 0, 2 + web + 0.2, 10))
        of = beam(depth, (0.2, 0.2))
        kind = replace(wood(1.0, 1.0), pores=pores)
        found = check(region_lettering([("x", bars)], CAP), of, kind, lid(), KeptMeasures(None))
        assert codes(found) == ({"web-too-thin": "hold"} if web < needs else {})
        if web < needs:
            (problem,) = found.problems
            assert "charred over" in problem.says
            assert problem.limit == pytest.approx(needs)
