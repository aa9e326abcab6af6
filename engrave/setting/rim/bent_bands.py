"""Words bent along the inside of an outline: each letter turned by itself on the curve, set apart where a bend crowds it.

The curve runs through the letters a little below half their height. Spacing is kept there, so that feet draw together
where letters stand on the outside of a bend and heads where they stand inside; where two neighbours come nearer than
most of the gap they have in a straight line, they are set apart again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon

from engrave.geometry.affine import Matrix, map_points
from engrave.geometry.arrays import Floats
from engrave.setting.fit.prepared_room import edges
from engrave.setting.rim.rim_bands import (
    SPACING_HEIGHT,
    RimBand,
    RimGround,
    estimated_cap,
    hulls_of,
    letters_join,
)
from engrave.setting.rim.rim_curve import RimCurve
from engrave.setting.text.fields import all_capitals

BEND_GAP = 0.7
"""Share of the gap in a straight line that two neighbours keep on the bend."""

STRAIGHT_GAP = 0.02
"""Caps: neighbours nearer than this in a straight line are meant to touch, and no gap is made between them."""

BEND_STEP = 0.97
"""Ratio of sizes tried from the estimate down."""

BEND_HALVINGS = 4
"""Halvings between the size that goes and the one that does not: to two thousandths."""

SPARSE = 24
"""Of so many points of a letter one is looked at first."""

CURVE_CORNER = 3.5
"""Caps: corners of the curve are rounded to this radius, as letters cannot turn in less without falling over."""

ROUNDED_SHARE = 0.9
"""Share of the outline's inner radius to which its corners are rounded at most, so that something of it is left."""

CORNER_CHORDS = 24
"""Chords of a quarter circle there: a letter's turn is a few degrees, a chord's under four."""

STRAIGHT_TURN = 0.02
"""Radians: words whose ends turn less than this stand on a straight side, and are not spaced out."""

MOST_SPREAD, MOST_SPREAD_SMALL = 0.5, 0.22
"""Caps that capitals, and small letters, are spaced out for that at most; a space between words twice as much. Small letters
stay half as far apart as words do, about a letter's space (Johnston, 1906), or they no longer read as a word (our eye)."""

SIDE_SHARE = 0.85
"""Share of the size that words would have on an oval at which they stand on a straight side instead: as much as a calm size
gives up; long names would come out small there (our eye, no source)."""

Way = Literal["edge", "side", "oval"]
"""Which line words follow: the outline with its corners rounded, one straight side of it, or the oval inside it."""

PUSH_ROUNDS = 2
"""Rounds of setting neighbours apart: the second mends what the first turned."""

INWARD_ROUNDS = 8
"""Rounds of moving the curve inwards until wide letters' corners are inside as well; each leaves a tenth to do."""


@dataclass(frozen=True, slots=True)
class BentBand:
    """A band on the rim: its cap height in mm, and for each letter the map from caps to the reader's frame.

    track, at: the curve, and the distance in mm along it at which each letter's middle stands. way: which line it follows.
    """

    band: RimBand
    cap: float
    maps: tuple[Matrix, ...]
    track: RimCurve
    at: tuple[float, ...]
    way: Way = "edge"


def bend_band(
    of: RimBand, outside: RimGround, size: float, share: float, upside: bool, way: Way = "edge"
) -> BentBand | None:
    """Return a band bent along the inside of a convex outline at a cap height in mm, or None if it does not go.

    share: of the way round that it may take. upside: letters' heads outwards, at the top, else inwards, at the bottom.
    """
    if way == "oval" and CURVE_CORNER * size > outside.crown:
        return None
    normals, offsets = edges(outside.outline)
    smooth = _line_of(outside, size, way)
    reach = of.top if upside else of.bottom
    held = reach - SPACING_HEIGHT if upside else reach + SPACING_HEIGHT
    inset = held * size
    for _ in range(INWARD_ROUNDS):
        curve = smooth.buffer(-inset, join_style="mitre")
        if not isinstance(curve, Polygon) or curve.is_empty:
            return None
        walked = _walked(of, curve, size, share, upside, outside.spread)
        if walked is None:
            return None
        maps = walked.maps
        if way == "side" and _turn_of(maps) > STRAIGHT_TURN:
            return None
        over = _most_beyond([map_points(m, b.points) for b, m in zip(of.letters, maps, strict=True)], normals, offsets)
        if over <= 0:
            return replace(walked, way=way)
        inset += over + 1e-6
    return None


def _line_of(outside: RimGround, size: float, way: Way) -> Polygon:
    if way == "oval":
        return outside.oval
    return outside.outline if way == "side" else _rounded(outside, CURVE_CORNER * size)


def _turn_of(maps: Sequence[Matrix]) -> float:
    """Return by how many radians the last letter is turned against the first."""
    first, last = maps[0], maps[-1]
    return float(abs(np.arctan2(last[1], last[0]) - np.arctan2(first[1], first[0])))


def _most_beyond(letters: Sequence[Floats], normals: Floats, offsets: Floats) -> float:
    """Return how far letters' points (n, 2) lie beyond any of some sides at most: of each letter those sides that may be meant.

    Some of the points tell how much it is at least, a letter's box how much it is at most.
    """
    boxes = np.array([_corners(points) for points in letters])
    least = float((np.concatenate([points[::SPARSE] for points in letters]) @ normals.T - offsets).max())
    near = (boxes @ normals.T).max(axis=1) - offsets >= least
    found = [
        float((points @ normals[sides].T - offsets[sides]).max())
        for points, sides in zip(letters, near, strict=True)
        if sides.any()
    ]
    return max([least, *found])


def _corners(points: Floats) -> Floats:
    (left, low), (right, high) = points.min(axis=0), points.max(axis=0)
    return np.array([(left, low), (right, low), (right, high), (left, high)])


def _rounded(outside: RimGround, radius: float) -> Polygon:
    """Return a convex outline with its corners rounded, as far as its own size allows."""
    radius = min(radius, ROUNDED_SHARE * outside.radius)
    return outside.outline.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=CORNER_CHORDS)


def _walked(of: RimBand, curve: Polygon, size: float, share: float, upside: bool, spread: float) -> BentBand | None:
    """Place the letters along a closed curve from its top (or bottom) middle; None if they take too much of it."""
    track = _track(curve, upside)
    length = track.length
    middles = np.array([b.middle for b in of.letters]) * size
    ends = (of.width - (of.letters[-1].middle - of.letters[0].middle)) * size
    if _turn_of(_turned(of, middles, track, size)) > STRAIGHT_TURN:
        middles = _spaced_out(of, middles, ends, min(spread, share) * length, size)
    for _ in range(PUSH_ROUNDS):
        if middles[-1] - middles[0] + ends > share * length:
            return None
        short = _short(of, _turned(of, middles, track, size), size)
        if not short.any():
            break
        pushed = np.concatenate([[0.0], np.cumsum(short)])
        middles = middles + pushed - pushed[-1] / 2
    if middles[-1] - middles[0] + ends > share * length:
        return None
    return BentBand(of, size, _turned(of, middles, track, size), track, tuple(middles.tolist()))


def _spaced_out(of: RimBand, middles: Floats, ends: float, length: float, size: float) -> Floats:
    """Return the letters' middles, spaced out towards a length of the way round; joined letters stay joined."""
    lacks = length - (middles[-1] - middles[0] + ends)
    if lacks <= 0 or len(middles) < 2 or letters_join(of.shaped):
        return middles
    most = MOST_SPREAD if all_capitals(of.shaped.text) else MOST_SPREAD_SMALL
    parts = np.array([2.0 if ends_word else 1.0 for ends_word in of.words])
    pushed = np.concatenate([[0.0], np.cumsum(parts * min(lacks / parts.sum(), most * size))])
    return np.asarray(middles + pushed - pushed[-1] / 2)


def _short(of: RimBand, maps: Sequence[Matrix], size: float) -> Floats:
    """Return by how many mm each letter and the next come nearer than they may."""
    if len(maps) < 2:
        return np.zeros(0)
    hulls = hulls_of([map_points(m, b.points) for b, m in zip(of.letters, maps, strict=True)])
    gaps = np.array(of.gaps)
    lacking = BEND_GAP * gaps * size - shapely.distance(hulls[:-1], hulls[1:])
    return np.asarray(np.where(gaps < STRAIGHT_GAP, 0.0, np.maximum(lacking, 0.0)))


def _track(curve: Polygon, upside: bool) -> RimCurve:
    """Return a closed curve by the distance from its middle top, or bottom, as its letters are read."""
    ring = np.asarray(curve.exterior.coords)
    if curve.exterior.is_ccw == upside:  # letters at the top are read clockwise, those at the bottom the other way
        ring = ring[::-1]
    middle = (ring[:, 0].min() + ring[:, 0].max()) / 2
    crossing = [
        (k, (middle - ring[k, 0]) / (ring[k + 1, 0] - ring[k, 0]))
        for k in range(len(ring) - 1)
        if (ring[k, 0] - middle) * (ring[k + 1, 0] - middle) <= 0 and ring[k, 0] != ring[k + 1, 0]
    ]
    sign = 1.0 if upside else -1.0
    k, t = max(crossing, key=lambda c: sign * (ring[c[0], 1] + c[1] * (ring[c[0] + 1, 1] - ring[c[0], 1])))
    start = ring[k] + t * (ring[k + 1] - ring[k])
    points = np.concatenate([[start], ring[k + 1 : -1], ring[: k + 1], [start]])
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return RimCurve(np.column_stack([points, s]), float(s[-1]), SPACING_HEIGHT)


def _turned(of: RimBand, middles: Floats, track: RimCurve, size: float) -> tuple[Matrix, ...]:
    """Return the maps that stand each letter at its distance from the middle, along the chord under its width."""
    half = np.array([max(float(np.ptp(b.points[:, 0])) / 2, 0.1) for b in of.letters]) * size
    along = track.at(middles + half) - track.at(middles - half)
    x, y = (along / np.hypot(along[:, 0], along[:, 1])[:, None]).T
    at = track.at(middles)
    cx = np.array([b.middle for b in of.letters])
    e, f = at[:, 0] - size * (x * cx - y * SPACING_HEIGHT), at[:, 1] - size * (y * cx + x * SPACING_HEIGHT)
    rows = np.column_stack([size * x, size * y, -size * y, size * x, e, f]).tolist()
    return tuple((a, b, c, d, e, f) for a, b, c, d, e, f in rows)


def largest_bend(
    of: RimBand, outside: RimGround, share: float, upside: bool, ceiling: float, least: float, side: bool = True
) -> BentBand | None:
    """Return the band as large as it goes up to `ceiling`, to a few parts in a thousand, or None below `least`.

    Where an outline has sides, on one of them if that makes it little smaller (side: whether it may), else on an oval:
    letters that turn round a corner fall over, and the eye sees a bend in the word.
    """
    if not outside.has_sides:
        return _largest(of, outside, share, upside, ceiling, least, "edge")
    oval = _largest(of, outside, share, upside, ceiling, least, "oval")
    lowest = max(least, SIDE_SHARE * oval.cap) if oval else least
    straight = _largest(of, outside, share, upside, ceiling, lowest, "side") if side else None
    return straight or oval or _largest(of, outside, share, upside, ceiling, least, "edge")


def _largest(
    of: RimBand, outside: RimGround, share: float, upside: bool, ceiling: float, least: float, way: Way
) -> BentBand | None:
    size = min(ceiling, 1.02 * estimated_cap(of, outside, share))
    failed = size
    found = bend_band(of, outside, size, share, upside, way)
    while found is None:
        failed, size = size, size * BEND_STEP
        if size < least * BEND_STEP:
            return None
        size = max(size, least)
        found = bend_band(of, outside, size, share, upside, way)
        if found is None and size <= least:
            return None
    for _ in range(BEND_HALVINGS if failed > size else 0):
        middle = (size + failed) / 2
        larger = bend_band(of, outside, middle, share, upside, way)
        if larger is not None:
            found, size = larger, middle
        else:
            failed = middle
    return found
