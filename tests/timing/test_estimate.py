"""What a toolpath's seconds are made of, and what they are when read back from its file."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from toolpath.workbench import (
    LINES,
    METHODS,
    bit_tool,
    lettering,
)

from engrave.motion.machine_limits import limits_of
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.timing import Estimate, estimate_time
from engrave.timing.estimate import seconds_by_part
from engrave.toolpath import course_of_file, toolpath_of


def _timed(letters: Lettering, tool: Tool) -> Estimate:
    return estimate_time(toolpath_of(letters, tool), tool)


@pytest.mark.parametrize("name", METHODS)
def test_parts_add_up_and_no_figure_is_mad(name: str) -> None:
    letters, tool = METHODS[name]
    toolpath = toolpath_of(letters, tool)
    estimate = estimate_time(toolpath, tool)
    assert math.fsum(s for _, s in estimate.parts) == pytest.approx(estimate.seconds, rel=1e-12)
    assert all(s > 0 for _, s in estimate.parts)
    assert estimate.naive_seconds < estimate.seconds
    assert estimate.seconds_range[0] < estimate.seconds < estimate.seconds_range[1]
    assert toolpath.course.cut_mm > 0
    assert estimate.air_saved >= -1e-6
    assert toolpath.strokes
    again = toolpath_of(letters, tool)
    assert (again, _timed(letters, tool)) == (toolpath, estimate)  # the same input, the same toolpath and seconds
    assert (again.course.moves.steps == toolpath.course.moves.steps).all()


@pytest.mark.parametrize("name", METHODS)
def test_no_words_take_no_time(name: str) -> None:
    letters, tool = METHODS[name]
    nothing = lettering(letters.kind, [])
    toolpath = toolpath_of(nothing, tool)
    assert toolpath.strokes == ()
    assert toolpath.course.starts == 0
    assert estimate_time(toolpath, tool).seconds == 0.0


def test_dwell_is_a_stop_at_the_bottom_of_each_plunge() -> None:
    plain, dwelling = _timed(LINES, bit_tool()), _timed(LINES, bit_tool(dwell_s=0.25))
    assert dict(dwelling.parts)["dwell"] == pytest.approx(0.25 * 36)  # 18 strokes, two depths each
    assert dwelling.seconds > plain.seconds + 9.0  # the stop itself costs a little more


def test_what_a_machine_has_learned_is_in_the_estimate() -> None:
    tool = bit_tool()
    plain = _timed(LINES, tool)
    slow = replace(tool, machine=replace(tool.machine, stroke_s=0.2, fixed_s=7.0, scale=1.1))
    assert _timed(LINES, slow).seconds == pytest.approx(1.1 * (plain.seconds + 18 * 0.2 + 7.0))


def test_where_the_machine_s_own_program_plans_the_range_is_wider() -> None:
    share = {
        n: _timed(*METHODS[n]).seconds_range[1] / _timed(*METHODS[n]).seconds - 1
        for n in ("follow", "raster", "pocket")
    }
    assert share["follow"] == pytest.approx(0.05)
    assert share["follow"] < share["raster"] < share["pocket"]


def test_what_ordering_saves_is_measured_against_the_typeface_s_order() -> None:
    scattered = lettering("single-line", [LINES.marks[i].glyph.path for i in (0, 5, 1, 4, 2, 3)])
    assert _timed(scattered, bit_tool()).air_saved > _timed(LINES, bit_tool()).air_saved > 0


@pytest.mark.parametrize("name", METHODS)
def test_a_file_read_back_takes_as_long_as_it_was_reckoned(name: str) -> None:
    letters, tool = METHODS[name]
    toolpath = toolpath_of(letters, tool)
    estimate = estimate_time(toolpath, tool)
    again = course_of_file([toolpath.strokes], letters.kind, letters.groove, tool)
    seconds = sum(seconds_by_part([again], limits_of(tool.machine))[0].values())
    assert seconds == pytest.approx(estimate.seconds, rel=2e-3)
