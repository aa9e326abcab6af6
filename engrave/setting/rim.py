"""Words along the edge: each letter turned by itself on a curve inside the outline, spaced by arc length.

The curve runs through the letters a little below half their height. Spacing is kept there, so that feet draw together
where letters stand on the outside of a bend and heads where they stand inside; where two neighbours come nearer than
most of the gap they have in a straight line, they are set apart again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from engrave.geometry.paths import Matrix
from engrave.geometry.regions import polygons
from engrave.setting.bending import Track
from engrave.setting.frames import Place
from engrave.setting.programme import most
from engrave.setting.shapes import Floats
from engrave.setting.spaces import edges
from engrave.setting.voices import Voice, measure
from engrave.typefaces import Placed
from engrave.typefaces.characters import JOINING, script_of

HELD_AT = 0.4
"""Caps above the baseline where spacing is kept: at the feet heads would gape, at the heads feet would touch."""

LEAST_GAP = 0.7
"""Share of the gap in a straight line that two neighbours keep on the bend."""

STRAIGHT_GAP = 0.02
"""Caps: neighbours nearer than this in a straight line are meant to touch, and no gap is made between them."""

DEEPEST = 0.55
"""Share of the room's inner radius that a rim's letters may take: deeper, they stand like spokes."""

ROUND_ENOUGH = 0.97
"""Share of its hull that an outline must fill to have a rim: a heart's cusp would throw letters about."""

ALONE, TOGETHER, AROUND = 0.62, 0.42, 0.94
"""Shares of the way round that words take at most: alone they still read as standing upright, two keep apart from each
other, a message round a name may all but close (common practice, no source)."""

DOWN = 0.97
"""Ratio of sizes tried from the estimate down."""

HALVINGS = 4
"""Halvings between the size that goes and the one that does not: to two thousandths."""

CORNER = 3.5
"""Caps: corners of the curve are rounded to this radius, as letters cannot turn in less without falling over."""

ROUNDED_AT_MOST = 0.9
"""Share of the outline's inner radius to which its corners are rounded at most, so that something of it is left."""

SEGMENTS = 24
"""Chords of a quarter circle there: a letter's turn is a few degrees, a chord's under four."""

PUSHES = 2
"""Rounds of setting neighbours apart: the second mends what the first turned."""

INWARD = 8
"""Rounds of moving the curve inwards until wide letters' corners are inside as well; each leaves a tenth to do."""


@dataclass(frozen=True, slots=True)
class Body:
    """Letters that turn together (a letter and its marks). middle: x of its cell's middle, in caps."""

    placed: tuple[Placed, ...]
    middle: float
    points: Floats


@dataclass(frozen=True, slots=True)
class Band:
    """A voice's words in one line, ready for the rim. width: of the ink; top, bottom: how far it reaches, in caps."""

    voice: Voice
    text: str
    bodies: tuple[Body, ...]
    width: float
    top: float
    bottom: float
    gaps: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Bent:
    """A band on the rim: its cap height in mm, and for each body the map from caps to the reader's frame.

    track, at: the curve, and the distance in mm along it at which each body's middle stands.
    """

    band: Band
    cap: float
    maps: tuple[Matrix, ...]
    track: Track
    at: tuple[float, ...]


def has_rim(place: Place) -> bool:
    """Tell whether an area is round enough for words along its edge."""
    return bool(place.outline.area >= ROUND_ENOUGH * place.outline.convex_hull.area)


def ground(place: Place) -> Polygon | None:
    """Return the room without regard to what lies inside it: the outside of the rim's words. None if there is none."""
    parts = polygons(place.solving.shape) if place.solving else []
    return Polygon(parts[0].exterior).convex_hull if parts else None


def band(voice: Voice) -> Band | None:
    """Return a voice's words as one line for the rim; None if they leave no ink."""
    text = " ".join(voice.text.split("\n"))
    run = voice.typeface.shape(text, voice.tracking)
    groups = [tuple(g) for _, g in groupby(run.placed, key=lambda p: p.start)]
    bodies: list[Body] = []
    for group in groups:
        shapes = [(p, m) for p in group if (m := measure(p.glyph))]
        if shapes:
            points = np.concatenate([m.hull * p.scale + (p.x, p.y) for p, m in shapes])
            low, high = points[:, 0].min(), points[:, 0].max()
            bodies.append(Body(tuple(p for p, _ in shapes), float(low + high) / 2, points))
    if not bodies:
        return None
    every = np.concatenate([b.points for b in bodies])
    low, high = every.min(axis=0), every.max(axis=0)
    gaps = tuple(_gap(a.points, b.points) for a, b in zip(bodies[:-1], bodies[1:], strict=True))
    shift = (low[0] + high[0]) / 2
    moved = tuple(
        Body(tuple(replace(p, x=p.x - shift) for p in b.placed), b.middle - shift, b.points - (shift, 0))
        for b in bodies
    )
    return Band(voice, text, moved, float(high[0] - low[0]), float(high[1]), float(-low[1]), gaps)


def _gap(a: Floats, b: Floats) -> float:
    return float(shapely.distance(*_hulls([a, b])))


def _hulls(points: Sequence[Floats]) -> NDArray[np.object_]:
    """Return the convex hulls of several clouds of points at once."""
    index = np.repeat(np.arange(len(points)), [len(p) for p in points])
    return np.asarray(shapely.convex_hull(shapely.linestrings(np.concatenate(points), indices=index)))


def bend(of: Band, outside: Polygon, size: float, share: float, upside: bool) -> Bent | None:
    """Return a band bent along the inside of a convex outline at a cap height in mm, or None if it does not go.

    share: of the way round that it may take. upside: letters' heads outwards, at the top, else inwards, at the bottom.
    """
    normals, offsets = edges(outside)
    smooth = _rounded(outside, CORNER * size)
    reach = of.top if upside else of.bottom
    held = reach - HELD_AT if upside else reach + HELD_AT
    inset = held * size
    for _ in range(INWARD):
        curve = smooth.buffer(-inset, join_style="mitre")
        if not isinstance(curve, Polygon) or curve.is_empty:
            return None
        walked = _walked(of, curve, size, share, upside)
        if walked is None:
            return None
        maps = walked.maps
        points = np.concatenate([_mapped(b.points, m) for b, m in zip(of.bodies, maps, strict=True)])
        over = float((points @ normals.T - offsets).max())
        if over <= 0:
            return walked
        inset += over + 1e-6
    return None


def _rounded(outside: Polygon, radius: float) -> Polygon:
    """Return a convex outline with its corners rounded, as far as its own size allows."""
    radius = min(radius, ROUNDED_AT_MOST * inner_radius(outside))
    return outside.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=SEGMENTS)


@lru_cache(maxsize=256)  # one for each lid and groove of a week
def inner_radius(outside: Polygon) -> float:
    """Return the radius of the largest circle inside a convex outline, in mm."""
    normals, offsets = edges(outside)
    found = most(np.column_stack([normals, np.ones(len(normals))]), offsets)
    return float(found[2]) if found is not None else 0.0


def _mapped(points: Floats, m: Matrix) -> Floats:
    a, b, c, d, e, f = m
    return np.asarray(points @ np.array([[a, b], [c, d]]) + (e, f))


def _walked(of: Band, curve: Polygon, size: float, share: float, upside: bool) -> Bent | None:
    """Place the bodies along a closed curve from its top (or bottom) middle; None if they take too much of it."""
    track = _track(curve, upside)
    length = track.length
    middles = np.array([b.middle for b in of.bodies]) * size
    ends = (of.width - (of.bodies[-1].middle - of.bodies[0].middle)) * size
    for _ in range(PUSHES):
        if middles[-1] - middles[0] + ends > share * length:
            return None
        short = _short(of, _turned(of, middles, track, size), size)
        if not short.any():
            break
        pushed = np.concatenate([[0.0], np.cumsum(short)])
        middles = middles + pushed - pushed[-1] / 2
    if middles[-1] - middles[0] + ends > share * length:
        return None
    return Bent(of, size, _turned(of, middles, track, size), track, tuple(middles.tolist()))


def _short(of: Band, maps: Sequence[Matrix], size: float) -> Floats:
    """Return by how many mm each letter and the next come nearer than they may."""
    if len(maps) < 2:
        return np.zeros(0)
    hulls = _hulls([_mapped(b.points, m) for b, m in zip(of.bodies, maps, strict=True)])
    gaps = np.array(of.gaps)
    lacking = LEAST_GAP * gaps * size - shapely.distance(hulls[:-1], hulls[1:])
    return np.asarray(np.where(gaps < STRAIGHT_GAP, 0.0, np.maximum(lacking, 0.0)))


def _track(curve: Polygon, upside: bool) -> Track:
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
    return Track(np.column_stack([points, s]), float(s[-1]), HELD_AT)


def _turned(of: Band, middles: Floats, track: Track, size: float) -> tuple[Matrix, ...]:
    """Return the maps that stand each body at its distance from the middle, along the chord under its width."""
    half = np.array([max(float(np.ptp(b.points[:, 0])) / 2, 0.1) for b in of.bodies]) * size
    along = track.at(middles + half) - track.at(middles - half)
    x, y = (along / np.hypot(along[:, 0], along[:, 1])[:, None]).T
    at = track.at(middles)
    cx = np.array([b.middle for b in of.bodies])
    e, f = at[:, 0] - size * (x * cx - y * HELD_AT), at[:, 1] - size * (y * cx + x * HELD_AT)
    rows = np.column_stack([size * x, size * y, -size * y, size * x, e, f]).tolist()
    return tuple((a, b, c, d, e, f) for a, b, c, d, e, f in rows)


def largest_bend(of: Band, outside: Polygon, share: float, upside: bool, ceiling: float, least: float) -> Bent | None:
    """Return the band as large as it goes up to `ceiling`, to a few parts in a thousand, or None below `least`."""
    size = min(ceiling, 1.02 * estimate(of, outside, share))
    failed = size
    found = bend(of, outside, size, share, upside)
    while found is None:
        failed, size = size, size * DOWN
        if size < least * DOWN:
            return None
        size = max(size, least)
        found = bend(of, outside, size, share, upside)
        if found is None and size <= least:
            return None
    for _ in range(HALVINGS if failed > size else 0):
        middle = (size + failed) / 2
        larger = bend(of, outside, middle, share, upside)
        if larger is not None:
            found, size = larger, middle
        else:
            failed = middle
    return found


def joined(voice: Voice) -> bool:
    """Tell whether a voice's letters touch by design: in joined typefaces, and in scripts that join."""
    return voice.typeface.joined or any(script_of(c) in JOINING for c in voice.text)


def depth(of: Band, size: float) -> float:
    """Return how deep into the lid a band reaches, in mm."""
    return (of.top + of.bottom) * size


def deepest(of: Band, outside: Polygon) -> float:
    """Return the greatest cap height in mm at which a band still looks like words along an edge."""
    return DEEPEST * inner_radius(outside) / (of.top + of.bottom)


def estimate(of: Band, outside: Polygon, share: float) -> float:
    """Return about how large a band comes out, without bending it.

    The curve at distance d inside a convex outline of length P is P - 2 pi d long (Steiner, 1840).
    """
    reach = of.top - HELD_AT
    return float(share * outside.length / (of.width + share * 2 * np.pi * reach))
