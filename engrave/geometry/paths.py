"""Paths of lines and Bezier curves: the one form in which outlines, strokes and lids are kept.

A segment is a tuple of points: `(end,)` a straight line, `(control, end)` a quadratic, `(control, control, end)` a
cubic curve. Curves stay curves until something must be measured; then `flattening` makes chords to a stated accuracy.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.affine import Matrix, map_point

Point = tuple[float, float]
Segment = tuple[Point, ...]
Polyline = NDArray[np.float64]
"""Points as an array of shape (n, 2)."""


@dataclass(frozen=True, slots=True)
class Contour:
    """One unbroken run of segments. A closed contour's last segment ends at its start."""

    start: Point
    segments: tuple[Segment, ...]
    closed: bool

    @property
    def end(self) -> Point:
        """Where the run ends: its start if it is closed or has no segments."""
        return self.segments[-1][-1] if self.segments else self.start

    @property
    def points(self) -> list[Point]:
        """All points in order, those that shape curves among them."""
        return [self.start, *[p for segment in self.segments for p in segment]]

    def reversed(self) -> Contour:
        """Return the same curve travelled the other way."""
        nodes = [self.start, *(s[-1] for s in self.segments)]
        back = tuple((*reversed(segment[:-1]), nodes[i]) for i, segment in reversed(list(enumerate(self.segments))))
        return Contour(nodes[-1], back, self.closed)

    def transformed(self, m: Matrix) -> Contour:
        """Return the contour mapped by the affine matrix m."""
        a, b, c, d, e, f = m  # written out: every point of every letter comes by
        mapped = tuple([tuple([(a * x + c * y + e, b * x + d * y + f) for x, y in s]) for s in self.segments])
        return Contour(map_point(m, self.start), mapped, self.closed)


Path = tuple[Contour, ...]


def transformed(path: Iterable[Contour], m: Matrix) -> Path:
    """Return a path mapped by an affine matrix."""
    return tuple(contour.transformed(m) for contour in path)


def polygon_path(points: Sequence[Point], closed: bool = True) -> Contour:
    """Return the straight-sided contour through the points (without repeating the first at the end)."""
    first = (float(points[0][0]), float(points[0][1]))
    rest = [((float(x), float(y)),) for x, y in points[1:]]
    if closed:
        rest.append((first,))
    return Contour(first, tuple(rest), closed)


class StraightLine(Contour):
    """An open contour of straight sides through two points or more, which it keeps as an array `line`, (n, 2).

    It is equal to any contour of the same points; they are made into segments only where somebody asks for those.
    """

    __slots__ = ("line",)
    line: Polyline

    def __init__(self, line: Polyline) -> None:
        """Take the points as they are; nobody may change them afterwards."""
        x, y = line[0].tolist()
        for name, value in (("start", (x, y)), ("closed", False), ("line", line)):
            object.__setattr__(self, name, value)

    @property
    def segments(self) -> tuple[Segment, ...]:
        """The sides, each by its end; made anew each time."""
        return tuple(zip(self.points[1:], strict=True))

    @property
    def end(self) -> Point:
        """Where the line ends."""
        x, y = self.line[-1].tolist()
        return x, y

    @property
    def points(self) -> list[Point]:
        """All points in order."""
        return [(x, y) for x, y in self.line.tolist()]

    def __eq__(self, other: object) -> bool:
        """Tell whether the other is a contour of the same points."""
        if isinstance(other, StraightLine):
            return self.line is other.line or np.array_equal(self.line, other.line)
        if isinstance(other, Contour):
            return (self.start, self.segments, self.closed) == (other.start, other.segments, other.closed)
        return NotImplemented

    def __hash__(self) -> int:
        """Return what any equal contour has."""
        return hash((self.start, self.segments, self.closed))

    def __reduce__(self) -> tuple[type[StraightLine], tuple[Polyline]]:
        """Go to another process as an array."""
        return StraightLine, (self.line,)


def line_path(points: Polyline) -> Contour:
    """Return the open contour through points of shape (n, 2)."""
    if len(points) > 1:
        return StraightLine(points)
    x, y = points[0].tolist()
    return Contour((x, y), (), False)


def subdivided(contour: Contour, longest: float) -> Contour:
    """Return the contour with its segments cut into equal parts whose control points span no more than `longest`."""
    segments: list[Segment] = []
    at = contour.start
    for segment in contour.segments:
        rest = segment
        spans = sum(math.dist(p, q) for p, q in pairwise((at, *segment)))
        for left in range(max(1, math.ceil(spans / longest)), 1, -1):
            piece, rest = split(at, rest, 1.0 / left)
            segments.append(piece)
            at = piece[-1]
        segments.append(rest)
        at = rest[-1]
    return Contour(contour.start, tuple(segments), contour.closed)


def split(start: Point, segment: Segment, t: float) -> tuple[Segment, Segment]:
    """Return a curve in two at parameter t, by de Casteljau's construction."""
    points = [start, *segment]
    head: list[Point] = []
    tail: list[Point] = []
    while points:
        head.append(points[0])
        tail.insert(0, points[-1])
        points = [(p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])) for p, q in pairwise(points)]
    return tuple(head[1:]), tuple(tail[1:])


def box(path: Iterable[Contour]) -> tuple[float, float, float, float] | None:
    """Return the exact bounding box (least x, least y, greatest x, greatest y) of a path; None if it is empty."""
    xs: list[float] = []
    ys: list[float] = []
    for contour in path:
        at = contour.start
        xs.append(at[0])
        ys.append(at[1])
        for segment in contour.segments:
            curve = (at, *segment)
            xs.extend(_extremes([p[0] for p in curve]))
            ys.extend(_extremes([p[1] for p in curve]))
            at = segment[-1]
    return (min(xs), min(ys), max(xs), max(ys)) if xs else None


def _extremes(c: list[float]) -> list[float]:
    """Return the end of a Bezier curve in one coordinate, and its values where its derivative is zero."""
    if len(c) == 2:
        return [c[1]]
    if len(c) == 3:
        bend = c[0] - 2 * c[1] + c[2]
        roots = [(c[0] - c[1]) / bend] if bend else []
    else:
        roots = _roots(-c[0] + 3 * c[1] - 3 * c[2] + c[3], 2 * (c[0] - 2 * c[1] + c[2]), c[1] - c[0])
    return [c[-1], *(_bezier(c, t) for t in roots if 0 < t < 1)]


def _roots(a: float, b: float, c: float) -> list[float]:
    """Return the real roots of a t^2 + b t + c, in the form that does not lose digits when a is small."""
    square = b * b - 4 * a * c
    if square < 0:
        return []
    q = -0.5 * (b + math.copysign(math.sqrt(square), b))
    return [top / under for top, under in ((q, a), (c, q)) if under]


def _bezier(c: list[float], t: float) -> float:
    """Return the value of a Bezier curve in one coordinate by de Casteljau's construction."""
    while len(c) > 1:
        c = [(1 - t) * p + t * q for p, q in zip(c, c[1:], strict=False)]
    return c[0]
