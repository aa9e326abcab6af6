"""Curves to chords: within the accuracy asked, at points of the curve, the same alone as among others."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from svgpathtools import CubicBezier, Line, QuadraticBezier

from engrave.geometry.flattening import flatten, flatten_all
from engrave.geometry.paths import Contour

place = st.tuples(st.integers(-3000, 3000), st.integers(-3000, 3000)).map(lambda p: (p[0] / 100, p[1] / 100))
segment = st.one_of(st.tuples(place), st.tuples(place, place), st.tuples(place, place, place))
contour = st.builds(Contour, place, st.lists(segment, max_size=6).map(tuple), st.booleans())

KINDS = {1: Line, 2: QuadraticBezier, 3: CubicBezier}
TIMES = np.linspace(0.0, 1.0, 41)


@pytest.mark.source("svgpathtools, points of Bezier curves")
@given(contour, st.sampled_from([0.1, 0.01, 0.001]))
def test_no_place_of_a_curve_stands_further_off_its_chords_than_asked(drawn: Contour, tolerance: float) -> None:
    """Against another library's evaluation of Bezier curves (svgpathtools)."""
    chords = flatten(drawn, tolerance)
    assert tuple(chords[0]) == drawn.start
    assert tuple(chords[-1]) == (drawn.start if drawn.closed else drawn.end)
    if (chords == chords[0]).all():
        return
    line, at = shapely.LineString(chords), drawn.start
    for piece in drawn.segments:
        curve = KINDS[len(piece)](*(complex(*p) for p in (at, *piece)))
        spots = np.array([curve.point(t) for t in TIMES])
        assert shapely.distance(line, shapely.points(spots.real, spots.imag)).max() <= tolerance * (1 + 1e-6) + 1e-12
        at = piece[-1]


@given(st.lists(contour, max_size=5), st.sampled_from([0.1, 0.01]))
def test_a_contour_has_the_same_chords_alone_as_among_others(drawn: list[Contour], tolerance: float) -> None:
    together = flatten_all(drawn, tolerance)
    assert [line.tolist() for line in together] == [flatten(c, tolerance).tolist() for c in drawn]


def test_a_circle_needs_no_more_chords_than_the_bound_allows() -> None:
    """A quarter circle of four cubics: the bound by its control points, as worked by hand for a radius of 10 mm."""
    k = 10.0 * 4.0 / 3.0 * (np.sqrt(2.0) - 1.0)
    quarter = Contour((10.0, 0.0), (((10.0, k), (k, 10.0), (0.0, 10.0)),), False)
    worst = np.hypot(10.0 - 2 * 10.0 + k, -2 * k + 10.0)  # of both second differences, equal by symmetry
    assert len(flatten(quarter, 0.01)) - 1 == int(np.ceil(np.sqrt(6.0 * worst / 0.08)))
    assert len(flatten(quarter, 0.01)) - 1 == pytest.approx(np.pi / 4 / np.arccos(1 - 0.01 / 10.0), rel=0.35)
