"""Areas worn away from their edge, step by step, and the lines that this leaves: all parts of a lettering at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import GeometryType, Polygon

from engrave.geometry.arrays import Floats, Ints, distinct, distinct_and_places

Shapes = NDArray[np.object_]

MarkWidth = tuple[float, float]
"""Width of what the cutter leaves along x and y, mm."""

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

LEAST_LENGTH = 0.05
"""mm: a shorter line is no line; what little it would cut is cut by its neighbours."""


@dataclass(frozen=True, slots=True)
class Begun:
    """What is known of a part before it is worn: its first closed lines, of so many depths; area: within the last of them."""

    lines: list[Floats] = field(default_factory=list)
    levels: int = 0
    area: Polygon | None = None


@dataclass(frozen=True, slots=True)
class _Areas:
    """Areas (n,), and what each belongs to (n,), by number: in that order, the largest of each first."""

    shapes: Shapes
    of: Ints


def lines_in(
    parts: Sequence[Polygon], mark: MarkWidth, steps: Sequence[float], even: Sequence[float] | None = None,
    begun: Sequence[Begun] | None = None,
) -> list[list[Floats]]:  # fmt: skip
    """Return for each part closed lines (n, 2) that fill it, outermost first, and nothing cut outside it.

    steps: of each part, how many mm its lines are apart, or less. even: of each part, the radius in mm of the circle that it
    is drawn with (see `round_pen`), 0 where it is not known: so deep nothing falls away from the rest, and nobody looks.
    begun: of each part, what is known of it beforehand.
    """
    known = list(begun or [Begun() for _ in parts])
    reach, apart = core_reach(mark), np.array(steps)
    sure = np.array(even) if even is not None else np.zeros(len(parts))
    curved = np.array([one.area is not None for one in known], dtype=bool)
    levels = np.array([one.levels for one in known])
    deep = (max(mark) + LINE_CHORD) / 2.0 + np.maximum(apart, reach) + np.maximum(levels - 1, 0) * apart
    rings: list[Shapes] = []
    of: list[Ints] = []

    def further_in(level: _Areas) -> _Areas:
        return _further_in(level, apart[level.of], reach, (deep < sure)[level.of], curved[level.of])

    level = _within(known)
    if len(level.shapes):
        level = further_in(level)
        deep[curved] += apart[curved]
    fresh = np.flatnonzero(~curved)
    level = _together(level, _largest_first(_worn_by_mark([parts[k] for k in fresh.tolist()], mark), fresh))
    while len(level.shapes):
        found, index = shapely.get_rings(level.shapes, return_index=True)
        rings.append(found)
        of.append(level.of[index])
        level = further_in(level)
        deep += apart
    worn = _lines_of(np.concatenate(rings), np.concatenate(of), len(parts)) if rings else [[] for _ in parts]
    return [one.lines + further for one, further in zip(known, worn, strict=True)]


def _within(begun: Sequence[Begun]) -> _Areas:
    """Return the areas within what is known beforehand."""
    there = [(k, one.area) for k, one in enumerate(begun) if one.area is not None]
    shapes = np.fromiter((area for _, area in there), dtype=object, count=len(there))
    return _Areas(shapes, np.array([k for k, _ in there], dtype=np.int64))


def _together(one: _Areas, other: _Areas) -> _Areas:
    """Return the areas of both: no part has any in both of them."""
    of = np.concatenate([one.of, other.of])
    order = np.argsort(of, kind="stable")
    return _Areas(np.concatenate([one.shapes, other.shapes])[order], of[order])


def _lines_of(rings: Shapes, of: Ints, count: int) -> list[list[Floats]]:
    """Return the points of rings, as few as their chords need; a ring too short to be a line is left out."""
    long = shapely.length(rings) >= LEAST_LENGTH
    rings, of = rings[long], of[long]
    points, index = shapely.get_coordinates(rings, return_index=True)
    lines = shapely.simplify(shapely.linestrings(points, indices=index), LINE_CHORD, preserve_topology=False)
    ends = np.cumsum(shapely.get_num_coordinates(lines)).tolist()
    kept = shapely.get_coordinates(lines)
    found: list[list[Floats]] = [[] for _ in range(count)]
    for k, (begin, end) in zip(of.tolist(), pairwise([0, *ends]), strict=True):
        found[k].append(kept[begin:end])
    return found


def _worn_by_mark(parts: Sequence[Polygon], mark: MarkWidth) -> Shapes:
    """Return where the middle of the mark may be: half a mark inside each part, and a hair more for the chords."""
    if not parts:
        return np.empty(0, dtype=object)
    whole = 2.0 * half_mark(mark)
    scaled = shapely.transform(np.fromiter(parts, dtype=object, count=len(parts)), lambda at: at / whole)
    worn = shapely.buffer(scaled, -0.5, quad_segs=OFFSET_ARC_CHORDS)
    return np.asarray(shapely.transform(worn, lambda at: at * whole), dtype=object)


def core_reach(mark: MarkWidth) -> float:
    """Return how far from a line nothing is left uncut for certain."""
    return CORE_SHARE * min(mark) / 2.0


def half_mark(mark: MarkWidth) -> Floats:
    """Return how far the middle of the mark stands off an edge, along x and y: a hair more than half, for the chords."""
    return (np.array(mark) + LINE_CHORD / 2.0) / 2.0


def _largest_first(shapes: Shapes, of: Ints) -> _Areas:
    """Return the polygons of shapes, each with what its shape belongs to."""
    found, index = shapely.get_parts(shapes, return_index=True)
    areas = (shapely.get_type_id(found) == GeometryType.POLYGON) & ~shapely.is_empty(found)
    found, belongs = found[areas], of[index[areas]]
    order = np.lexsort((-shapely.area(found), belongs))
    return _Areas(found[order], belongs[order])


def _further_in(
    level: _Areas, steps: Floats, reach: float, sure: NDArray[np.bool_], by_core: NDArray[np.bool_]
) -> _Areas:
    """Return the next lines' areas: a step further in, where that leaves anything; less far where something is left uncut.

    sure (n,): areas that a step wears to one piece with all of their core, which need not be looked at. by_core (n,): what
    is left of an area may be worn from its core, where that is far smaller.
    """
    unsure = np.flatnonzero(~sure)
    core = _largest_first(shapely.buffer(level.shapes[unsure], -reach, quad_segs=OFFSET_ARC_CHORDS), unsure)
    points = shapely.get_num_coordinates(level.shapes)
    smaller = 2 * np.bincount(core.of, shapely.get_num_coordinates(core.shapes), len(points)) < points
    further = (by_core & smaller & (steps > reach))[core.of]
    uncut = distinct(np.concatenate([np.flatnonzero(sure), core.of[~further]]))
    of = np.concatenate([uncut, core.of[further]])
    left = np.concatenate([level.shapes[uncut], core.shapes[further]])
    worn = shapely.buffer(left, np.append(-steps[uncut], reach - steps[core.of[further]]), quad_segs=OFFSET_ARC_CHORDS)
    inner = _largest_first(worn, of)
    left = (steps[core.of] > reach) & ~_meets(core, inner)
    shapes, of = np.concatenate([inner.shapes, core.shapes[left]]), np.concatenate([inner.of, core.of[left]])
    order = np.argsort(of, kind="stable")
    parts, place = distinct_and_places(level.of[of[order]])
    together = shapely.multipolygons(shapes[order], indices=place)
    return _largest_first(shapely.simplify(together, WORN_CHORD, preserve_topology=False), parts)


def _meets(core: _Areas, inner: _Areas) -> NDArray[np.bool_]:
    """Tell of each core whether it has a place in common with what is further in of the same area.

    Mostly that lies within the core, and any of its points tells.
    """
    found = np.zeros(len(core.of), dtype=bool)
    one, other = np.nonzero(core.of[:, None] == inner.of)
    points = shapely.get_point(shapely.get_exterior_ring(inner.shapes), 0)
    found[one[shapely.intersects(core.shapes[one], points[other])]] = True
    unsure = ~found[one]
    one, other = one[unsure], other[unsure]
    found[one[shapely.intersects(core.shapes[one], inner.shapes[other])]] = True
    return found
