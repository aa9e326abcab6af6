"""How a bit goes down, through its passes and up again."""

from __future__ import annotations

import numpy as np
import pytest

from engrave.motion.planner import LIFT, PLUNGE
from engrave.toolpath import toolpath_of
from engrave.toolpath.moves import equal_depths, passes_for, there_and_back
from toolpath.workbench import (
    LINES,
    bit_tool,
    lettering,
    stroke,
)


def test_open_strokes_go_there_and_back_and_rings_round() -> None:
    course = toolpath_of(lettering("single-line", [(stroke((0, 0), (9, 0)),)]), bit_tool()).course
    plunges = course.moves.steps[course.moves.part == PLUNGE]
    assert plunges[:, 2] == pytest.approx([-1.4, -0.4])  # approach 1 mm to the first 0.4, then 0.4 more at the far end
    assert course.moves.steps[:, :2].sum(axis=0) == pytest.approx([0, 0])  # and home
    line = np.array([[0.0, 0.0, -0.4], [5.0, 0.0, -0.4]])
    assert there_and_back([line, line])[1][0] == pytest.approx(line[-1])


def test_the_bit_goes_down_to_each_depth_and_up_again() -> None:
    course = toolpath_of(LINES, bit_tool(depth=1.2)).course
    height = 4.0 + np.cumsum(course.moves.steps[:, 2])
    assert height.min() == pytest.approx(-1.2)
    assert height[-1] == pytest.approx(4.0)
    ends = np.flatnonzero(course.moves.part == LIFT)
    assert set(np.round(height[ends], 6)) == {1.0, 4.0}


@pytest.mark.parametrize(("depth", "bite", "count"), [(0.9, 0.3, 3), (0.9, 0.29, 4), (0.5, 1.0, 1), (0.5, 0.0, 1)])
def test_passes_are_equal_and_none_too_deep(depth: float, bite: float, count: int) -> None:
    depths = equal_depths(depth, bite)
    assert len(depths) == passes_for(depth, bite) == count
    assert depths[-1] == pytest.approx(depth)
    assert np.diff((0.0, *depths)) == pytest.approx(depth / count)
