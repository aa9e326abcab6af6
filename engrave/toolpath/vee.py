"""The path of a V-bit down the middle of each stroke: depth follows the width, corners run up to the surface.

Paths of letters that meet are linked, put in order and cut by depth.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from shapely import (
    LinearRing,
    LineString,
    STRtree,
    contains_xy,
    distance,
    get_coordinates,
    line_interpolate_point,
    line_locate_point,
    prepare,
)
from shapely import points as points_of
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache, CacheKind
from engrave.cutting.criteria import GLYPH_CHORD
from engrave.cutting.effect.cupping import floor_step, vee_depth, widest_vee
from engrave.cutting.measure.components import Component, components_of
from engrave.geometry.affine import inverse_matrix, map_points
from engrave.geometry.arrays import Floats
from engrave.geometry.medial_axis import axis_lines
from engrave.geometry.paths import Path, transformed
from engrave.geometry.regions import polygons, region
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.toolpath.linking import begun_at, linked_paths, ordered_lines
from engrave.toolpath.moves import Toolpath, bit_course, bit_of, equal_depths, there_and_back
from engrave.toolpath.strokes import HeadRoute

DOT_NUDGE = 1e-3
"""mm that a bit moves in a round dot, where there is no line to follow: it goes down and comes up again."""

FLOOR_ARC_CHORDS = 8
"""Chords a quarter circle where a round turns a corner: 0.5 % of its radius off at most."""

FLOOR_CHORD = 0.003
"""mm that rounds on a flat floor may stand off their course: a twentieth of what lies between two of them."""

FLOOR_SLACK = 0.01
"""mm by which a way over a floor may touch its edge: as much as rounds stand off their course."""

LEANING = np.array([0.0019, 0.0007])
"""mm that a way may be longer for each mm that it begins further left or up: along an even stem all ways are as long, and
the last digit of a file would choose."""

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

    paths: the tip's paths if they are known already, else those of `tip_paths`.
    """
    by = tool.recipe.by
    bodies = _as_written(components_of(lettering, False, cache), drawn)
    lines = linked_paths(tip_paths(bodies, tool, cache) if paths is None else paths, lift_worth(tool))
    deepest = max((float(-line[:, 2].min()) for line in lines), default=0.0)
    depths = equal_depths(deepest, tool.recipe.pass_depth)
    lines = ordered_lines(lines, route, by == "stroke" and len(depths) % 2 == 0)
    course = bit_course(vee_chains(lines, depths, by), bit_of(tool), route.start, route.home)
    return Toolpath(drawn, strokes, course, len(depths), (("deepest_mm", deepest),), _caps(strokes, bodies))


def _owners(contours: Path, bodies: Sequence[Component]) -> list[int]:
    """Return of each contour to which of some bodies it belongs."""
    found = STRtree([body.on_lid for body in bodies]).nearest(points_of([c.start for c in contours]))
    return [int(k) for k in found]


def _caps(strokes: Path, bodies: Sequence[Component]) -> tuple[float, ...]:
    """Return of each stroke how many mm a cap height of its letter is."""
    return tuple(bodies[k].cap_mm for k in _owners(strokes, bodies)) if bodies else ()


def _as_written(bodies: Sequence[Component], drawn: Path) -> tuple[Component, ...]:
    """Return bodies of which those of several letters have the outline that the file holds of them, which made it one."""
    if all(len(body.marks) == 1 for body in bodies):
        return tuple(bodies)
    owners = _owners(drawn, bodies)
    out = []
    for k, body in enumerate(bodies):
        if len(body.marks) > 1:
            own = tuple(c for c, owner in zip(drawn, owners, strict=True) if owner == k)
            united = region(transformed(own, inverse_matrix(body.matrix)), GLYPH_CHORD)
            body = replace(body, key=f"{body.key}/as-written", shape=united)
        out.append(body)
    return tuple(out)


def tip_paths(bodies: Sequence[Component], tool: Tool, cache: Cache) -> tuple[Floats, ...]:
    """Return the tip's paths through letters, each of shape (n, 3): x, y in the area's mm, z in mm below the face (negative).

    At a place midway in a stroke of half-width r the tip (flat `t`, point angle `a`) goes down by (r - t/2)/tan(a/2),
    at most to the tool's depth. Wider parts get a flat floor at that depth, cleared in rounds from the wall inwards
    (see `cupping.floor_step`), and short ways lead from the middle line to them. Strokes narrower than the tip are skipped.
    """
    half, tip = tool.cutter.widening / 2, tool.cutter.point / 2
    widest = widest_vee(tool)
    depth = min(tool.depth, vee_depth(tool.cutter, widest))  # above its cone a bit cuts no wider
    paths: list[Floats] = []
    for body in bodies:
        lines = _middle(body, cache)
        middle = []
        for line in lines:
            z = -np.clip((line[:, 2] * body.cap_mm - tip) / half, 0.0, depth)
            if (z < 0.0).any():
                placed = _placed(line[:, :2], body)
                middle.append(np.column_stack([placed, np.resize(z, len(placed))]))
        if any((line[:, 2] * body.cap_mm > widest / 2).any() for line in lines):
            paths += _with_floor(middle, body, widest / 2, floor_step(tool.cutter), depth)
        else:
            paths += middle
    return tuple(paths)


def _middle(part: Component, cache: Cache) -> tuple[Floats, ...]:
    """Return a part's middle lines in cap heights, kept by its key: they hold at every size."""
    return cache.get(
        MIDDLE_LINES, part.key, lambda: tuple(line for solid in polygons(part.shape) for line in axis_lines(solid))
    )


def _placed(points: Floats, body: Component) -> Floats:
    placed = map_points(body.matrix, points)
    return placed if len(placed) > 1 else np.concatenate([placed, placed + (DOT_NUDGE, 0.0)])


def _with_floor(middle: Sequence[Floats], body: Component, wall: float, step: float, depth: float) -> list[Floats]:
    """Return middle lines, the rounds that clear what is farther than `wall` mm from the outline, and the ways between.

    All rounds are at full depth, each `step` further in than the last; a way leads to each from the middle line or from
    the round before, over the floor.
    """
    inner = _simpler(body.on_lid).buffer(-wall, quad_segs=FLOOR_ARC_CHORDS)
    deepest = [line[line[:, 2] <= -depth, :2] for line in middle]
    at = np.concatenate([np.zeros((0, 2)), *deepest])
    at, floor = at[contains_xy(_prepared(inner), at[:, 0], at[:, 1])], _Floor(inner, FLOOR_SLACK)
    met, rounds = set[tuple[float, ...]](), list[Floats]()
    while not inner.is_empty:
        begins = []
        for part in polygons(inner):
            for ring in (part.exterior, *part.interiors):
                way = _way_to(ring, at, floor.bears)
                points = get_coordinates(ring)
                if way is not None:
                    met.add(tuple(way[0].tolist()))
                    rounds.append(way)
                    points = begun_at(points, float(line_locate_point(ring, points_of(way[1]))), way[1])
                rounds.append(points)
                begins.append(points[0])
        at, floor = np.array(begins), _Floor(inner, 2 * FLOOR_SLACK)
        inner = _simpler(inner.buffer(-step, quad_segs=FLOOR_ARC_CHORDS))
    level = [np.column_stack([points, np.full(len(points), -depth)]) for points in rounds]
    return [*(piece for line in middle for piece in _split_at(line, met)), *level]


def _simpler(floor: BaseGeometry) -> BaseGeometry:
    """Return a floor with fewer corners, the same wherever its rings begin: read back from its file, they begin elsewhere."""
    return floor.normalize().simplify(FLOOR_CHORD)


def _prepared(shape: BaseGeometry) -> BaseGeometry:
    """Return a shape ready to be asked often."""
    prepare(shape)
    return shape


@dataclass(frozen=True, eq=False)  # without slots: what it is drawn out to is kept with it
class _Floor:
    """What a way may cross: a floor drawn out by `slack` mm, in steps of FLOOR_SLACK."""

    shape: BaseGeometry
    slack: float

    @cached_property
    def _drawn_out(self) -> BaseGeometry:
        grown = self.shape
        for _ in range(round(self.slack / FLOOR_SLACK)):
            grown = grown.buffer(FLOOR_SLACK)
        return _prepared(grown)

    def bears(self, way: Floats) -> bool:
        """Tell whether a straight way (2, 2) from, or to, a place on the floor lies on what may be crossed.

        Most lie on the floor itself but for rounding at their ends, and nothing need be drawn out. Proof: what is cut off
        either end of the way is no longer than half the slack, so each of its points is as near to one that is on the floor; and
        drawing out takes in all that is nearer than the slack, less a hundredth of it for chords.
        """
        long = float(np.hypot(*(way[1] - way[0])))
        cut = min(FLOOR_SLACK / 2 / long, 0.25) * (way[1] - way[0]) if long else None
        if cut is not None and _prepared(self.shape).covers(LineString([way[0] + cut, way[1] - cut])):
            return True
        return bool(self._drawn_out.covers(LineString(way)))


def _way_to(ring: LinearRing, at: Floats, bears: Callable[[Floats], bool]) -> Floats | None:
    """Return the shortest straight way (2, 2) from one of some places to a ring; None where nothing bears it."""
    if not len(at):
        return None
    start = at[int((distance(points_of(at), ring) + at @ LEANING).argmin())]
    along = line_locate_point(ring, points_of(start))
    way = np.array([start, get_coordinates(line_interpolate_point(ring, along))[0]])
    return way if bears(way) else None


def _split_at(line: Floats, places: set[tuple[float, ...]]) -> list[Floats]:
    """Return a line cut at those of its inner points that are among some places."""
    cuts = [k for k, point in enumerate(map(tuple, line[1:-1, :2].tolist()), 1) if point in places]
    return [line[a : b + 1] for a, b in zip([0, *cuts], [*cuts, len(line) - 1], strict=True)]


def lift_worth(tool: Tool) -> float:
    """Return how many mm of cutting take as long as lifting the bit out of the wood and plunging it in again."""
    recipe, machine = tool.recipe, tool.machine
    down = machine.approach if machine.approach is not None else machine.retract
    seconds = 2.0 * machine.retract / machine.vmax[2] + (down / recipe.plunge if recipe.plunge > 0.0 else 0.0)
    return recipe.feed * (seconds + recipe.dwell_s)


def vee_chains(lines: Sequence[Floats], depths: Sequence[float], by: str) -> list[list[Floats]]:
    """Return the chains of a vee-cut: each pass no deeper than its depth."""
    if by == "pass" or len(depths) == 1:
        return [[_no_deeper(line, depth)] for depth in depths for line in lines]
    return [there_and_back([_no_deeper(line, depth) for depth in depths]) for line in lines]


def _no_deeper(line: Floats, depth: float) -> Floats:
    return np.column_stack([line[:, :2], np.maximum(line[:, 2], -depth)])
