"""The path of a V-bit down the middle of each stroke: depth follows the width, corners run up to the surface.

Paths of letters that meet are linked, put in order and cut by depth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from shapely import get_coordinates

from engrave.cache import Cache, CacheKind
from engrave.cutting.effect.cupping import floor_step, vee_depth, widest_vee
from engrave.cutting.measure.components import Component, components_of
from engrave.geometry.affine import map_points
from engrave.geometry.medial_axis import axis_lines
from engrave.geometry.paths import Contour, Path, Point
from engrave.geometry.regions import polygons
from engrave.motion.planner import Floats
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.toolpath.join import joined_strokes
from engrave.toolpath.moves import Toolpath, bit_course, bit_of, equal_depths, there_and_back
from engrave.toolpath.stroke_order import best_order, candidates_of
from engrave.toolpath.strokes import HeadRoute

DOT_NUDGE = 1e-3
"""mm that a bit moves in a round dot, where there is no line to follow: it goes down and comes up again."""

FLOOR_ARC_CHORDS = 8
"""Chords a quarter circle where a round turns a corner: 0.5 % of its radius off at most."""

FLOOR_CHORD = 0.003
"""mm that rounds on a flat floor may stand off their course: a twentieth of what lies between two of them."""

CORNER_REACH = 3.0
"""Half widths of a stroke from its middle into a corner: a corner of 39 degrees is 3 away (1 / sin of half its angle).
What narrows more slowly is no corner but a stroke that tapers."""

AT_SURFACE = 1e-6
"""mm: what is cut no deeper has come up to the surface."""

MIDDLE_LINES: CacheKind[tuple[Floats, ...]] = CacheKind("middle lines", 2048)
"""Several typefaces, every letter."""


def vee_toolpath(
    drawn: Path,
    strokes: Path,
    lettering: Lettering,
    tool: Tool,
    route: HeadRoute,
    cache: Cache,
    paths: Sequence[Floats] | None = None,
) -> Toolpath:
    """Return the toolpath of a V-bit down the middle of a lettering's strokes; `strokes` are those that the file holds.

    paths: the tip's paths if they are known already, else those of `vee_paths`.
    """
    by = tool.recipe.by
    lines = linked_paths(vee_paths(lettering, tool, cache) if paths is None else paths, spur_reach(tool))
    deepest = max((float(-line[:, 2].min()) for line in lines), default=0.0)
    depths = equal_depths(deepest, tool.recipe.pass_depth)
    lines = ordered_paths(lines, route, by == "stroke" and len(depths) % 2 == 0)
    course = bit_course(vee_chains(lines, depths, by), bit_of(tool), route.start, route.home)
    return Toolpath(drawn, strokes, course, len(depths), (("deepest_mm", deepest),))


def vee_paths(lettering: Lettering, tool: Tool, cache: Cache) -> tuple[Floats, ...]:
    """Return the tip's paths, each of shape (n, 3): x, y in the area's mm, z in mm below the face (negative).

    At a place midway in a stroke of half-width r the tip (flat `t`, point angle `a`) goes down by (r - t/2)/tan(a/2),
    at most to the tool's depth. Wider parts get a flat floor at that depth, cleared in rounds from the wall inwards
    (see `cupping.floor_step`). Strokes narrower than the tip are skipped.
    """
    half, tip = tool.cutter.widening / 2, tool.cutter.point / 2
    widest = widest_vee(tool)
    depth = min(tool.depth, vee_depth(tool.cutter, widest))  # above its cone a bit cuts no wider
    paths: list[Floats] = []
    for body in components_of(lettering, False, cache):
        lines = _middle(body, cache)
        for line in lines:
            z = -np.clip((line[:, 2] * body.cap_mm - tip) / half, 0.0, depth)
            if (z < 0.0).any():
                placed = _placed(line[:, :2], body)
                paths.append(np.column_stack([placed, np.resize(z, len(placed))]))
        if any((line[:, 2] * body.cap_mm > widest / 2).any() for line in lines):
            paths += _floor(body, widest / 2, floor_step(tool.cutter), depth)
    return tuple(paths)


def _middle(part: Component, cache: Cache) -> tuple[Floats, ...]:
    """Return a part's middle lines in cap heights, kept by its key: they hold at every size."""
    return cache.get(
        MIDDLE_LINES, part.key, lambda: tuple(line for solid in polygons(part.shape) for line in axis_lines(solid))
    )


def _placed(points: Floats, body: Component) -> Floats:
    placed = map_points(body.matrix, points)
    return placed if len(placed) > 1 else np.concatenate([placed, placed + (DOT_NUDGE, 0.0)])


def _floor(body: Component, wall: float, step: float, depth: float) -> Iterator[Floats]:
    """Yield the rounds that clear what is farther than `wall` mm from the outline, at full depth."""
    inner = body.on_lid.simplify(FLOOR_CHORD).buffer(-wall, quad_segs=FLOOR_ARC_CHORDS)
    while not inner.is_empty:
        for part in polygons(inner):
            for ring in (part.exterior, *part.interiors):
                points = get_coordinates(ring)
                yield np.column_stack([points, np.full(len(points), -depth)])
        inner = inner.buffer(-step, quad_segs=FLOOR_ARC_CHORDS).simplify(FLOOR_CHORD)


def spur_reach(tool: Tool) -> Callable[[float], float]:
    """Return how long a spur into a corner may be in mm to be run into and back, by the mm it is cut deep.

    Neither longer than from the middle of a stroke into a sharp corner (`CORNER_REACH`), nor so long that running back
    over what is cut takes longer than lifting the bit and plunging again.
    """
    recipe, machine = tool.recipe, tool.machine
    down = machine.approach if machine.approach is not None else machine.retract
    seconds = 2.0 * machine.retract / machine.vmax[2] + (down / recipe.plunge if recipe.plunge > 0.0 else 0.0)
    slope, tip = tool.cutter.widening, tool.cutter.point
    return lambda depth: min(recipe.feed * seconds, CORNER_REACH * (tip + slope * depth) / 2.0)


def linked_paths(paths: Sequence[Floats], reach: Callable[[float], float] | None = None) -> list[Floats]:
    """Return middle lines (n, 3), z below the face, with those that meet run on into each other.

    Where branches of a letter meet, each runs on into the one that goes on most nearly straight. A spur that is left
    over, into the second corner at a stroke's end, is run into and back from the line it leaves, where it is no longer
    than `reach` of its depth (see `spur_reach`). Rounds on a floor stay as they are, after the others.
    """
    every = [np.column_stack([p[:, :2], -np.abs(p[:, 2])]) for p in paths if len(p) > 1]
    lines = [line for line in every if not _is_ring(line)]
    depth = {(x, y): z for line in lines for x, y, z in line.tolist()}
    flat = [_contour([(x, y) for x, y, _ in line.tolist()]) for line in lines]
    joined = [np.array([(*p, depth[p]) for p in _nodes(c)]) for c in joined_strokes(flat)]
    rings = [line for line in every if _is_ring(line)]
    return _Spurs([*joined, *rings], reach).paths() if reach is not None else joined + rings


class _Spurs:
    """Lines of which some leave others at a place that both have: these are run into and back from there."""

    def __init__(self, lines: Sequence[Floats], reach: Callable[[float], float]) -> None:
        self._lines = list(lines)
        self._host = list(range(len(lines)))
        self._leaving: dict[int, dict[Point, list[int]]] = {k: {} for k in range(len(lines))}
        at: dict[Point, list[int]] = {}
        for k, line in enumerate(lines):
            for place in dict.fromkeys(map(_place, line)):
                at.setdefault(place, []).append(k)
        long = [float(np.hypot(*np.diff(line[:, :2], axis=0).T).sum()) for line in lines]
        for k in sorted(range(len(lines)), key=lambda k: (long[k], k)):
            depths = -lines[k][:, 2]
            comes_up = min(depths[0], depths[-1]) <= AT_SURFACE
            if _is_ring(lines[k]) or (comes_up and long[k] <= reach(float(depths.max()))):
                self._leave(k, at)

    def _leave(self, k: int, at: dict[Point, list[int]]) -> None:
        """Let a line leave another one at one of its ends, if there is one that does not leave it in turn."""
        for place in dict.fromkeys((_place(self._lines[k][0]), _place(self._lines[k][-1]))):
            for other in at[place]:
                if self._root(other) != k:
                    self._host[k] = other
                    self._leaving[other].setdefault(place, []).append(k)
                    return

    def _root(self, k: int) -> int:
        while self._host[k] != k:
            k = self._host[k]
        return k

    def paths(self) -> list[Floats]:
        """Return the lines that leave no other, with those that leave them."""
        return [self._along(k, line) for k, line in enumerate(self._lines) if self._host[k] == k]

    def _along(self, k: int, line: Floats) -> Floats:
        """Return a line with what leaves it run into where it is first passed, and back from it."""
        leaving = dict(self._leaving[k])
        walked: list[Floats] = []
        for point in line:
            walked.append(point[None])
            for branch in leaving.pop(_place(point), ()):
                there = self._lines[branch]
                if _place(there[0]) != _place(point):
                    there = there[::-1]
                walked.append(self._along(branch, there)[1:])
                if not _is_ring(there):
                    walked.append(there[::-1][1:])
        return np.concatenate(walked)


def _is_ring(line: Floats) -> bool:
    return bool((line[0, :2] == line[-1, :2]).all())


def _place(point: Floats) -> Point:
    return float(point[0]), float(point[1])


def _contour(points: Sequence[Point]) -> Contour:
    return Contour(points[0], tuple((p,) for p in points[1:]), False)


def _nodes(contour: Contour) -> list[Point]:
    return [contour.start, *(segment[-1] for segment in contour.segments)]


def ordered_paths(lines: Sequence[Floats], route: HeadRoute, comes_back: bool) -> list[Floats]:
    """Return middle lines in the order and direction of least travel; comes_back: each ends where it began."""
    ends = [[(float(p[0, 0]), float(p[0, 1])), (float(p[-1, 0]), float(p[-1, 1]))] for p in lines]
    order = best_order(candidates_of(ends, [comes_back] * len(lines)), route.start, route.home, route.limits)
    return [lines[w // 2][:: -1 if w % 2 else 1] for w in order]


def vee_chains(lines: Sequence[Floats], depths: Sequence[float], by: str) -> list[list[Floats]]:
    """Return the chains of a vee-cut: each pass no deeper than its depth."""
    if by == "pass" or len(depths) == 1:
        return [[_no_deeper(line, depth)] for depth in depths for line in lines]
    return [there_and_back([_no_deeper(line, depth) for depth in depths]) for line in lines]


def _no_deeper(line: Floats, depth: float) -> Floats:
    return np.column_stack([line[:, :2], np.maximum(line[:, 2], -depth)])
