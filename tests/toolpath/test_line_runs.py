"""Runs of closed lines: begun where they should, and the same of a part whatever else is cut beside it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from engrave.geometry.arrays import Floats
from engrave.toolpath.line_runs import _begun_at, _sides, linked
from engrave.toolpath.moves import SAME_PLACE
from engrave.toolpath.worn_areas import lines_in

SQUARE = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)])
TWICE = np.insert(SQUARE, 2, SQUARE[1] + 1e-8, axis=0)
"""A square with one corner given twice."""


@pytest.mark.parametrize("line", [SQUARE, TWICE, 0.1 * TWICE], ids=["a square", "a corner twice", "a small one"])
@given(along=st.floats(0.0, 1.0) | st.sampled_from([0.0, 0.25, 0.5, 0.75, 1.0, 1e-9, 0.25 - 1e-9, 0.5 + 1e-9]))
def test_a_line_begun_elsewhere_is_the_same_line_without_repeats(line: Floats, along: float) -> None:
    ring = shapely.linestrings(line)
    mm = along * ring.length
    place = shapely.get_coordinates(shapely.line_interpolate_point(ring, mm))[0]
    (sides,) = _sides([line])
    begun = np.concatenate(_begun_at(line, sides, mm, place))
    assert np.array_equal(begun[0], place)
    assert np.hypot(*(begun[-1] - place)) <= SAME_PLACE
    assert (np.hypot(*np.diff(begun, axis=0).T) > SAME_PLACE).all()
    assert shapely.linestrings(begun).length == pytest.approx(ring.length, abs=2 * SAME_PLACE)
    assert shapely.linestrings(begun).hausdorff_distance(ring) <= 2 * SAME_PLACE


def test_a_part_is_cut_the_same_whatever_else_is_cut_beside_it() -> None:
    bar = shapely.LineString([(0.0, 0.0), (5.0, 1.0), (9.0, 0.0)]).buffer(0.6)
    ring = shapely.Point(3.0, 9.0).buffer(2.0).difference(shapely.Point(3.0, 9.0).buffer(0.7))
    dumbbell = shapely.unary_union(
        [
            shapely.LineString([(0.0, 20.0), (6.0, 20.0)]).buffer(0.16),
            *(shapely.Point(x, 20.0).buffer(1.0) for x in (0, 6)),
        ]
    )
    parts, steps = [ring, bar, dumbbell], [0.13, 0.1, 0.12]
    together = linked(lines_in(parts, (0.2, 0.2), steps), 0.2)
    for part, step, runs in zip(parts, steps, together, strict=True):
        (alone,) = linked(lines_in([part], (0.2, 0.2), [step]), 0.2)
        assert len(runs) == len(alone) > 0
        assert all(np.array_equal(one, other) for one, other in zip(runs, alone, strict=True))
    assert len(together[2]) > 1  # its balls are worn apart


def test_the_sides_of_each_line_are_its_own() -> None:
    sides = _sides([SQUARE, 0.5 * SQUARE[:3], SQUARE])
    assert [s.tolist() for s in sides] == [[4.0] * 4, [2.0] * 2, [4.0] * 4]


def test_nothing_to_fill_is_no_line() -> None:
    assert linked(lines_in([], (0.2, 0.2), []), 0.2) == []
    hair = shapely.LineString([(0.0, 0.0), (9.0, 0.0)]).buffer(0.05)
    assert linked(lines_in([hair], (0.2, 0.2), [0.1]), 0.2) == [[]]
