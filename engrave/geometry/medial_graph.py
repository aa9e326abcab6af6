"""The medial graph of a region or of strokes, raw: places that lie midway between two stretches of boundary.

The boundary is sampled, triangulated (Delaunay), and the centre of each triangle's circumcircle is a point of the
graph (Amenta, Bern & Eppstein 1998, on crusts, and Brandt & Algazi 1992 give the convergence). What a point sees is
worked out in `medial_points`, the edges in `medial_edges`; narrow ones (`narrow_strips`) are sought along them.

Unit: whatever the rings are given in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.geometry.medial_edges import MOST_EDGE_PIECES, divided, edges_between, with_rays
from engrave.geometry.medial_points import Flags, MedialGraph, sample, seen_from
from engrave.geometry.paths import Polyline

FAR_RING = 3.0
"""Radius of the ring of far points, in half diagonals of the shape: far enough not to be anything's neighbour."""

FAR_POINTS = 24
"""Points on that ring: enough that open bays are closed by it and not by the hull's own huge triangles."""

STIRRING = 1e-9
"""Share of the shape's size by which samples are stirred: a million times what doubles resolve,
and so little that circles through close samples hold."""

MOST_SAMPLES = 100_000
"""Samples of a shape at most, some seconds: a hundred joined letters have fewer."""

GOLDEN_ANGLE = math.pi * (3.0 - math.sqrt(5.0))
"""The golden angle: no two samples near each other are stirred the same way."""


def medial_graph_of(runs: Sequence[Polyline], step: float, closely: bool = True) -> MedialGraph:
    """Return the medial graph of everything that the polylines `runs` do not touch, on both sides of them.

    step: distance of samples along the boundary; features finer than about twice that are not resolved. Empty when
    there are too few points to triangulate. closely: follow edges between centres too, and into the open, which tells
    how long feet stay opposed; without, only places and their neighbours are wanted.
    """
    runs = [r for r in runs if len(r) > 1]
    if not runs:
        return _nothing()
    # about the origin: far from it, squares of coordinates leave no digits for the distances
    middle = (np.min([r.min(axis=0) for r in runs], axis=0) + np.max([r.max(axis=0) for r in runs], axis=0)) / 2.0
    graph = _medial([r - middle for r in runs], step, closely)
    return replace(graph, points=graph.points + middle)


def _medial(runs: Sequence[Polyline], step: float, closely: bool) -> MedialGraph:
    long = sum(float(np.hypot(*np.diff(r, axis=0).T).sum()) for r in runs)
    from scipy.spatial import Delaunay, QhullError  # here: a fifth of the start of a command that measures nothing new

    s = sample(runs, max(step, long / MOST_SAMPLES))
    try:
        mesh = Delaunay(np.concatenate([_stirred(s.points), _far_ring(s.points)]))
    except (QhullError, ValueError):
        return _nothing()
    near = (mesh.simplices < len(s.points)).all(axis=1)
    corners = mesh.simplices[near].astype(np.int64)
    centres, good = _circumcentres(s.points[corners])
    found = seen_from(s, corners, centres)
    good &= found.radius > 0.0
    found.spread[~good] = 0.0
    edges, sides = edges_between(mesh, near, s, good)
    if not closely:
        return replace(found, edges=edges)
    graph, sides = with_rays(replace(found, edges=edges), sides, mesh, near, s, good, MOST_EDGE_PIECES * step)
    return divided(graph, sides, s, step)


def _nothing() -> MedialGraph:
    none = np.zeros(0)
    return MedialGraph(np.zeros((0, 2)), none, none, none, none, np.zeros((0, 2), dtype=np.int64))


def _stirred(points: Floats) -> Floats:
    """Return the points moved by a hair, each its own way, for the triangulation alone.

    Evenly sampled parallel sides put four points on one circle everywhere, which Qhull untangles at twice the time.
    """
    turn = np.arange(len(points)) * GOLDEN_ANGLE
    hair = STIRRING * float(np.ptp(points, axis=0).max())
    return np.asarray(points + hair * np.column_stack([np.cos(turn), np.sin(turn)]))


def _far_ring(points: Floats) -> Floats:
    low, high = points.min(axis=0), points.max(axis=0)
    middle = (low + high) / 2.0
    reach = FAR_RING * (float(np.hypot(*(high - low))) / 2.0 + 1e-9)
    turn = np.arange(FAR_POINTS) * (2.0 * math.pi / FAR_POINTS)
    return np.asarray(middle + reach * np.column_stack([np.cos(turn), np.sin(turn)]))


def _circumcentres(t: Floats) -> tuple[Floats, Flags]:
    """Return the circumcentres of triangles (m, 3, 2), and which of them are no slivers."""
    b, c = t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]
    cross = 2.0 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    bb, cc = b[:, 0] ** 2 + b[:, 1] ** 2, c[:, 0] ** 2 + c[:, 1] ** 2
    good = np.abs(cross) > 1e-12 * (bb + cc)
    safe = np.where(good, cross, 1.0)
    x = (c[:, 1] * bb - b[:, 1] * cc) / safe
    y = (b[:, 0] * cc - c[:, 0] * bb) / safe
    return t[:, 0] + np.where(good[:, None], np.column_stack([x, y]), 0.0), good
