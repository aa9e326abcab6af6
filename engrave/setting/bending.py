"""Joined letters on a curve: bent with it, so that their strokes meet as they do on a straight line.

Letters that stand apart are turned whole, as a letterer sets them; joined ones would break at every joint, by a hair
that a bit or beam then makes a gap of.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from engrave.geometry.paths import Contour, Matrix, Point, Segment
from engrave.setting.shapes import Floats
from engrave.typefaces import Glyph, Placed
from engrave.typefaces.forms import Form, glyph

PIECE = 0.12
"""Caps: curves are cut into pieces no longer than this before their points are moved: off by under 0.001 caps then."""

WINDOW = 0.25
"""Caps to either side over which the curve's direction is taken: it is made of chords, and words must not show them."""


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """A closed curve in mm, columns x, y and the distance along it; the words' line lies `held` caps above it."""

    way: Floats
    length: float
    held: float

    def at(self, s: Floats) -> Floats:
        """Return places on the curve at distances s from its start, (n, 2)."""
        s = s % self.length
        return np.column_stack([np.interp(s, self.way[:, 2], self.way[:, k]) for k in (0, 1)])

    def lifted(self, s: Floats, y: Floats, size: float) -> Floats:
        """Return places y caps above the base line at distances s along the curve, for caps of `size` mm."""
        ahead, behind = self.at(s + WINDOW * size), self.at(s - WINDOW * size)
        tangent = (ahead - behind) / np.hypot(*(ahead - behind).T)[:, None]
        normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
        return np.asarray(self.at(s) + (y - self.held)[:, None] * size * normal)


def bent(p: Placed, middle: float, at: float, track: Track, size: float, turned: Matrix) -> Glyph:
    """Return a glyph bent with the track, in its own units, so that `turned` still takes its letter to the lid.

    middle: x in the line's caps that stands at distance `at` (mm) along the track.
    """
    a, b, c, d, e, f = turned
    back = np.linalg.inv(np.array([[a, b], [c, d]]))

    def onto(points: Floats) -> Floats:
        line = points * p.scale + (p.x, p.y)
        on_lid = track.lifted(at + (line[:, 0] - middle) * size, line[:, 1], size)
        return np.asarray(((on_lid - (e, f)) @ back - (p.x, p.y)) / p.scale)

    typeface, name, _ = p.glyph.key.split("/", 2)
    path = tuple(_moved(_pieces(contour, PIECE / p.scale), onto) for contour in p.glyph.path)
    return glyph(typeface, f"{name}~", p.glyph.kind, Form(path, p.glyph.advance))


def _moved(contour: Contour, onto: Callable[[Floats], Floats]) -> Contour:
    points = onto(np.array([contour.start, *(p for s in contour.segments for p in s)]))
    moved: list[Point] = [(float(x), float(y)) for x, y in points]
    segments, at = [], 1
    for segment in contour.segments:
        segments.append(tuple(moved[at : at + len(segment)]))
        at += len(segment)
    if contour.closed and segments:
        segments[-1] = (*segments[-1][:-1], moved[0])
    return Contour(moved[0], tuple(segments), contour.closed)


def _pieces(contour: Contour, longest: float) -> Contour:
    """Return the contour with its segments cut into equal parts whose control points span no more than `longest`."""
    segments: list[Segment] = []
    at = contour.start
    for segment in contour.segments:
        points = [at, *segment]
        spans = sum(math.dist(p, q) for p, q in zip(points, points[1:], strict=False))
        for left in range(max(1, math.ceil(spans / longest)), 1, -1):
            piece, points = _cut(points, 1.0 / left)
            segments.append(tuple(piece[1:]))
        segments.append(tuple(points[1:]))
        at = segment[-1]
    return Contour(contour.start, tuple(segments), contour.closed)


def _cut(points: list[Point], t: float) -> tuple[list[Point], list[Point]]:
    """Cut a Bezier curve in two at a parameter (de Casteljau 1959)."""
    before, after = [points[0]], [points[-1]]
    while len(points) > 1:
        points = [
            ((1.0 - t) * p[0] + t * q[0], (1.0 - t) * p[1] + t * q[1]) for p, q in zip(points, points[1:], strict=False)
        ]
        before.append(points[0])
        after.append(points[-1])
    return before, after[::-1]
