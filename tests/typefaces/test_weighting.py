"""Single lines given a width: the outline of a round pen, small loops kept open."""

from __future__ import annotations

import pytest
from shapely import Polygon, maximum_inscribed_circle
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import centre_lines, polygons, region
from engrave.typefaces import Shelf, weighted

WEIGHTS = (1 / 14, 1 / 10)


def holes(shape: BaseGeometry) -> int:
    """How many holes a region has."""
    return sum(len(p.interiors) for p in polygons(shape))


@pytest.mark.parametrize("face", ["withy", "hershey-sans", "ems-nixish"])
@pytest.mark.parametrize("share", WEIGHTS)
def test_a_letter_is_the_area_of_a_round_pen_along_its_lines(face: str, share: float, shelf: Shelf) -> None:
    drawn, wide = shelf.get(face), weighted(shelf.get(face), share)
    for thin, thick in zip(drawn.shape("HAgnes & 147").placed, wide.shape("HAgnes & 147").placed, strict=True):
        if not thin.glyph.path:
            continue
        pen = centre_lines(thin.glyph.path, 0.0002).buffer(share / 2, quad_segs=48)
        assert region(thick.glyph.path, 0.0002).symmetric_difference(pen).area < 0.004 * pen.area, thin.text
        assert (thin.x, thin.y) == (thick.x, thick.y)


def test_letters_stand_where_they_stood(shelf: Shelf) -> None:
    drawn, wide = shelf.get("withy"), weighted(shelf.get("withy"), 0.1)
    assert wide.shape("Wanda").advance == drawn.shape("Wanda").advance
    assert (wide.kind, wide.x_height, wide.joined) == ("outline", drawn.x_height, False)


def test_a_small_loop_stays_open_and_it_is_said(shelf: Shelf) -> None:
    """The loops of a script's 8 are narrow: a pen of a seventh would fill what it leaves open where it gives way."""
    share = 1 / 10
    run = weighted(shelf.get("hershey-script"), share).shape("1")
    thin = shelf.get("hershey-script").shape("1").placed[0].glyph
    assert [p.code for p in run.problems] == ["weight-gives-way"]
    assert "'1'" in run.problems[0].says
    outline = region(run.placed[0].glyph.path, 0.0002)
    filled = centre_lines(thin.path, 0.0002).buffer(share / 2)
    assert holes(outline) > holes(filled)
    for part in polygons(outline):
        for ring in part.interiors:
            assert 2.0 * maximum_inscribed_circle(Polygon(ring)).length > 0.03


def test_loops_that_are_wide_stay_as_the_pen_leaves_them(shelf: Shelf) -> None:
    run = weighted(shelf.get("withy"), 0.1).shape("aBd8&Å")
    pen = shelf.get("withy").shape("aBd8&Å")
    assert not run.problems
    wide = [holes(region(p.glyph.path, 0.0005)) for p in run.placed]
    assert wide == [holes(centre_lines(p.glyph.path, 0.0005).buffer(0.05)) for p in pen.placed]
    assert all(wide)


def test_a_dot_is_round_and_full(shelf: Shelf) -> None:
    i = region(weighted(shelf.get("withy"), 0.1).shape("i").placed[0].glyph.path, 0.0005)
    dot = min(polygons(i), key=lambda p: p.area)
    assert not dot.interiors
    assert dot.area == pytest.approx(3.14159 / 4 * (dot.bounds[2] - dot.bounds[0]) ** 2, rel=0.01)


def test_letters_with_a_body_and_no_weight_change_nothing(shelf: Shelf) -> None:
    sans, withy = shelf.get("noto-sans"), shelf.get("withy")
    assert weighted(sans, 0.1) is sans
    assert weighted(withy, 0.0) is withy


def test_each_weight_has_glyphs_of_its_own(shelf: Shelf) -> None:
    keys = {weighted(shelf.get("withy"), w).shape("a").placed[0].glyph.key for w in (0.0, *WEIGHTS)}
    assert len(keys) == 3
