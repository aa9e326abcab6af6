"""Curves to chords of a stated accuracy, all contours of a piece at once: what is measured, and what a machine is fed.

The number of equal steps in a curve's parameter is sqrt(n (n-1) M / (8 tolerance)), n being its degree and M the
greatest second difference of its control points: Wang's bound (Farin, Curves and Surfaces for CAGD, on subdivision).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise

import numpy as np

from engrave.geometry.arrays import Floats, Ints
from engrave.geometry.paths import Contour, Point, Polyline, StraightLine

MACHINE_CHORD = 0.01
"""mm: how far chords stand off the file's curves. What programs that prepare a job commonly use (0.01 to 0.02 mm,
common practice, no source); finer chords would only make more blocks, coarser ones would show on polished wood."""

LENGTH_CHORD = 0.001
"""mm: how far chords stand off a curve whose length is asked: a ten thousandth of a letter's."""


def flatten(contour: Contour, tolerance: float) -> Polyline:
    """Return the contour as points of shape (n, 2), chords within `tolerance` (in the contour's own unit).

    A closed contour repeats its first point at the end; a dot is one point. Vertices lie on the curve, so chords of a
    convex outline are inscribed.
    """
    return flatten_all([contour], tolerance)[0]


def flatten_all(contours: Sequence[Contour], tolerance: float = MACHINE_CHORD) -> list[Polyline]:
    """Return each contour as `flatten` does, in one pass over all their segments."""
    if all(isinstance(c, StraightLine) or all(len(segment) == 1 for segment in c.segments) for c in contours):
        return [_straight(c) for c in contours]
    curves, sizes = _curves(contours)
    steps = _steps(curves, tolerance)
    counts = np.concatenate([[0], np.cumsum(steps)])[np.concatenate([[0], np.cumsum(sizes)])]
    begins = counts + np.arange(len(counts))  # each contour's start stands before its points
    points = np.empty((int(begins[-1]), 2))
    is_start = np.zeros(len(points), dtype=bool)
    is_start[begins[:-1]] = True
    points[is_start] = [c.start for c in contours]
    points[~is_start] = _points(curves, steps)
    shut = (points[begins[:-1]] == points[begins[1:] - 1]).all(axis=1).tolist()
    lines = [points[a:b] for a, b in pairwise(begins.tolist())]
    return [
        np.concatenate([line, line[:1]]) if c.closed and not meets else line
        for c, line, meets in zip(contours, lines, shut, strict=True)
    ]


def _straight(contour: Contour) -> Polyline:
    """Return the points of a contour that has no curves, as `flatten` does."""
    if isinstance(contour, StraightLine):
        return contour.line
    points = np.array([contour.start, *(segment[0] for segment in contour.segments)], dtype=np.float64)
    meets = bool((points[0] == points[-1]).all())
    return np.concatenate([points, points[:1]]) if contour.closed and not meets else points


def chords_needed(contour: Contour, tolerance: float) -> float:
    """Return how many chords `flatten` would make; infinite where a point lies beyond all figures."""
    curves, _ = _curves([contour])
    if not len(curves.degree):
        return 0.0
    with np.errstate(over="ignore", invalid="ignore"):
        count = float((_wanted(curves, tolerance) + 1.0).sum())
    return count if count == count else math.inf


def bounds(path: Iterable[Contour], tolerance: float = MACHINE_CHORD) -> tuple[float, float, float, float] | None:
    """Return (least x, least y, greatest x, greatest y) of a path flattened to `tolerance`; None if it is empty."""
    arrays = flatten_all(tuple(path), tolerance)
    if not arrays:
        return None
    everything = np.concatenate(arrays)
    low, high = everything.min(axis=0), everything.max(axis=0)
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def length(contour: Contour, tolerance: float = LENGTH_CHORD) -> float:
    """Return the length of a contour, from chords within `tolerance`."""
    points = flatten(contour, tolerance)
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


@dataclass(frozen=True, slots=True)
class _Curves:
    """All segments of some contours: points (m, 4, 2), the last of a line or a quadratic given again; degree (m,)."""

    points: Floats
    degree: Ints


def _curves(contours: Sequence[Contour]) -> tuple[_Curves, list[int]]:
    """Return all segments in order, and how many each contour has."""
    points: list[tuple[Point, ...]] = []
    degree: list[int] = []
    for contour in contours:
        at = contour.start
        for segment in contour.segments:
            points.append((at, *segment, segment[-1], segment[-1])[:4])
            degree.append(len(segment))
            at = segment[-1]
    sizes = [len(contour.segments) for contour in contours]
    flat = np.fromiter(chain.from_iterable(chain.from_iterable(points)), np.float64, 8 * len(points))
    return _Curves(flat.reshape(-1, 4, 2), np.array(degree, dtype=np.int64)), sizes


def _wanted(curves: _Curves, tolerance: float) -> Floats:
    """Return by Wang's bound how many chords each curve needs, not yet whole; 0 for a line."""
    p, n = curves.points, curves.degree
    second = p[:, :-2] - 2.0 * p[:, 1:-1] + p[:, 2:]
    size = np.hypot(second[..., 0], second[..., 1])
    worst = np.where(n == 3, size.max(axis=1), size[:, 0])
    return np.where(n == 1, 0.0, np.sqrt(n * (n - 1) * worst / (8.0 * tolerance)))


def _steps(curves: _Curves, tolerance: float) -> Ints:
    return np.maximum(np.ceil(_wanted(curves, tolerance)).astype(np.int64), 1)


def _points(curves: _Curves, steps: Ints) -> Floats:
    """Return the points after the start of every curve, (sum of steps, 2); the last of each is its end exactly."""
    which = np.repeat(np.arange(len(steps)), steps)
    last = np.cumsum(steps)
    t = ((np.arange(len(which)) - np.repeat(last - steps, steps) + 1.0) * (1.0 / steps)[which])[:, None]
    u = 1.0 - t
    p0, p1, p2, p3 = (curves.points[which, k] for k in range(4))
    points = u**3 * p0 + 3 * u * u * t * p1 + 3 * u * t * t * p2 + t**3 * p3
    square = curves.degree[which] == 2
    points[square] = (u * u * p0 + 2 * u * t * p1 + t * t * p2)[square]
    points[last - 1] = curves.points[:, 3]
    return np.asarray(points, dtype=np.float64)
