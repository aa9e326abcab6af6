"""Curves to chords, all contours of a piece at once: what a machine's controller is really fed with."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engrave.geometry.paths import Contour, Point, Polyline

FLAT = 0.01
"""mm: how far chords stand off the file's curves. What programs that prepare a job commonly use (0.01 to 0.02 mm,
common practice, no source); finer chords would only make more blocks, coarser ones would show on polished wood."""


def polylines(contours: Sequence[Contour], tolerance: float = FLAT) -> list[Polyline]:
    """Return each contour as points (n, 2), a closed one ending where it began; one point for a dot.

    Every segment is raised to a cubic (a line keeps one chord); the number of equal steps in the parameter is Wang's
    bound sqrt(3 M / (4 tolerance)), M being the greatest second difference of the control points (Farin, Curves and
    Surfaces for CAGD).
    """
    curves, straight, sizes = _cubics(contours)
    if not len(curves):
        return [np.array([c.start], dtype=np.float64) for c in contours]
    steps = _steps(curves, straight, tolerance)
    points = _points(curves, steps)
    ends = np.cumsum(steps)
    lines, segment, at = [], 0, 0
    for contour, size in zip(contours, sizes, strict=True):
        segment += size
        end = int(ends[segment - 1]) if size else at
        lines.append(np.concatenate([np.array([contour.start], dtype=np.float64), points[at:end]]))
        at = end
    return [_closed(line) if c.closed else line for c, line in zip(contours, lines, strict=True)]


def _cubics(contours: Sequence[Contour]) -> tuple[Polyline, np.ndarray, list[int]]:
    """Return all segments as cubics (m, 4, 2), which of them are straight, and how many each contour has."""
    cubics: list[tuple[Point, Point, Point, Point]] = []
    straight: list[bool] = []
    sizes = []
    for contour in contours:
        at = contour.start
        for segment in contour.segments:
            cubics.append(_raised(at, segment))
            straight.append(len(segment) == 1)
            at = segment[-1]
        sizes.append(len(contour.segments))
    return np.array(cubics, dtype=np.float64).reshape(-1, 4, 2), np.array(straight, dtype=bool), sizes


def _raised(a: Point, segment: tuple[Point, ...]) -> tuple[Point, Point, Point, Point]:
    """Return a line, quadratic or cubic as the four control points of a cubic."""
    if len(segment) == 3:
        return (a, *segment)
    if len(segment) == 1:
        return (a, a, segment[0], segment[0])
    (bx, by), (cx, cy) = segment
    first = (a[0] + 2.0 * (bx - a[0]) / 3.0, a[1] + 2.0 * (by - a[1]) / 3.0)
    return (a, first, (cx + 2.0 * (bx - cx) / 3.0, cy + 2.0 * (by - cy) / 3.0), segment[1])


def _steps(curves: Polyline, straight: np.ndarray, tolerance: float) -> np.ndarray:
    second = curves[:, :-2] - 2.0 * curves[:, 1:-1] + curves[:, 2:]
    worst = np.sqrt(np.einsum("mij,mij->mi", second, second)).max(axis=1)
    steps = np.ceil(np.sqrt(0.75 * worst / tolerance) - 1e-9).astype(np.int64)
    return np.where(straight, 1, np.maximum(steps, 1))


def _points(curves: Polyline, steps: np.ndarray) -> Polyline:
    """Return the points after the start of every curve, (sum of steps, 2); the last of each is its end exactly."""
    which = np.repeat(np.arange(len(curves)), steps)
    last = np.cumsum(steps)
    t = (np.arange(len(which)) - np.repeat(last - steps, steps) + 1.0) / steps[which]
    u = 1.0 - t
    weights = np.stack([u**3, 3.0 * u * u * t, 3.0 * u * t * t, t**3], axis=1)
    points = np.einsum("nk,nkd->nd", weights, curves[which])
    points[last - 1] = curves[:, 3]
    return np.asarray(points, dtype=np.float64)


def _closed(line: Polyline) -> Polyline:
    return line if (line[0] == line[-1]).all() else np.concatenate([line, line[:1]])
