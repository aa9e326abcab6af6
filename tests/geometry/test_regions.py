"""Regions and centre lines: what a dot leaves, what a hole takes away, which way areas count."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Point

from engrave.geometry.paths import Contour, polygon_path
from engrave.geometry.regions import centre_lines, region, signed_area


def _square(side: float, at: float = 0.0, turned: bool = False) -> Contour:
    corners = [(at, at), (at + side, at), (at + side, at + side), (at, at + side)]
    return polygon_path(corners[::-1] if turned else corners)


def test_a_dot_leaves_the_groove_s_circle_where_it_stands() -> None:
    dot = centre_lines([Contour((3.0, 4.0), (), False)]).buffer(0.5, quad_segs=64)
    assert dot.area == pytest.approx(math.pi * 0.25, rel=1e-3)
    assert dot.centroid.distance(Point(3.0, 4.0)) < 1e-3


def test_a_stroke_of_no_length_is_a_dot() -> None:
    dot = centre_lines([Contour((3.0, 4.0), (((3.0, 4.0),),), False)]).buffer(0.5)
    assert max(abs(b - c) for b, c in zip(dot.bounds, (2.5, 3.5, 3.5, 4.5), strict=True)) < 1e-3


@pytest.mark.parametrize("turned", [False, True])
def test_a_ring_of_the_other_way_is_a_hole(turned: bool) -> None:
    body = region((_square(10.0, turned=turned), _square(4.0, 3.0, turned=not turned)))
    assert body.area == pytest.approx(100.0 - 16.0)
    assert not body.contains(Point(5.0, 5.0))


def test_areas_count_by_their_way_round() -> None:
    square = np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 3.0), (0.0, 3.0), (0.0, 0.0)])
    assert signed_area(square) == pytest.approx(6.0)
    assert signed_area(square[::-1]) == pytest.approx(-6.0)
