"""Edges of a medial graph: between neighbouring points, into the open, and divided where feet swing or lie far apart."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from engrave.geometry.arrays import Floats, Ints
from engrave.geometry.medial_points import Flags, MedialGraph, Samples, seen_from, together

if TYPE_CHECKING:
    from scipy.spatial import Delaunay

OPPOSED_FEET = math.radians(150.0)
"""Edges are divided where feet lie at least this far apart at one end: wider than any tilt that counts as a strip."""

FEET_SWING = math.radians(3.0)
"""Edges are divided so that feet swing by no more than this from point to point, for where they cease to be opposed."""

MOST_EDGE_PIECES = 16
"""Pieces of an edge at most, and steps that a ray into the open is followed: beyond, feet no longer face each other."""


def with_rays(
    graph: MedialGraph, sides: Ints, mesh: Delaunay, near: Flags, s: Samples, good: Flags, reach: float
) -> tuple[MedialGraph, Ints]:
    """Return the graph with the edges that leave into the open, `reach` beyond the mouth, and all edges' sides.

    The wood between the ends of two serifs is as long as they face each other, not as their last samples do.
    """
    triangle, side = np.nonzero(~near[mesh.neighbors] & near[:, None])
    here = (np.cumsum(near) - 1)[triangle]
    corner = mesh.simplices[triangle].astype(np.int64)
    rows = np.arange(len(triangle))
    apex, one, two = (corner[rows, (side + k) % 3] for k in range(3))
    keep = good[here] & (s.after[one] != two) & (s.before[one] != two)
    here, apex, one, two = here[keep], apex[keep], one[keep], two[keep]
    along = s.points[two] - s.points[one]
    out = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(along[:, 0], along[:, 1])[:, None]
    inwards = ((s.points[apex] - s.points[one]) * out).sum(axis=1) > 0.0
    out[inwards] *= -1.0
    to_middle = (((s.points[one] + s.points[two]) / 2.0 - graph.points[here]) * out).sum(axis=1)
    ends = graph.points[here] + (np.maximum(to_middle, 0.0) + reach)[:, None] * out
    pairs = np.column_stack([one, two])
    rays = np.column_stack([here, len(graph.points) + np.arange(len(here))])
    grown = together(graph, seen_from(s, pairs[:, [0, 1, 1]], ends), np.concatenate([graph.edges, rays]))
    return grown, np.concatenate([sides, pairs])


def divided(graph: MedialGraph, sides: Ints, s: Samples, step: float) -> MedialGraph:
    """Return the graph with edges divided that are long or along which feet swing far, as they do between two corners.

    sides (m, 2): the two samples between which each edge runs.
    """
    graph, sides = _split(graph, sides, s, *_narrowest(graph, sides, s, step))
    graph, sides = _split(graph, sides, s, *_even(graph, step))
    return _split(graph, sides, s, *_even(graph, step))[0]  # how far feet swing shows once long edges are divided


def _narrowest(graph: MedialGraph, sides: Ints, s: Samples, step: float) -> tuple[Ints, Floats]:
    """Return the long edges that pass between their two samples, and at which share: there feet are opposite.

    Between two ends that face each other (the mouth of a c) no end of an edge need see that.
    """
    a, b = graph.edges.T
    hop = graph.points[b] - graph.points[a]
    square = (hop * hop).sum(axis=1)
    middle = (s.points[sides[:, 0]] + s.points[sides[:, 1]]) / 2.0
    share = ((middle - graph.points[a]) * hop).sum(axis=1) / np.where(square > 0.0, square, 1.0)
    which = np.flatnonzero((square > step * step) & (share > 0.01) & (share < 0.99))
    return which, share[which]


def _even(graph: MedialGraph, step: float) -> tuple[Ints, Floats]:
    """Return edges to be divided evenly, each as often as it is to be, and the shares at which."""
    a, b = graph.edges.T
    hop = graph.points[b] - graph.points[a]
    swing = np.abs(graph.spread[b] - graph.spread[a])
    wanted = np.maximum(np.hypot(hop[:, 0], hop[:, 1]) / step, np.minimum(swing / FEET_SWING, MOST_EDGE_PIECES / 2))
    wanted[np.maximum(graph.spread[a], graph.spread[b]) <= OPPOSED_FEET] = 1.0
    cuts = np.maximum(np.minimum(np.ceil(wanted), MOST_EDGE_PIECES).astype(np.int64) - 1, 0)
    which = np.repeat(np.arange(len(cuts)), cuts)
    part = np.arange(len(which)) - np.repeat(np.cumsum(cuts) - cuts, cuts) + 1
    return which, part / (cuts[which] + 1)


def _split(graph: MedialGraph, sides: Ints, s: Samples, which: Ints, share: Floats) -> tuple[MedialGraph, Ints]:
    """Return the graph and its sides with points put into edges: `which` in order, at rising shares of each."""
    if not len(which):
        return graph, sides
    a, b = graph.edges.T
    places = graph.points[a[which]] + share[:, None] * (graph.points[b] - graph.points[a])[which]
    new = len(graph.points) + np.arange(len(which))
    changes = which[1:] != which[:-1]
    first, last = np.concatenate([[True], changes]), np.concatenate([changes, [True]])
    before = np.where(first, a[which], new - 1)
    whole = np.ones(len(a), dtype=bool)
    whole[which] = False
    chain = [graph.edges[whole], np.column_stack([before, new]), np.column_stack([new[last], b[which[last]]])]
    finer = together(graph, seen_from(s, sides[which][:, [0, 1, 1]], places), np.concatenate(chain))
    return finer, np.concatenate([sides[whole], sides[which], sides[which[last]]])


def edges_between(mesh: Delaunay, near: Flags, s: Samples, good: Flags) -> tuple[Ints, Ints]:
    """Return pairs of neighbouring centres whose common side is no piece of the boundary, and the ends of that side."""
    number = np.where(near, np.cumsum(near) - 1, -1)
    triangle, side = np.nonzero(mesh.neighbors >= 0)
    other = mesh.neighbors[triangle, side]
    keep = near[triangle] & near[other] & (triangle < other)
    triangle, side, other = triangle[keep], side[keep], other[keep]
    keep = good[number[triangle]] & good[number[other]]
    triangle, side, other = triangle[keep], side[keep], other[keep]
    one = mesh.simplices[triangle, (side + 1) % 3]
    two = mesh.simplices[triangle, (side + 2) % 3]
    wall = (s.after[one] == two) | (s.before[one] == two)
    pairs = np.column_stack([number[triangle], number[other]])[~wall]
    return np.asarray(pairs, dtype=np.int64), np.column_stack([one, two])[~wall].astype(np.int64)
