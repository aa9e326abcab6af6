"""Clearing letters with a flat bit: offset rings from the outside in, with nothing left standing between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from engrave.geometry.arrays import Floats
from engrave.geometry.paths import Path
from engrave.geometry.regions import centre_lines, polygons, region
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.toolpath.moves import Toolpath, at_depths, bit_course, bit_of, equal_depths
from engrave.toolpath.stroke_order import best_order, candidates_of
from engrave.toolpath.strokes import HeadRoute

POCKET_HAIR = 1e-4
"""mm: what is thinner has been lost to floats, not to the bit."""

LEAST_RIDGE = 0.02
"""mm: a ridge of wood thinner than this does not stand; offsets of near-parallel walls leave hundreds of such hairs."""

RING_ARC_CHORDS = 8
"""Chords a quarter circle of an offset corner: 2 % of the radius off at most, far below a ring's step."""


@dataclass(frozen=True, slots=True)
class Pocket:
    """Rings of one separate part of the lettering, in cutting order, for a bit of `radius` mm.

    rings: closed polylines (n, 2), first point repeated, and open ones that clear what two rings leave between them.
    """

    rings: tuple[Floats, ...]
    part: Polygon
    radius: float

    @property
    def cleared_mm2(self) -> float:
        """The area of the part that the bit clears, worked out when it is asked for: that takes as long as the rings."""
        lines = [shapely.LineString(line) for line in self.rings]
        swept = shapely.union_all(shapely.buffer(lines, self.radius, quad_segs=RING_ARC_CHORDS))
        return float(shapely.intersection(self.part, swept).area)


def pocket_toolpath(drawn: Path, strokes: Path, lettering: Lettering, tool: Tool, route: HeadRoute) -> Toolpath:
    """Return the toolpath of a flat bit that clears a lettering; `strokes` are those that the file holds."""
    letters = _letters(strokes, lettering)
    found = _nearest_pockets(pockets(letters, tool.diameter, tool.recipe.step_over), route)
    depths = equal_depths(tool.depth, tool.recipe.pass_depth)
    chains = pocket_chains(found, depths, tool.recipe.by, tool.diameter)
    course = bit_course(chains, bit_of(tool), route.start, route.home)
    facts = (("rings", float(sum(len(p.rings) for p in found))), ("area_mm2", float(letters.area)))
    return Toolpath(drawn, strokes, course, len(depths), facts)


def _letters(strokes: Path, lettering: Lettering) -> BaseGeometry:
    """Return the region that is to be cleared."""
    if lettering.kind == "outline":
        return region(strokes)
    return centre_lines(strokes).buffer(lettering.groove / 2.0)


def _nearest_pockets(found: Sequence[Pocket], route: HeadRoute) -> list[Pocket]:
    """Return pockets in the order of least travel, each taken as the place where its first ring begins."""
    cleared = [p for p in found if p.rings]
    places = [[(float(p.rings[0][0, 0]), float(p.rings[0][0, 1]))] for p in cleared]
    order = best_order(candidates_of(places, [True] * len(places)), route.start, route.home, route.limits)
    return [cleared[i] for i in order]


def pockets(letters: BaseGeometry, diameter: float, step_over: float) -> tuple[Pocket, ...]:
    """Return how a bit of `diameter` mm clears every separate part of a region, each ring `step_over` mm further in.

    A point at depth t inside the first ring lies less than `step_over` from the ring before it, so rings no more than
    half a diameter apart clear everything the bit can reach. Further apart they leave ridges in the middle: those are
    cleared by pieces of the ring half a diameter further in, which reach all of them as long as the step is no more
    than the diameter. So the step is never taken wider than that.
    """
    radius = diameter / 2.0
    step = min(step_over, diameter) if step_over > 0.0 else radius
    return tuple(_pocket(part, radius, step) for part in polygons(letters))


def _pocket(part: Polygon, radius: float, step: float) -> Pocket:
    levels = _levels(part, radius, step)
    lines = [line for level in levels for line in _rings(level)]
    if step > radius + POCKET_HAIR:
        lines += _ridges(part, levels, radius, step)
    return Pocket(tuple(nearest_first(lines)), part, radius)


def _levels(part: Polygon, radius: float, step: float) -> list[BaseGeometry]:
    """Return the part worn away by the radius, then by ever one step more, until nothing is left."""
    left, low, right, high = part.bounds
    levels: list[BaseGeometry] = []
    offsets = np.arange(radius, min(right - left, high - low) / 2.0 + step, step)
    for offset in offsets.tolist():
        level = shapely.buffer(part, -offset, quad_segs=RING_ARC_CHORDS)
        if level.is_empty:
            break
        levels.append(level)
    return levels


def _rings(level: BaseGeometry) -> list[Floats]:
    found = []
    for polygon in polygons(level):
        for ring in (polygon.exterior, *polygon.interiors):
            found.append(shapely.get_coordinates(ring))
    return found


def _ridges(part: Polygon, levels: Sequence[BaseGeometry], radius: float, step: float) -> list[Floats]:
    """Return the pieces of in-between rings that clear what neighbouring rings leave."""
    pieces: list[Floats] = []
    for k, _ in enumerate(levels):
        offset = radius + k * step
        inner = shapely.buffer(part, -(offset + radius), quad_segs=RING_ARC_CHORDS)
        after = levels[k + 1] if k + 1 < len(levels) else Polygon()
        ridge = inner.difference(shapely.buffer(after, radius, quad_segs=RING_ARC_CHORDS))
        ridge = shapely.buffer(shapely.buffer(ridge, -LEAST_RIDGE / 2.0), LEAST_RIDGE)
        if ridge.is_empty:
            continue
        near = shapely.intersection(inner.boundary, shapely.buffer(ridge, radius, quad_segs=RING_ARC_CHORDS))
        joined = shapely.line_merge(near) if near.geom_type == "MultiLineString" else near
        pieces += [shapely.get_coordinates(g) for g in getattr(joined, "geoms", [joined]) if g.length > POCKET_HAIR]
    return pieces


def nearest_first(lines: Sequence[Floats]) -> list[Floats]:
    """Keep the lines' order and turn each so that it begins nearest to where the one before ended."""
    turned: list[Floats] = []
    for line in lines:
        if turned:
            line = _begun_near(line, turned[-1][-1])
        turned.append(line)
    return turned


def _begun_near(line: Floats, at: Floats) -> Floats:
    closed = bool((line[0] == line[-1]).all())
    if not closed:
        flip = np.hypot(*(line[-1] - at)) < np.hypot(*(line[0] - at))
        return line[::-1] if flip else line
    k = int(np.argmin(np.hypot(*(line[:-1] - at).T)))
    return np.concatenate([line[k:-1], line[: k + 1]])


def pocket_chains(found: Sequence[Pocket], depths: Sequence[float], by: str, diameter: float) -> list[list[Floats]]:
    """Return the chains of polylines (n, 3) that clear pockets at each depth; rings nearer than a diameter are linked.

    A link so short stays where the two rings have cut or will cut, so the bit need not be lifted for it.
    """
    order = [(p, d) for d in depths for p in found] if by == "pass" else [(p, d) for p in found for d in depths]
    chains: list[list[Floats]] = []
    for pocket, depth in order:
        begun = False
        for chain in at_depths(pocket.rings, [depth], "pass"):
            ring = chain[0]
            near = begun and float(np.hypot(*(ring[0, :2] - chains[-1][-1][-1, :2]))) <= diameter
            if near:
                chains[-1].append(ring)
            else:
                chains.append([ring])
            begun = True
    return chains
