"""A line that keeps its points as an array is the same contour as one of segments."""

from __future__ import annotations

import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.geometry.flattening import flatten_all
from engrave.geometry.paths import Contour, StraightLine, line_path

POINTS = st.lists(st.tuples(st.floats(-99.0, 99.0), st.floats(-99.0, 99.0)), min_size=2, max_size=5)


@given(POINTS)
def test_it_is_the_contour_of_its_points(points: list[tuple[float, float]]) -> None:
    line = line_path(np.array(points))
    same = Contour(points[0], tuple((p,) for p in points[1:]), False)
    assert isinstance(line, StraightLine)
    assert line == same and same == line and hash(line) == hash(same)
    assert (line.start, line.end, line.segments, line.points) == (same.start, same.end, same.segments, same.points)
    assert line.reversed() == same.reversed()
    assert line.transformed((0.0, 2.0, -2.0, 0.0, 1.0, 0.5)) == same.transformed((0.0, 2.0, -2.0, 0.0, 1.0, 0.5))
    for one, other in zip(flatten_all([line, same]), flatten_all([same, line]), strict=True):
        assert np.array_equal(one, other)
    assert pickle.loads(pickle.dumps(line)) == line


def test_another_line_is_not_equal_and_none_is_changed() -> None:
    line = line_path(np.array([(0.0, 0.0), (1.0, 0.0)]))
    assert line != line_path(np.array([(0.0, 0.0), (1.0, 0.5)]))
    assert line != Contour((0.0, 0.0), (((1.0, 0.0),),), True)
    assert line != "a line"
    with pytest.raises(AttributeError):
        line.start = (1.0, 1.0)  # type: ignore[misc]


def test_one_point_is_a_dot() -> None:
    assert line_path(np.array([(1.0, 2.0)])) == Contour((1.0, 2.0), (), False)
