"""Areas worn away from their edge, step by step, and the lines that this leaves: all parts of a lettering at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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
class _Areas:
    """Areas (n,), and what each belongs to (n,), by number: in that order, the largest of each first."""

    shapes: Shapes
    of: Ints


def lines_in(
    parts: Sequence[Polygon], mark: MarkWidth, steps: Sequence[float], even: Sequence[float] | None = None
) -> list[list[Floats]]:
    """Return for each part closed lines (n, 2) that fill it, outermost first, and nothing cut outside it.

    steps: of each part, how many mm its lines are apart, or less. even: of each part, the radius in mm of the circle that it
    is drawn with (see `round_pen`), 0 where it is not known: so deep nothing falls away from the rest, and nobody looks.
    """
    reach, apart = CORE_SHARE * min(mark) / 2.0, np.array(steps)
    sure = np.array(even) if even is not None else np.zeros(len(parts))
    rings: list[Shapes] = []
    of: list[Ints] = []
    level = _largest_first(_worn_by_mark(parts, mark), np.arange(len(parts)))
    deep = (max(mark) + LINE_CHORD) / 2.0 + np.maximum(apart, reach)
    while len(level.shapes):
        found, index = shapely.get_rings(level.shapes, return_index=True)
        rings.append(found)
        of.append(level.of[index])
        level = _further_in(level, apart[level.of], reach, deep[level.of] < sure[level.of])
        deep += apart
    return _lines_of(np.concatenate(rings), np.concatenate(of), len(parts)) if rings else [[] for _ in parts]


def _lines_of(rings: Shapes, of: Ints, count: int) -> list[list[Floats]]:
    """Return the points of rings, as few as their chords need; a ring too short to be a line is left out."""
    long = shapely.length(rings) >= LEAST_LENGTH
    rings, of = rings[long], of[long]
    points, index = shapely.get_coordinates(rings, return_index=True)
    lines = shapely.simplify(shapely.linestrings(points, indices=index), LINE_CHORD, preserve_topology=False)
    ends = np.cumsum(shapely.get_num_coordinates(lines))
    found: list[list[Floats]] = [[] for _ in range(count)]
    for k, line in zip(of.tolist(), np.split(shapely.get_coordinates(lines), ends[:-1]), strict=True):
        found[k].append(line)
    return found


def _worn_by_mark(parts: Sequence[Polygon], mark: MarkWidth) -> Shapes:
    """Return where the middle of the mark may be: half a mark inside each part, and a hair more for the chords."""
    x, y = (width + LINE_CHORD / 2.0 for width in mark)
    scaled = shapely.transform(np.fromiter(parts, dtype=object, count=len(parts)), lambda at: at / (x, y))
    worn = shapely.buffer(scaled, -0.5, quad_segs=OFFSET_ARC_CHORDS)
    return np.asarray(shapely.transform(worn, lambda at: at * (x, y)), dtype=object)


def _largest_first(shapes: Shapes, of: Ints) -> _Areas:
    """Return the polygons of shapes, each with what its shape belongs to."""
    found, index = shapely.get_parts(shapes, return_index=True)
    areas = (shapely.get_type_id(found) == GeometryType.POLYGON) & ~shapely.is_empty(found)
    found, belongs = found[areas], of[index[areas]]
    order = np.lexsort((-shapely.area(found), belongs))
    return _Areas(found[order], belongs[order])


def _further_in(level: _Areas, steps: Floats, reach: float, sure: NDArray[np.bool_]) -> _Areas:
    """Return the next lines' areas: a step further in, where that leaves anything; less far where something is left uncut.

    sure (n,): areas that a step wears to one piece with all of their core, which need not be looked at.
    """
    unsure = np.flatnonzero(~sure)
    core = _largest_first(shapely.buffer(level.shapes[unsure], -reach, quad_segs=OFFSET_ARC_CHORDS), unsure)
    uncut = distinct(np.concatenate([np.flatnonzero(sure), core.of]))
    worn = shapely.buffer(level.shapes[uncut], -steps[uncut], quad_segs=OFFSET_ARC_CHORDS)
    inner = _largest_first(worn, uncut)
    left = (steps[core.of] > reach) & ~_meets(core, inner)
    further, of = np.concatenate([inner.shapes, core.shapes[left]]), np.concatenate([inner.of, core.of[left]])
    order = np.argsort(of, kind="stable")
    parts, place = distinct_and_places(level.of[of[order]])
    together = shapely.multipolygons(further[order], indices=place)
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
