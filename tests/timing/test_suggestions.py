"""What is advised where it saves clearly more than a tenth."""

from __future__ import annotations

from dataclasses import replace

import pytest
from toolpath.workbench import (
    LINES,
    RINGS,
    beam_tool,
    bit_tool,
    machine,
)

from engrave.problems import Problem
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.timing import Estimate, estimate_time, suggest
from engrave.toolpath import toolpath_of


def _timed(letters: Lettering, tool: Tool) -> Estimate:
    return estimate_time(toolpath_of(letters, tool), tool)


def _suggested(letters: Lettering, tool: Tool) -> tuple[Problem, ...]:
    return suggest(letters, tool, toolpath_of(letters, tool), _timed(letters, tool))


def test_by_stroke_saves_lifts_and_says_so() -> None:
    by_stroke, by_pass = bit_tool(), bit_tool(by="pass")
    assert [toolpath_of(LINES, t).course.starts for t in (by_stroke, by_pass)] == [18, 36]
    seconds = _timed(LINES, by_stroke).seconds
    assert seconds < 0.8 * _timed(LINES, by_pass).seconds
    note = next(p for p in _suggested(LINES, by_pass) if p.code == "by-stroke")
    assert note.level == "note"
    assert note.value == pytest.approx(seconds, abs=0.06)
    assert not _suggested(LINES, by_stroke)


def test_a_slower_sweep_that_wins_is_advised() -> None:
    """At 1000 mm/s2 a sweep of 400 mm/s needs 80 mm of run-out at each end: for small letters it is the slow one."""
    laser = machine("laser", vmax=(500.0, 300.0, 20.0), amax=(1000.0, 1000.0, 100.0))
    fast = beam_tool("raster", of=laser, feed=400.0, run_out=80.0, row_pitch=0.2)
    note = next(p for p in _suggested(RINGS, fast) if p.code == "slower-raster")
    assert isinstance(note.value, float)
    assert note.value < 0.8 * _timed(RINGS, fast).seconds
    slower = replace(fast, recipe=replace(fast.recipe, feed=200.0, run_out=20.0))
    assert note.value <= _timed(RINGS, slower).seconds + 0.1


def test_coarser_rows_are_advised_while_they_still_overlap() -> None:
    fine = beam_tool("raster", row_pitch=0.1, run_out=3.0)
    note = next(p for p in _suggested(RINGS, fine) if p.code == "coarser-rows")
    assert note.says.startswith("Rows 0.16 mm apart")
    assert not _suggested(RINGS, beam_tool("raster", row_pitch=0.2, run_out=3.0))


@pytest.mark.parametrize(("plunge", "feed", "advised"), [(1.0, 20.0, True), (400.0, 2.0, False)])
def test_what_saves_less_than_a_tenth_is_not_advised(plunge: float, feed: float, advised: bool) -> None:
    """By stroke is always a little quicker: where lifting and plunging cost hardly anything it is not worth a word."""
    swift = machine(vmax=(50.0, 50.0, 400.0), amax=(400.0, 400.0, 90_000.0))
    by_pass = bit_tool(of=swift, by="pass", plunge=plunge, feed=feed)
    saved = 1.0 - _timed(LINES, bit_tool(of=swift, plunge=plunge, feed=feed)).seconds / _timed(LINES, by_pass).seconds
    assert saved > 0.0
    assert (saved > 0.1) == advised
    assert ("by-stroke" in {p.code for p in _suggested(LINES, by_pass)}) == advised
