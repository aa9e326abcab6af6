"""Single lines with a weight: lines side by side, from the edge of the stroke to its middle, in as few runs as may be.

Each part of the lettering is worn away by half the cutter's mark, then by one step after the other, until nothing is
left between the lines. Where strokes join or cross they are one area, so nothing is gone over twice there. Lines that
lie a step apart are linked, and a run is only left where nothing near it is still to be cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon, STRtree

from engrave.cache import Cache
from engrave.geometry.arrays import Floats
from engrave.geometry.paths import Path, line_path
from engrave.geometry.regions import polygons, region
from engrave.setting.lettering import NO_LINE, Lettering
from engrave.tasks import Tool
from engrave.toolpath.follow import along_lines
from engrave.toolpath.line_runs import line_shapes, linked
from engrave.toolpath.linking import ordered_lines
from engrave.toolpath.moves import Toolpath
from engrave.toolpath.parallel_lines import contours_of, lines_begun
from engrave.toolpath.round_pen import pen_radius
from engrave.toolpath.strokes import HeadRoute
from engrave.toolpath.worn_areas import LINE_CHORD, MarkWidth, lines_in

LINK_STEPS = 1.6
"""Steps that two lines may be apart to be run as one: neighbours are one apart, a little more round a corner."""

TURNED = 2
"""Times that a spot is passed where lines turn or are linked, for once in a straight stroke: there they come from both
sides. A raster of the moves holds it."""


def side_by_side_toolpath(drawn: Path, lettering: Lettering, tool: Tool, route: HeadRoute, cache: Cache) -> Toolpath:
    """Return the toolpath of lines side by side over a lettering drawn with its weight (`drawn`: outlines, mm).

    facts: 'lines', how many runs side by side a stroke takes at most; 'marked_mm', their length; 'passes_over', how often
    one spot is passed at most. Raises ValueError for lines drawn no wider than the mark: a step inwards would be none.
    """
    mark = mark_width(tool)
    parts, weights = _parts(drawn, lettering)
    steps: list[float] = []
    levels: list[int] = []
    most, over = 0, 0
    for weight in weights:
        if weight <= min(mark):
            raise ValueError(f"lines {weight:.3f} mm wide are no wider than the mark, {min(mark):.3f} mm")
        count = lines_across(weight, min(mark), tool.recipe.step_over)
        steps.append((weight - min(mark)) / (count - 1))
        levels.append(count // 2)
        most, over = max(most, count), max(over, passes_over(mark, steps[-1]))
    even = [pen_radius(lettering, weight, cache) for weight in weights]
    first, moved = _alike(parts, weights)
    own = sorted(set(first))
    some, apart, deep = [parts[k] for k in own], [steps[k] for k in own], [levels[k] for k in own]
    begun = lines_begun(some, contours_of(some, drawn), mark, apart, deep)
    found = lines_in(some, mark, apart, [even[k] for k in own], begun)
    of_own = dict(zip(own, linked(found, LINK_STEPS * tool.recipe.step_over), strict=True))
    runs = [run + by if by.any() else run for k, by in zip(first, moved, strict=True) for run in of_own[k]]
    lines = ordered_lines(runs, route)
    strokes = tuple(line_path(line) for line in lines)
    course, passes = along_lines(lines, tool, route.start)
    marked = math.fsum(shapely.length(line_shapes(runs)).tolist())
    facts = (("lines", float(most)), ("marked_mm", marked), ("passes_over", float(over)))
    return Toolpath(drawn, strokes, course, passes, facts)


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


ALIKE_DECIMALS = 6
"""Decimals of mm by which parts are told apart: a nanometre, and far above the last digits of where letters stand."""


def _alike(parts: Sequence[Polygon], weights: Sequence[float]) -> tuple[list[int], list[Floats]]:
    """Return of each part the first that is the same but for its place, and by how many mm it is moved against that one."""
    firsts: dict[tuple[float, bytes], tuple[int, Floats]] = {}
    first, moved = [], []
    begun_alike = shapely.normalize(np.array(parts, dtype=object))
    for k, (part, weight) in enumerate(zip(begun_alike, weights, strict=True)):
        points = shapely.get_coordinates(part)
        shape = np.rint((points - points[0]) * 10.0**ALIKE_DECIMALS).astype(np.int64).tobytes()
        like, place = firsts.setdefault((weight, shape), (k, points[0]))
        first.append(like)
        moved.append(points[0] - place)
    return first, moved


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
