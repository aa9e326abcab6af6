"""Lines of points are joined as contours are: by where their ends meet, and which run on most nearly straight."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from engrave.geometry.paths import Contour, Point
from engrave.toolpath.join import joined_lines, joined_strokes

PLACES: list[Point] = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0), (2.0, 1.5), (7.0, 1.0)]

A_LINE = st.lists(st.sampled_from(PLACES), min_size=2, max_size=4).filter(
    lambda points: all(p != q for p, q in zip(points, points[1:], strict=False))
)


@given(st.lists(A_LINE, min_size=1, max_size=8))
def test_lines_are_joined_as_contours_are(lines: list[list[Point]]) -> None:
    contours = [Contour(points[0], tuple((p,) for p in points[1:]), False) for points in lines]
    expected = [[c.start, *(s[-1] for s in c.segments)] for c in joined_strokes(contours)]
    deep = [np.array([(x, y, -0.1) for x, y in points]) for points in lines]
    found = joined_lines(deep)
    assert [[(x, y) for x, y, _ in line.tolist()] for line in found] == expected
    assert all((line[:, 2] == -0.1).all() for line in found)


def test_a_single_line_stays_as_it_is() -> None:
    ring = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 0.004)])
    (found,) = joined_lines([ring])
    assert found.tolist() == ring.tolist()
