"""Dots that are dots: small rings of a single-line typeface, filled by the way the cutter goes.

Many single-line typefaces draw the dot of an i as a small ring. In a fine groove it stays a ring, in a wide one its
inside fills up, and many readers of SVG leave a hole where a line is wider than the circle that it follows.
"""

from __future__ import annotations

import unicodedata

from engrave.geometry.flattening import bounds, length
from engrave.geometry.paths import Contour, Path, Point

DOT_RADIUS = 13.0 / 700.0
"""Cap heights: full in a groove of 1/50 of the capitals, and 1.4 grooves wide in one of 1/10."""

SMALLEST_RING, LARGEST_RING = 0.03, 0.15
"""Cap heights across: rings seen as dots are 0.047 to 0.13; the smallest true ring (of å) is 0.17."""

_ROUND = 1.5
"""How far from round a ring may be: Hershey's are octagons, and some are drawn by hand."""

_DOTTED = frozenset(".:;!?¡¿…·•÷ijіј")
_DOTS = frozenset("\u0307\u0308\u0323\u0324")
"""A dot or two above or below, as combining marks."""

_QUARTER = 0.5522847498
"""Handle of a quarter circle, in radii: 4/3 (sqrt 2 - 1)."""


def has_dots(char: str) -> bool:
    """Tell whether a character is written with a dot: i, a full stop, a letter with a diaeresis."""
    return bool(({*unicodedata.normalize("NFD", char), char} & (_DOTTED | _DOTS)) or char in "¨˙")


def solid_dots(path: Path) -> Path:
    """Return a path with every small ring made a dot."""
    return tuple(_dot(ring) if _is_ring(ring) else ring for ring in path)


def _is_ring(contour: Contour) -> bool:
    box = bounds((contour,), 0.002)
    if box is None or not contour.segments:
        return False
    wide, high = box[2] - box[0], box[3] - box[1]
    if not SMALLEST_RING < max(wide, high) < LARGEST_RING or max(wide, high) > _ROUND * min(wide, high):
        return False
    gap = max(abs(contour.start[0] - contour.end[0]), abs(contour.start[1] - contour.end[1]))
    return contour.closed or (gap < 0.3 * wide and length(contour) > 2.5 * wide)


def _dot(ring: Contour) -> Contour:
    """Return a dot where a ring was: across it, then once around, in one movement."""
    box = bounds((ring,), 0.002)
    assert box is not None
    x, y, r = (box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0, DOT_RADIUS
    corners: list[Point] = [(r, 0.0), (0.0, r), (-r, 0.0), (0.0, -r), (r, 0.0)]
    segments: list[tuple[Point, ...]] = [((x + r, y),)]
    for (ax, ay), (bx, by) in zip(corners[:-1], corners[1:], strict=True):
        k = _QUARTER
        segments.append(
            ((x + ax + k * bx, y + ay + k * by), (x + bx + k * ax, y + by + k * ay), (x + bx, y + by))
        )  # the corners lie a quarter turn apart: each is the other's tangent
    return Contour((x - r, y), tuple(segments), False)
