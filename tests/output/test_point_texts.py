"""Many points written at once, held against Python's own rounding of each number."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from engrave.output.numbers import plain
from engrave.output.point_texts import points_told

NUMBERS = st.floats(-2000.0, 2000.0) | st.integers(-40000, 40000).map(lambda k: k / 20000.0)
POINTS = st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=6)
HALVES = [(0.5, 0.0625), (0.0005, 0.00005), (1.00015, -0.0), (2.5, -0.00004)]
"""Numbers halfway between two that can be written, some of them exactly so, some by a hair less or more."""


@given(POINTS, st.integers(1, 4))
@example(HALVES, 1)
@example(HALVES, 3)
@example(HALVES, 4)
@example([(999.9999, 1000.0)], 4)
@example([(1e300, -1e300)], 3)
def test_each_number_is_written_as_by_itself(points: list[tuple[float, float]], decimals: int) -> None:
    told = points_told(np.array(points), decimals, b"/", b",", trimmed=True)
    assert told == "".join(f"/{plain(x, decimals)},{plain(y, decimals)}" for x, y in points)


@given(POINTS)
@example([(-0.0001, 10.0), (0.0, -20.0004)])
def test_all_decimals_are_written_where_they_are_asked_for_but_those_of_a_zero(
    points: list[tuple[float, float]],
) -> None:
    told = points_told(np.array(points), 3, b" ", b",", trimmed=False)
    apart = [[f"{v:.3f}" for v in point] for point in points]
    assert told == "".join(f" {x if float(x) else '0'},{y if float(y) else '0'}" for x, y in apart)


@pytest.mark.parametrize("far", [0.0, 1234.5])
def test_what_stands_before_each_point_may_differ(far: float) -> None:
    points = np.array([(1.0, 2.25), (far, 3.5)])
    told = points_told(points, 4, np.array([b"\nM ", b" L "]), b" ", trimmed=True)
    assert told == f"\nM 1 2.25 L {plain(far)} 3.5"
