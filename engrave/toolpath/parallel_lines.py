"""Lines side by side worked out from an outline's curves: many depths at once, without wearing areas step by step.

A place on an outline, moved inwards along its normal, is as far from the outline as it was moved, unless another place is
nearer. So a parallel curve is known in closed form down to the first depth at which the outline's own bend, or the other
side of the stroke, comes in its way; that is not yet so where the curve turns back nowhere and crosses neither itself nor
another (R. T. Farouki & C. A. Neff, 'Analytic properties of plane offset curves', Computer Aided Geometric Design 7, 1990).
What lies deeper, and parts of which this cannot be said, are worn as areas (`worn_areas`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree

from engrave.geometry.arrays import Floats, Ints, distinct
from engrave.geometry.paths import Contour, Path
from engrave.toolpath.join import rotated
from engrave.toolpath.moves import SAME_PLACE
from engrave.toolpath.worn_areas import LINE_CHORD, Begun, MarkWidth, core_reach, half_mark

OWN_CHORD, LAST_CHORD = 0.8 * LINE_CHORD, 0.5 * LINE_CHORD
"""mm that the lines may stand off here, and those on which others hang. Less than is allowed: at 1.0 there are a tenth fewer
points than of lines worn as areas, but machines brake at each, and take as long or longer; at 0.8, 0.3 % less time."""

SMOOTH = 0.02
"""Turn in radians up to which two curves run on into each other: their fit leaves so much; 0.1 µm on a pen of 3 mm."""

LEAST_SPEED = 0.02
"""Share of an outline's length that is left of it in a parallel curve at least: where it comes to a point, the last digits
of its bend would tell."""

LOOKED_AT = np.linspace(0.0, 1.0, 5)
"""Parameters at which a curve's bend is looked at."""

BOOLE = np.array([7.0, 32.0, 12.0, 32.0, 7.0]) / 90.0
"""Weights of these for an integral, exact up to the fifth power (Boole's rule): an area under a cubic is of that."""

LEAST_POINTS = 4
"""Points of a closed line at least."""

Truths = NDArray[np.bool_]
Planar = NDArray[np.complex128]
"""Places in the plane as x + iy."""


@dataclass(frozen=True, slots=True)
class _Pieces:
    """The m pieces of some rings, in order: curves, and fans where an outline turns outwards.

    powers (m, 4): a place, x + iy, by powers of the parameter; a fan stands still. first (m,): the inward normal where a
    piece begins. swing (m,): by how many radians a fan turns it. inside (m,): 1 where the area lies on the side to which x
    is turned to y, else -1. ring, part (m,): what a piece belongs to, by number; many (m,): how many pieces its ring has.
    """

    powers: Planar
    first: Planar
    swing: Floats
    inside: Floats
    ring: Ints
    part: Ints
    many: Ints


def contours_of(parts: Sequence[Polygon], drawn: Path) -> list[Path | None]:
    """Return the contours of each part's shell and holes, begun near where these begin; None where they are not its own.

    drawn: contours as drawn, of which the parts are the areas.
    """
    rings, of = shapely.get_rings(np.array(parts, dtype=object), return_index=True)
    closed = [contour for contour in drawn if contour.closed and contour.segments]
    if not len(rings) or not closed:
        return [None] * len(parts)
    starts = shapely.points([contour.start for contour in closed])
    near = STRtree(rings).nearest(starts)
    lies_on = np.flatnonzero(shapely.distance(rings[near], starts) <= SAME_PLACE)
    owner = np.zeros(len(rings), dtype=np.int64)
    owner[near[lies_on]] = lies_on
    clear = np.bincount(near[lies_on], minlength=len(rings)) == 1
    begins = shapely.get_coordinates(shapely.get_point(rings, 0))
    ends = np.searchsorted(of, np.arange(len(parts) + 1)).tolist()
    return [
        tuple(_begun_near(closed[owner[k]], begins[k]) for k in range(a, b)) if clear[a:b].all() else None
        for a, b in pairwise(ends)
    ]


def _begun_near(contour: Contour, place: Floats) -> Contour:
    nodes = np.array([contour.start, *(segment[-1] for segment in contour.segments[:-1])]) - place
    return rotated(contour, int(np.hypot(nodes[:, 0], nodes[:, 1]).argmin()))


def lines_begun(
    parts: Sequence[Polygon], contours: Sequence[Path | None], mark: MarkWidth, steps: Sequence[float], levels: Sequence[int]
) -> list[Begun]:  # fmt: skip
    """Return of each part the closed lines (n, 2) that follow from its curves, outermost first, and how deep they lead.

    contours: of each part those of its shell and its holes, or None. steps: how many mm its lines are apart. levels: how
    many lines lie between the edge of its strokes and their middle; none is sought deeper.
    """
    found = [Begun() for _ in parts]
    known = [k for k, path in enumerate(contours) if path is not None]
    if known:
        pieces, able = _pieces([parts[k] for k in known], [contours[k] or () for k in known])
        apart = np.array(steps)[known]
        bends = _bends(pieces, half_mark(mark), apart)
        deepest = np.where(able, np.minimum(bends.levels_regular(), np.array(levels)[known]), 0)
        asked = np.ceil(core_reach(mark) / apart - 1.0).astype(np.int64).clip(0)
        rings = _rings(bends, deepest, deepest - asked)
        for k, one in zip(known, _begun(rings, deepest, asked), strict=True):
            found[k] = one
    return found


def _pieces(parts: Sequence[Polygon], contours: Sequence[Path]) -> tuple[_Pieces, Truths]:
    """Return the pieces of the parts' contours, and tell of each part whether they are those of an outline of its area."""
    powers, sizes = _powers([contour for path in contours for contour in path])
    of = np.repeat(np.arange(len(parts)), [len(path) for path in contours])
    ring = np.repeat(np.arange(len(sizes)), sizes)
    ends = np.cumsum(sizes)
    shell = np.searchsorted(of, np.arange(len(parts)))
    place, along = _at(powers[:, :, None], LOOKED_AT)
    area = np.add.reduceat(_cross(place, along) @ BOOLE / 2.0, ends - sizes)
    inside = np.sign(area[shell])
    able = np.logical_and.reduceat(_as_large(area * inside[of], parts), shell)
    before = np.arange(len(ring)) - 1
    before[ends - sizes] = ends - 1
    side = inside[of[ring]]
    with np.errstate(invalid="ignore", divide="ignore"):
        first, last = (1j * side * z / np.abs(z) for z in (along[:, 0], along[:, -1]))
        turn = np.angle(first / last[before])
        middle = first + last[before]
        joined = np.where(np.abs(turn) <= SMOOTH, middle / np.abs(middle), first)
    able &= np.logical_and.reduceat(side * turn <= SMOOTH, (ends - sizes)[shell])  # what has no direction is not
    fans = np.flatnonzero(side * turn < -SMOOTH)
    order = np.argsort(np.concatenate([np.arange(len(ring)), fans - 0.5]), kind="stable")
    stands = powers[fans] * (1.0, 0.0, 0.0, 0.0)
    ring = np.concatenate([ring, ring[fans]])[order]
    return _Pieces(
        powers=np.concatenate([powers, stands])[order],
        first=np.concatenate([joined, last[before[fans]]])[order],
        swing=np.concatenate([np.zeros(len(side)), turn[fans]])[order],
        inside=inside[of[ring]],
        ring=ring,
        part=of[ring],
        many=np.bincount(ring)[ring],
    ), able


def _powers(contours: Sequence[Contour]) -> tuple[Planar, Ints]:
    """Return all segments (m, 4) by powers of their parameter, and how many each contour has; none without a length."""
    points: list[tuple[tuple[float, float], ...]] = []
    degree: list[int] = []
    sizes: list[int] = []
    for contour in contours:
        at, before = contour.start, len(points)
        for segment in contour.segments:
            if len(segment) > 1 or segment[0] != at:
                points.append((at, *segment, segment[-1], segment[-1])[:4])
                degree.append(len(segment))
            at = segment[-1]
        sizes.append(len(points) - before)
    flat = np.fromiter(chain.from_iterable(chain.from_iterable(points)), np.float64, 8 * len(points))
    p0, p1, p2, p3 = flat.view(np.complex128).reshape(-1, 4).T
    n = np.array(degree)
    second = np.where(n == 1, 0.0, np.where(n == 2, 1.0, 3.0) * (p0 - 2.0 * p1 + p2))
    third = np.where(n == 3, p3 - p0 + 3.0 * (p1 - p2), 0.0)
    return np.stack([p0, n * (p1 - p0), second, third], axis=1), np.array(sizes)


def _at(powers: Planar, t: Floats) -> tuple[Planar, Planar]:
    """Return places of pieces (m, 4, ...) at parameters, and how they go on there."""
    c0, c1, c2, c3 = powers[:, 0], powers[:, 1], powers[:, 2], powers[:, 3]
    if not c3.any():
        return (c2 * t + c1) * t + c0, 2.0 * c2 * t + c1
    return ((c3 * t + c2) * t + c1) * t + c0, (3.0 * c3 * t + 2.0 * c2) * t + c1


def _as_large(areas: Floats, parts: Sequence[Polygon]) -> Truths:
    """Tell of each ring whether it goes round as much as the part's own, shells one way and holes the other."""
    rings, of = shapely.get_rings(np.array(parts, dtype=object), return_index=True)
    turned = np.where(np.append(False, of[1:] == of[:-1]), -1.0, 1.0)
    off = np.abs(areas * turned - shapely.area(shapely.polygons(rings)))
    return np.asarray(off <= LINE_CHORD * shapely.length(rings))


def _cross(one: Planar, other: Planar) -> Floats:
    return np.asarray((one.conj() * other).imag)


@dataclass(frozen=True, slots=True)
class _Bends:
    """How pieces bend, so that it is known of each depth how far it can be followed and how many chords it takes.

    half: half of the mark along x and y. step (m,): mm from one line to the next. speed, bend, mark (m, 5): at some
    parameters, the mm and the radians inwards that a piece goes by parameter, and the radius of the mark there.
    """

    pieces: _Pieces
    half: Floats
    step: Floats
    speed: Floats
    bend: Floats
    mark: Floats

    def levels_regular(self) -> Ints:
        """Return how many lines of each part turn back nowhere."""
        with np.errstate(divide="ignore", invalid="ignore"):
            deep = ((1.0 - LEAST_SPEED) * self.speed / self.bend - self.mark) / self.step[:, None]
        most = np.where(self.bend > 0.0, np.floor(deep) + 1.0, MOST_LEVELS).min(axis=1)
        found = np.minimum.reduceat(most, np.flatnonzero(_differs(self.pieces.part)))
        return np.asarray(np.clip(np.nan_to_num(found), 0, MOST_LEVELS), dtype=np.int64)

    def sampled(self, level: Ints, piece: Ints, chord: Floats) -> tuple[Floats, Ints]:
        """Return the points of lines (n, 2), piece after piece, and how many each piece has.

        level: how many lines lie outside of it. Chords stand off a curve by an eighth of what its way and its turn between
        their ends come to together.
        """
        pieces, deep = self.pieces, level * self.step[piece]
        way = self.speed[piece] - self.bend[piece] * (self.mark[piece] + deep[:, None])
        wanted = np.sqrt(np.abs(way * self.bend[piece]).max(axis=1) / (8.0 * chord))
        many = np.ceil(np.maximum(wanted, LEAST_POINTS / pieces.many[piece])).astype(np.int64)
        which = np.repeat(np.arange(len(piece)), many)
        nth = np.arange(len(which)) - np.repeat(np.cumsum(many) - many, many)
        own, t = piece[which], nth / many[which]
        place, along = _at(pieces.powers[own], t)
        with np.errstate(invalid="ignore"):
            normal = 1j * pieces.inside[own] * along / np.abs(along)
        given = np.flatnonzero((nth == 0) | (pieces.swing[own] != 0.0))
        normal[given] = pieces.first[own[given]] * np.exp(1j * pieces.swing[own[given]] * t[given])
        found = (place + deep[which] * normal).view(np.float64).reshape(-1, 2)
        across = normal.view(np.float64).reshape(-1, 2) * self.half
        return found + across * (self.half / np.hypot(across[:, 0], across[:, 1])[:, None]), many


DEPTHS_TRIED = 4
"""Times at most that the deepest line is sought which is not crossed: all of fifteen are told apart."""

MOST_LEVELS = 10_000
"""Lines side by side from an edge to the middle of a stroke, as good as any number."""


def _bends(pieces: _Pieces, half: Floats, steps: Floats) -> _Bends:
    """Return how pieces bend; of a mark of unlike width the radius is that of an ellipse where it touches the outline."""
    _, along = _at(pieces.powers[:, :, None], LOOKED_AT)
    speed = np.abs(along)
    fan = (pieces.swing != 0.0)[:, None]
    turned = pieces.swing[:, None]
    with np.errstate(invalid="ignore", divide="ignore"):
        turns = _cross(along, 6.0 * pieces.powers[:, 3, None] * LOOKED_AT + 2.0 * pieces.powers[:, 2, None]) / speed**2
        normal = np.where(fan, pieces.first[:, None] * np.exp(1j * turned * LOOKED_AT), 1j * along / speed)
    mark = np.prod(half) ** 2 / np.hypot(half[0] * normal.real, half[1] * normal.imag) ** 3
    bend = pieces.inside[:, None] * np.where(fan, turned, turns)
    return _Bends(pieces, half, steps[pieces.part], speed, bend, mark)


@dataclass(frozen=True, slots=True)
class _Rings:
    """Closed lines (n, 2), part by part, the outermost first, of each depth the shell before its holes. part, level: of each.

    is_shell: whether it goes round its area, or round a hole. turned: whether it runs the other way than a buffer's ring.
    """

    lines: list[Floats]
    part: Ints
    level: Ints
    is_shell: Truths
    turned: Truths


def _rings(bends: _Bends, deepest: Ints, last: Ints) -> _Rings:
    """Return each part's lines down to its deepest. Those that may be the last have chords twice as good: what is deeper
    hangs on them.
    """
    pieces = bends.pieces
    level, piece = np.nonzero(np.arange(deepest.max(initial=0))[:, None] < deepest[pieces.part])
    order = np.argsort(pieces.part[piece], kind="stable")
    level, piece = level[order], piece[order]
    part, ring = pieces.part[piece], pieces.ring[piece]
    is_last = level == np.maximum(last, 1)[part] - 1
    points, many = bends.sampled(level, piece, np.where(is_last, LAST_CHORD, OWN_CHORD))
    new = np.flatnonzero(_differs(ring) | _differs(level))
    sizes = np.add.reduceat(many, new) if len(new) else new
    begins = np.cumsum(sizes) - sizes
    closed = np.empty((len(points) + len(sizes), 2))
    shift = np.arange(len(sizes))
    closed[np.arange(len(points)) + np.repeat(shift, sizes)] = points
    closed[begins + sizes + shift] = points[begins]
    lines = [closed[a:b] for a, b in pairwise([*(begins + shift).tolist(), len(closed)])]
    heads = piece[new]
    shell = _differs(pieces.part)[np.searchsorted(pieces.ring, pieces.ring[heads])]
    return _Rings(lines, part[new], level[new], shell, pieces.inside[heads] > 0.0)


def _differs(values: Ints) -> Truths:
    """Tell of each value whether it is another than the one before."""
    return np.append(True, values[1:] != values[:-1])[: len(values)]


def _begun(rings: _Rings, deepest: Ints, asked: Ints) -> list[Begun]:
    """Return of each part what is known of it.

    deepest (n,): how many of its lines turn back nowhere. asked (n,): how many of the deepest that is crossed by no other are
    only there to show that something is left to be cut between the others.
    """
    areas = _uncrossed(rings, deepest)
    clear = np.array([level for level, _ in areas])
    taken = np.where(clear > 0, np.maximum(clear - asked, 1), 0)
    fewer = np.flatnonzero(rings.level == np.where(taken < clear, taken, 0)[rings.part] - 1)
    again = dict(zip(distinct(rings.part[fewer]).tolist(), _areas(rings, fewer), strict=True))
    within = [again.get(k, area) for k, (_, area) in enumerate(areas)]
    found = [Begun([], level if area else 0, area) for level, area in zip(taken.tolist(), within, strict=True)]
    for k, level, line, turned in zip(
        rings.part.tolist(), rings.level.tolist(), rings.lines, rings.turned, strict=True
    ):
        if level < found[k].levels:
            found[k].lines.append(line[::-1] if turned else line)
    return found


def _uncrossed(rings: _Rings, deepest: Ints) -> list[tuple[int, Polygon | None]]:
    """Return how many lines of each part cross none, as far as they are looked at, and the area within the last of them."""
    found: list[tuple[int, Polygon | None]] = [(0, None)] * len(deepest)
    clear, crossed, seek = np.zeros_like(deepest), deepest + 1, deepest
    for _ in range(DEPTHS_TRIED):
        at = np.flatnonzero(rings.level == seek[rings.part] - 1)
        for k, area in zip(distinct(rings.part[at]).tolist(), _areas(rings, at), strict=True):
            (clear if area is not None else crossed)[k] = seek[k]
            found[k] = (int(seek[k]), area) if area is not None else found[k]
        seek = np.where(crossed - clear > 1, (clear + crossed) // 2, 0)
    return found


def _areas(rings: _Rings, at: Ints) -> list[Polygon | None]:
    """Return the areas within the rings at these places, part by part; None where they cross or are turned inside out."""
    if not len(at):
        return []
    points = [rings.lines[k] for k in at.tolist()]
    shapes = shapely.linearrings(
        np.concatenate(points), indices=np.repeat(np.arange(len(at)), [len(one) for one in points])
    )
    new = np.flatnonzero(_differs(rings.part[at]))
    kept = np.logical_and.reduceat(shapely.is_ccw(shapes) == (rings.turned[at] == rings.is_shell[at]), new)
    found = shapely.polygons(shapes, indices=np.cumsum(_differs(rings.part[at])) - 1)
    return [area if fine else None for area, fine in zip(found, kept & shapely.is_valid(found), strict=True)]
