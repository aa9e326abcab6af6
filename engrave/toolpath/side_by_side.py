"""Single lines with a weight: lines side by side, from the edge of the stroke to its middle, in as few runs as may be.

Each part of the lettering is worn away by half the cutter's mark, then by one step after the other, until nothing is
left between the lines. Where strokes join or cross they are one area, so nothing is gone over twice there. Lines that
lie a step apart are linked, and a run is only left where nothing near it is still to be cut.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import Path, line_path
from engrave.geometry.regions import polygons, region
from engrave.motion.planner import Floats
from engrave.setting.lettering import NO_LINE, Lettering
from engrave.tasks import Tool
from engrave.toolpath.follow import along_lines
from engrave.toolpath.linking import begun_at, ordered_lines
from engrave.toolpath.moves import SAME_PLACE, Toolpath
from engrave.toolpath.strokes import HeadRoute

LINE_CHORD = 0.004
"""mm that the lines may stand off the offset curves: a fortieth of a beam's mark, and few enough points for a controller
that looks some moves ahead."""

OFFSET_ARC_CHORDS = 12
"""Chords a quarter circle where an offset line turns a corner: 0.2 % of the radius off at most."""

WORN_CHORD = LINE_CHORD / 16.0
"""mm that an area worn by a step may be off: each step makes two corners of every one, and after ten there would be a
hundred thousand of them, nearly all on straight lines."""

CORE_SHARE = 0.98
"""Share of half the mark's width within which a line surely leaves nothing uncut."""

LINK_STEPS = 1.6
"""Steps that two lines may be apart to be run as one: neighbours are one apart, a little more round a corner."""

TURNED = 2
"""Times that a spot is passed where lines turn or are linked, for once in a straight stroke: there they come from both
sides. A raster of the moves holds it."""

LEAST_LENGTH = 0.05
"""mm: a shorter line is no line; what little it would cut is cut by its neighbours."""

MarkWidth = tuple[float, float]
"""Width of what the cutter leaves along x and y, mm."""


def side_by_side_toolpath(drawn: Path, lettering: Lettering, tool: Tool, route: HeadRoute) -> Toolpath:
    """Return the toolpath of lines side by side over a lettering drawn with its weight (`drawn`: outlines, mm).

    facts: 'lines', how many runs side by side a stroke takes at most; 'marked_mm', their length; 'passes_over', how often
    one spot is passed at most. Raises ValueError for lines drawn no wider than the mark: a step inwards would be none.
    """
    mark = mark_width(tool)
    runs: list[Floats] = []
    most, over = 0, 0
    for part, weight in zip(*_parts(drawn, lettering), strict=True):
        if weight <= min(mark):
            raise ValueError(f"lines {weight:.3f} mm wide are no wider than the mark, {min(mark):.3f} mm")
        count = lines_across(weight, min(mark), tool.recipe.step_over)
        step = (weight - min(mark)) / (count - 1)
        most, over = max(most, count), max(over, passes_over(mark, step))
        runs += linked(list(lines_in(part, mark, step)), LINK_STEPS * tool.recipe.step_over)
    lines = ordered_lines(runs, route)
    strokes = tuple(line_path(line) for line in lines)
    course, passes = along_lines(lines, tool, route.start)
    marked = math.fsum(shapely.length(_as_shapes(runs)).tolist())
    facts = (("lines", float(most)), ("marked_mm", marked), ("passes_over", float(over)))
    return Toolpath(drawn, strokes, course, passes, facts)


def _as_shapes(lines: Sequence[Floats]) -> NDArray[np.object_]:
    """Return lines of points as shapes."""
    index = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return np.asarray(shapely.linestrings(np.concatenate(lines), indices=index) if lines else [], dtype=object)


def mark_width(tool: Tool) -> MarkWidth:
    """Return the width of what the tool leaves, along x and y: a beam's mark may be oblong."""
    if not tool.cutter.is_beam:
        return (tool.groove, tool.groove)
    x, y = tool.cutter.mark(tool.recipe)
    return (x or tool.groove, y or tool.groove)


def lines_across(weight: float, mark: float, step: float) -> int:
    """Return how many lines lie side by side in a stroke: an even number, as each offset gives one on either side."""
    count = max(2, math.ceil((weight - mark) / step - 1e-9) + 1)
    return count + count % 2


def passes_over(mark: MarkWidth, step: float) -> int:
    """Return how often one spot is passed at most by lines `step` mm apart: in the straight, and as often again where
    lines turn round an end, or a link runs beside them.
    """
    return TURNED * (int(max(mark) / step + 1e-9) + 1)


def _parts(drawn: Path, lettering: Lettering) -> tuple[list[Polygon], list[float]]:
    """Return the separate parts of a lettering, and how wide the strokes of each are drawn."""
    parts = polygons(region(drawn, LINE_CHORD / 2.0))
    marks = [m for m in lettering.marks if m.glyph.path]
    if not parts or not marks:
        return [], []
    starts = shapely.points([m.path()[0].start for m in marks])
    nearest = STRtree(starts).nearest(np.array(parts, dtype=object))
    most = max((line.weight for line in lettering.lines), default=0.0)
    found = (marks[int(k)].line for k in np.atleast_1d(nearest))
    return parts, [most if line == NO_LINE else lettering.lines[line].weight for line in found]


def lines_in(part: Polygon, mark: MarkWidth, step: float) -> Iterator[Floats]:
    """Yield closed lines (n, 2) that fill a part, outermost first: `step` mm apart or less, nothing cut outside it."""
    level = _worn_by_mark(part, mark)
    reach = CORE_SHARE * min(mark) / 2.0
    while not level.is_empty:
        for polygon in polygons(level):
            for ring in (polygon.exterior, *polygon.interiors):
                if ring.length >= LEAST_LENGTH:
                    line = shapely.simplify(LineString(ring), LINE_CHORD, preserve_topology=False)
                    yield shapely.get_coordinates(line)
        further = [p for polygon in polygons(level) for p in _further_in(polygon, step, reach)]
        level = shapely.simplify(shapely.MultiPolygon(further), WORN_CHORD, preserve_topology=False)


def _worn_by_mark(part: Polygon, mark: MarkWidth) -> BaseGeometry:
    """Return where the middle of the mark may be: half a mark inside the part, and a hair more for the chords."""
    x, y = (width + LINE_CHORD / 2.0 for width in mark)
    scaled = shapely.transform(part, lambda at: at / (x, y))
    worn = shapely.buffer(scaled, -0.5, quad_segs=OFFSET_ARC_CHORDS)
    return shapely.transform(worn, lambda at: at * (x, y))


def _further_in(polygon: Polygon, step: float, reach: float) -> list[Polygon]:
    """Return the next lines' areas: a step further in, where that leaves anything; less far where something is left uncut."""
    core = polygons(shapely.buffer(polygon, -reach, quad_segs=OFFSET_ARC_CHORDS))
    if not core:
        return []
    if step <= reach:
        return core if step == reach else polygons(shapely.buffer(polygon, -step, quad_segs=OFFSET_ARC_CHORDS))
    inner = polygons(shapely.buffer(polygon, -step, quad_segs=OFFSET_ARC_CHORDS))
    return [*inner, *(c for c in core if not any(c.intersects(i) for i in inner))]


def linked(lines: Sequence[Floats], most: float) -> list[Floats]:
    """Return closed lines run one after the other where the next begins within `most` mm: the nearest first.

    A run goes round one line whole and on to the nearest one not yet cut; with none that near, a new run begins.
    """
    shapes = _as_shapes(lines)
    left = np.ones(len(lines), dtype=bool)
    runs: list[list[Floats]] = []
    while left.any():
        open_ = np.flatnonzero(left)
        if not runs:
            k, here = int(open_[0]), lines[int(open_[0])][0]
        else:
            here = runs[-1][-1][-1]
            away = shapely.distance(shapes[open_], shapely.points(here))
            near = int(np.argmin(away))
            k = int(open_[near])
            if away[near] > most:
                k = int(open_[0])
                here = lines[k][0]
                runs.append([])
        if not runs:
            runs.append([])
        runs[-1].append(_begun_near(lines[k], shapes[k], here))
        left[k] = False
    return [np.concatenate(run) for run in runs]


def _begun_near(line: Floats, shape: LineString, near: Floats) -> Floats:
    """Return a closed line begun at its place nearest to a point."""
    along = float(shapely.line_locate_point(shape, shapely.points(near)))
    points = begun_at(line, along, shapely.get_coordinates(shapely.line_interpolate_point(shape, along))[0])
    dx, dy = np.diff(points, axis=0).T
    return np.asarray(points[np.concatenate([[True], np.hypot(dx, dy) > SAME_PLACE])])
