"""A piece's course by each method: how a bit or beam is led through a lettering."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from engrave.geometry.flattening import polylines
from engrave.geometry.paths import IDENTITY, Path
from engrave.geometry.regions import centre_lines, polygons, region
from engrave.motion.planner import Floats, limits_of
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.tasks import Tool
from engrave.toolpath.join import joined_strokes
from engrave.toolpath.moves import (
    Bit,
    Course,
    at_depths,
    beam_course,
    bit_course,
    equal_depths,
    passes_for,
    there_and_back,
)
from engrave.toolpath.pocket import Pocket, pocket_chains, pockets
from engrave.toolpath.raster import Sweep, raster_course, rows_of
from engrave.toolpath.stroke_order import best_order, ways_of
from engrave.toolpath.strokes import Way, as_drawn, corner_of, in_order
from engrave.toolpath.vee import vee
from engrave.toolpath.vee_lines import in_order_3d, middle_lines, vee_chains
from engrave.typefaces.run import Glyph, Kind


@dataclass(frozen=True, slots=True)
class Plan:
    """A piece's course with what it was made from: strokes in cutting order, passes, and figures worth telling."""

    course: Course
    strokes: Path
    passes: int
    facts: tuple[tuple[str, float], ...] = ()


def plan_piece(lettering: Lettering, tool: Tool, vee_paths: Sequence[Floats] | None = None) -> Plan:
    """Return the course of a piece by the tool's method, and its strokes in cutting order."""
    drawn = as_drawn(lettering)
    lines = polylines(drawn)
    start = corner_of(lines, tool.machine.datum)
    way = Way(start, tool.machine.return_home, limits_of(tool.machine))
    if tool.method == "follow":
        strokes = in_order(lettering, way, _ends_where_begun(tool))
        return follow_plan(strokes, tool, start)
    strokes = joined_strokes(drawn) if lettering.kind == "single-line" else drawn
    if tool.method == "raster":
        return _raster_plan(strokes, raster_rings(drawn, lines, lettering), tool, start)
    if tool.method == "pocket":
        return _pocket_plan(strokes, lettering, tool, start)
    return _vee_plan(strokes, lettering, tool, way, vee_paths)


def _ends_where_begun(tool: Tool) -> bool:
    return tool.recipe.by == "stroke" and _passes(tool) % 2 == 0


def _passes(tool: Tool) -> int:
    if tool.cutter.is_beam:
        return max(1, tool.recipe.passes)
    return passes_for(tool.depth, tool.recipe.pass_depth)


def follow_plan(strokes: Path, tool: Tool, start: tuple[float, float]) -> Plan:
    """Return the course along strokes in the order given: `Job.strokes`, or what was read back from a piece's file."""
    lines = polylines(strokes)
    passes = _passes(tool)
    home = tool.machine.return_home
    if tool.cutter.is_beam:
        delay = tool.machine.beam_delay_s if tool.machine.beam_sync == "stop" else None
        course = beam_course(_repeated(lines, passes, tool.recipe.by), tool.recipe.feed, start, home, delay)
    else:
        depths = equal_depths(tool.depth, tool.recipe.pass_depth)
        course = bit_course(at_depths(lines, depths, tool.recipe.by), bit_of(tool), start, home)
    return Plan(course, strokes, passes)


def course_of_file(shapes: Sequence[Path], kind: Kind, groove: float, tool: Tool, cap_mm: float = 0.0) -> Course:
    """Return the course of a piece read back from its file: shapes (a stroke, or a ring with its holes) as they stand.

    For learning from logged times: what was cut is what the file says, not what would be set today. cap_mm: how high
    the capitals are, by which a vee-cut's middle lines are sampled.
    """
    if tool.method == "follow":
        strokes = tuple(contour for shape in shapes for contour in shape)
        return follow_plan(strokes, tool, corner_of(polylines(strokes), tool.machine.datum)).course
    marks = tuple(Mark(Glyph(f"file/{i}", kind, shape, 0.0), IDENTITY, "", 0) for i, shape in enumerate(shapes))
    lines = (Line("", "name", cap_mm, 0.0, 0.0),)
    return plan_piece(Lettering(kind, "", marks, lines, groove), tool).course


def bit_of(tool: Tool) -> Bit:
    """Return how the tool's bit is led."""
    recipe, machine = tool.recipe, tool.machine
    return Bit(recipe.feed, recipe.plunge, machine.retract, machine.approach, recipe.dwell_s, machine.spin_up_s)


def _repeated(lines: list[Floats], passes: int, by: str) -> list[Floats]:
    if by == "pass":
        return lines * passes
    return [line for one in lines for line in there_and_back([one] * passes)]


def drawn_course(lettering: Lettering, tool: Tool) -> Course:
    """Return the course as the typeface gives the strokes: what ordering is measured against."""
    drawn = as_drawn(lettering)
    return follow_plan(drawn, tool, corner_of(polylines(drawn), tool.machine.datum)).course


def raster_rings(drawn: Path, lines: Sequence[Floats], lettering: Lettering) -> list[Floats]:
    """Return the closed rings that a raster fills: outlines as chords, or the grooves around single lines."""
    if lettering.kind == "outline":
        return [line for line, c in zip(lines, drawn, strict=True) if c.closed]
    grooves = polygons(centre_lines(drawn).buffer(lettering.groove / 2.0))
    return [np.asarray(ring.coords) for p in grooves for ring in (p.exterior, *p.interiors)]


def sweep_of(tool: Tool) -> Sweep:
    """Return how the recipe runs its rows."""
    r = tool.recipe
    return Sweep(r.feed, r.run_out, r.both_ways, r.trimmed, r.skip_blank, r.blank_rapid)


def _raster_plan(strokes: Path, rings: Sequence[Floats], tool: Tool, start: tuple[float, float]) -> Plan:
    rows = rows_of(rings, tool.recipe.row_pitch)
    passes = max(1, tool.recipe.passes)
    course = raster_course(rows, sweep_of(tool), start, tool.machine.return_home, passes)
    marked = float((rows.spans[:, 2] - rows.spans[:, 1]).sum())
    facts = (("rows", float(course.starts)), ("marked_mm", marked * passes))
    return Plan(course, strokes, passes, facts)


def _pocket_plan(strokes: Path, lettering: Lettering, tool: Tool, start: tuple[float, float]) -> Plan:
    letters = _letters(strokes, lettering)
    way = Way(start, tool.machine.return_home, limits_of(tool.machine))
    found = _nearest_pockets(pockets(letters, tool.diameter, tool.recipe.step_over), way)
    depths = equal_depths(tool.depth, tool.recipe.pass_depth)
    chains = pocket_chains(found, depths, tool.recipe.by, tool.diameter)
    course = bit_course(chains, bit_of(tool), start, tool.machine.return_home)
    area = float(letters.area)
    left = area - sum(p.cleared_mm2 for p in found)
    facts = (("rings", float(sum(len(p.rings) for p in found))), ("left_mm2", left), ("area_mm2", area))
    return Plan(course, strokes, len(depths), facts)


def _nearest_pockets(found: Sequence[Pocket], way: Way) -> list[Pocket]:
    """Return pockets in the order of least travel, each taken as the place where its first ring begins."""
    cleared = [p for p in found if p.rings]
    places = [[(float(p.rings[0][0, 0]), float(p.rings[0][0, 1]))] for p in cleared]
    order = best_order(ways_of(places, [True] * len(places)), way.start, way.home, way.limits)
    return [cleared[i] for i in order]


def _letters(strokes: Path, lettering: Lettering) -> Any:
    """Return the region that is to be cleared."""
    if lettering.kind == "outline":
        return region(strokes)
    return centre_lines(strokes).buffer(lettering.groove / 2.0)


def _vee_plan(strokes: Path, lettering: Lettering, tool: Tool, way: Way, vee_paths: Sequence[Floats] | None) -> Plan:
    if vee_paths is None:
        vee_paths = vee(lettering, tool)
    by = tool.recipe.by
    lines = middle_lines(vee_paths)
    deepest = max((float(-line[:, 2].min()) for line in lines), default=0.0)
    depths = equal_depths(deepest, tool.recipe.pass_depth)
    lines = in_order_3d(lines, way, by == "stroke" and len(depths) % 2 == 0)
    chains = vee_chains(lines, depths, by)
    course = bit_course(chains, bit_of(tool), way.start, way.home)
    return Plan(course, strokes, len(depths), (("deepest_mm", deepest),))
