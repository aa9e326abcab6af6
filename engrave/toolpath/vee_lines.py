"""A V-bit's way down the middle of the strokes: lines in three dimensions, joined, ordered and cut by depth."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engrave.geometry.paths import Contour, Point
from engrave.motion.planner import Floats
from engrave.toolpath.join import joined_strokes
from engrave.toolpath.moves import there_and_back
from engrave.toolpath.stroke_order import best_order, ways_of
from engrave.toolpath.strokes import Way


def middle_lines(paths: Sequence[Floats]) -> list[Floats]:
    """Return middle lines (n, 3), z below the face, with those that meet run on into each other.

    Where branches of a letter meet, each runs on into the one that goes on most nearly straight. Closed lines and
    rounds on a floor stay as they are, after the others.
    """
    every = [np.column_stack([p[:, :2], -np.abs(p[:, 2])]) for p in paths if len(p) > 1]
    closed = [bool((line[0, :2] == line[-1, :2]).all()) for line in every]
    lines = [line for line, ring in zip(every, closed, strict=True) if not ring]
    depth = {(x, y): z for line in lines for x, y, z in line.tolist()}
    flat = [_contour([(x, y) for x, y, _ in line.tolist()]) for line in lines]
    joined = [np.array([(*p, depth[p]) for p in _nodes(c)]) for c in joined_strokes(flat)]
    return joined + [line for line, ring in zip(every, closed, strict=True) if ring]


def _contour(points: Sequence[Point]) -> Contour:
    return Contour(points[0], tuple((p,) for p in points[1:]), False)


def _nodes(contour: Contour) -> list[Point]:
    return [contour.start, *(segment[-1] for segment in contour.segments)]


def in_order_3d(lines: Sequence[Floats], way: Way, comes_back: bool) -> list[Floats]:
    """Return middle lines in the order and direction of least travel; comes_back: each ends where it began."""
    ends = [[(float(p[0, 0]), float(p[0, 1])), (float(p[-1, 0]), float(p[-1, 1]))] for p in lines]
    order = best_order(ways_of(ends, [comes_back] * len(lines)), way.start, way.home, way.limits)
    return [lines[w // 2][:: -1 if w % 2 else 1] for w in order]


def vee_chains(lines: Sequence[Floats], depths: Sequence[float], by: str) -> list[list[Floats]]:
    """Return the chains of a vee-cut: each pass no deeper than its depth."""
    if by == "pass" or len(depths) == 1:
        return [[_no_deeper(line, depth)] for depth in depths for line in lines]
    return [there_and_back([_no_deeper(line, depth) for depth in depths]) for line in lines]


def _no_deeper(line: Floats, depth: float) -> Floats:
    return np.column_stack([line[:, :2], np.maximum(line[:, 2], -depth)])
