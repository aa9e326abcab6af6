"""Single lines with a weight: lines side by side, from the edge of the stroke to its middle, in as few runs as may be.

Each part of the lettering is worn away by half the cutter's mark, then by one step after the other, until nothing is
left between the lines. Where strokes join or cross they are one area, so nothing is gone over twice there. Lines that
lie a step apart are linked, and a run is only left where nothing near it is still to be cut.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import Polygon, STRtree

from engrave.cache import Cache
from engrave.geometry.paths import Path, line_path
from engrave.geometry.regions import polygons, region
from engrave.setting.lettering import NO_LINE, Lettering
from engrave.tasks import Tool
from engrave.toolpath.follow import along_lines
from engrave.toolpath.line_runs import line_shapes, linked
from engrave.toolpath.linking import ordered_lines
from engrave.toolpath.moves import Toolpath
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
    most, over = 0, 0
    for weight in weights:
        if weight <= min(mark):
            raise ValueError(f"lines {weight:.3f} mm wide are no wider than the mark, {min(mark):.3f} mm")
        count = lines_across(weight, min(mark), tool.recipe.step_over)
        steps.append((weight - min(mark)) / (count - 1))
        most, over = max(most, count), max(over, passes_over(mark, steps[-1]))
    even = [pen_radius(lettering, weight, cache) for weight in weights]
    of_parts = linked(lines_in(parts, mark, steps, even), LINK_STEPS * tool.recipe.step_over)
    runs = [run for part in of_parts for run in part]
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
