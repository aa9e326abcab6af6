"""Along the lines: a bit or a beam that follows strokes in the order in which they stand."""

from __future__ import annotations

from engrave.geometry.arrays import Floats
from engrave.geometry.flattening import flatten_all
from engrave.geometry.paths import Path
from engrave.tasks import Tool
from engrave.toolpath.moves import (
    Course,
    Toolpath,
    at_depths,
    beam_course,
    bit_course,
    bit_of,
    equal_depths,
    passes_for,
    there_and_back,
)
from engrave.toolpath.strokes import HeadRoute, corner_of, in_order
from engrave.typefaces.run import TypefaceKind


def follow_toolpath(drawn: Path, kind: TypefaceKind, tool: Tool, route: HeadRoute) -> Toolpath:
    """Return the toolpath along a lettering's contours, in the order of least travel."""
    strokes = in_order(drawn, kind, route, tool.recipe.by == "stroke" and _passes(tool) % 2 == 0)
    course, passes = along_strokes(strokes, tool, route.start)
    return Toolpath(drawn, strokes, course, passes)


def along_strokes(strokes: Path, tool: Tool, start: tuple[float, float]) -> tuple[Course, int]:
    """Return the course along strokes in the order given, such as what was read back from a file, and its passes."""
    return along_lines(flatten_all(strokes), tool, start)


def along_lines(lines: list[Floats], tool: Tool, start: tuple[float, float]) -> tuple[Course, int]:
    """Return the course along lines (n, 2) in the order given, and its passes."""
    passes = _passes(tool)
    home = tool.machine.return_home
    if tool.cutter.is_beam:
        delay = tool.machine.beam_delay_s if tool.machine.beam_sync == "stop" else None
        course = beam_course(_repeated(lines, passes, tool.recipe.by), tool.recipe.feed, start, home, delay)
    else:
        depths = equal_depths(tool.depth, tool.recipe.pass_depth)
        course = bit_course(at_depths(lines, depths, tool.recipe.by), bit_of(tool), start, home)
    return course, passes


def course_as_drawn(drawn: Path, tool: Tool) -> Course:
    """Return the course as the typeface gives the strokes: what ordering is measured against."""
    lines = flatten_all(drawn)
    course, _ = along_lines(lines, tool, corner_of(lines, tool.machine.datum))
    return course


def _passes(tool: Tool) -> int:
    if tool.cutter.is_beam:
        return max(1, tool.recipe.passes)
    return passes_for(tool.depth, tool.recipe.pass_depth)


def _repeated(lines: list[Floats], passes: int, by: str) -> list[Floats]:
    if by == "pass":
        return lines * passes
    return [line for one in lines for line in there_and_back([one] * passes)]
