"""Rows of real regions, and the sweeps through them."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.geometry.flattening import flatten, flatten_all
from engrave.geometry.regions import region
from engrave.motion.planner import PARTS
from engrave.toolpath.raster import Rows, Sweep, raster_course, rows_of
from toolpath.workbench import (
    RINGS,
    box,
    joined_rows,
)


@pytest.mark.source("GEOS, rows cut through the region")
def test_rows_are_those_of_the_region() -> None:
    """Against shapely's intersection of each row with the region."""
    letters = (*RINGS.marks[0].path(), box(6, 3, 9, 2))  # a bar that overlaps the ring: burnt once
    solid = region(letters[:2], 0.01).union(shapely.box(6, 3, 15, 5))
    rows = rows_of(flatten_all(letters), 0.13)
    for i, y in enumerate(rows.y):
        cut = solid.intersection(shapely.LineString([(-5, y), (25, y)]))
        ours = rows.spans[rows.spans[:, 0] == i]
        assert (ours[:, 2] - ours[:, 1]).sum() == pytest.approx(cut.length, abs=2e-3)


def test_rows_cover_the_height_and_no_more() -> None:
    rows = rows_of([flatten(box(0, 0, 5, 1), 0.01)], 0.1)
    assert rows.y == pytest.approx(np.arange(0.05, 1.0, 0.1))
    assert len(rows_of([flatten(box(0, 0, 5, 1.03), 0.01)], 0.1).y) == 11
    assert len(rows_of([], 0.1).y) == 0


@settings(max_examples=40, deadline=None)
@given(st.floats(0.05, 0.7), st.floats(0.0, 6.3))
def test_marked_length_times_pitch_is_the_area(pitch: float, turn: float) -> None:
    """Cavalieri: the rows' marks times the pitch come to the area, ever nearer with finer rows."""
    c, s = math.cos(turn), math.sin(turn)
    turned = np.array([[0, 0], [12, 0], [12, 4], [3, 4], [3, 9], [0, 9], [0, 0]]) @ [[c, s], [-s, c]]
    rows = rows_of([turned], pitch)
    area = 12 * 4 + 3 * 5
    assert (rows.spans[:, 2] - rows.spans[:, 1]).sum() * pitch == pytest.approx(area, abs=16 * pitch)


def _rows() -> Rows:
    return joined_rows([0.1, 0.2, 0.3], [[[0, 2], [30, 32]], [], [[10, 12]]])


def test_ways_to_sweep_a_row() -> None:
    def swept(**how: object) -> tuple[int, float, float]:
        course = raster_course(_rows(), Sweep(100.0, 1.0, **how), (0.0, 0.0), False)  # type: ignore[arg-type]
        return course.starts, course.length_of("cut"), course.length_of("travel")

    assert swept()[:2] == (2, pytest.approx(34 + 4))
    assert swept(trimmed=False)[:2] == (2, pytest.approx(2 * 34))
    assert swept(skip_blank=False)[:2] == (3, pytest.approx(34 + 34 + 4))
    across = swept(blank_rapid=5.0)
    assert across[1] == pytest.approx(6 + 4)
    assert across[2] > 28  # the blank, and the way from the start
    assert swept(blank_rapid=28.5)[1] == swept()[1]


def test_one_way_sweeps_all_run_to_the_right() -> None:
    course = raster_course(_rows(), Sweep(100.0, 1.0, both_ways=False), (0.0, 0.0), False)
    cut = course.moves.part == PARTS.index("cut")
    assert (course.moves.steps[cut, 0] > 0).all()
    both = raster_course(_rows(), Sweep(100.0, 1.0), (0.0, 0.0), False)
    assert (both.moves.steps[both.moves.part == PARTS.index("cut"), 0] > 0).tolist() == [True, False]
