"""Joined letters on a curve: bent with it, so that their strokes meet as they do on a straight line.

Letters that stand apart are turned whole, as a letterer sets them; joined ones would break at every joint, by a hair
that a bit or beam then makes a gap of.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from engrave.geometry.affine import Matrix, inverse_matrix, map_points
from engrave.geometry.arrays import Floats
from engrave.geometry.paths import Contour, Point, subdivided
from engrave.typefaces import Glyph, Placed
from engrave.typefaces.letter_form import LetterForm, glyph

CURVE_PIECE = 0.12
"""Caps: curves are cut into pieces no longer than this before their points are moved: off by under 0.001 caps then."""

DIRECTION_WINDOW = 0.25
"""Caps to either side over which the curve's direction is taken: it is made of chords, and words must not show them."""


@dataclass(frozen=True, slots=True, eq=False)
class RimCurve:
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
        ahead, behind = self.at(s + DIRECTION_WINDOW * size), self.at(s - DIRECTION_WINDOW * size)
        tangent = (ahead - behind) / np.hypot(*(ahead - behind).T)[:, None]
        normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
        return np.asarray(self.at(s) + (y - self.held)[:, None] * size * normal)


def bent_glyph(p: Placed, middle: float, at: float, track: RimCurve, size: float, turned: Matrix) -> Glyph:
    """Return a glyph bent with the track, in its own units, so that `turned` still takes its letter to the lid.

    middle: x in the line's caps that stands at distance `at` (mm) along the track.
    """
    back = inverse_matrix(turned)

    def onto(points: Floats) -> Floats:
        line = points * p.scale + (p.x, p.y)
        on_lid = track.lifted(at + (line[:, 0] - middle) * size, line[:, 1], size)
        return np.asarray((map_points(back, on_lid) - (p.x, p.y)) / p.scale)

    typeface, name, _ = p.glyph.key.split("/", 2)
    path = tuple(_moved(subdivided(contour, CURVE_PIECE / p.scale), onto) for contour in p.glyph.path)
    return glyph(typeface, f"{name}~", p.glyph.kind, LetterForm(path, p.glyph.advance))


def _moved(contour: Contour, onto: Callable[[Floats], Floats]) -> Contour:
    points = onto(np.array(contour.points))
    moved: list[Point] = [(float(x), float(y)) for x, y in points]
    segments, at = [], 1
    for segment in contour.segments:
        segments.append(tuple(moved[at : at + len(segment)]))
        at += len(segment)
    if contour.closed and segments:
        segments[-1] = (*segments[-1][:-1], moved[0])
    return Contour(moved[0], tuple(segments), contour.closed)
