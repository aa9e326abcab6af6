"""Single lines mended: what a file stores twice is drawn once, ends that meet are joined, needless points go.

All lengths here are in cap heights: 0.002 is 0.02 mm on a letter 10 mm high.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np
from shapely import LineString

from engrave.geometry.paths import Contour, Path, Point, Segment
from engrave.typefaces.contours.refit import refitted

NEEDLESS = 0.002
"""Points that stand off the line less than this are dropped: 0.02 mm at 10 mm, a tenth of the finest beam's mark."""
ENDS_MEET = 0.003
"""Ends nearer than this are one point. Files round to about 0.001; the smallest true gaps are ten times this."""
TWICE = 0.01
"""Lines nearer than this along their length are one line, stored twice: 0.1 mm at 10 mm, where a beam's mark is 0.15."""
_SHORTEST = 0.01
"""Left-overs of a line drawn twice that are shorter than this are rounding, not drawing."""

ChordLine = list[Point]


def mended_lines(path: Path, chords: bool) -> Path:
    """Return strokes without what is drawn twice, joined where ends meet, points that say nothing left out.

    chords: the font gives its rounds as chords, so they are refitted to curves; otherwise straight lines are meant.
    """
    path = tuple(part for c in path for part in _parted(c)) if chords else path
    straight = [c for c in path if all(len(s) == 1 for s in c.segments)]
    curved = [c for c in path if any(len(s) > 1 for s in c.segments)]
    lines = [[c.start, *(s[-1] for s in c.segments)] for c in straight]
    kept = tuple(contour(line) for line in undoubled(lines))
    if not chords:
        return tuple(_thinned(one) for one in joined_ends((*_once(curved), *kept)))
    return joined_ends((*(_thinned(refitted(one)) for one in joined_ends(kept)), *_once(curved)))


def contour(points: Sequence[Point]) -> Contour:
    """Return a stroke of straight lines; one that ends where it began is closed."""
    closed = len(points) > 3 and points[0] == points[-1]
    return Contour(points[0], tuple((p,) for p in points[1:]), closed)


def _thinned(one: Contour) -> Contour:
    """Drop needless points of a stroke's straight runs; its curves stay."""
    segments: list[Segment] = []
    run: ChordLine = [one.start]
    for segment in one.segments:
        if len(segment) == 1:
            run.append(segment[0])
            continue
        segments += [(p,) for p in simplified(run)[1:]] + [segment]
        run = [segment[-1]]
    segments += [(p,) for p in simplified(run)[1:]]
    return Contour(one.start, tuple(segments), one.closed)


def _parted(one: Contour) -> Iterable[Contour]:
    """Part a stroke where straight lines and curves meet, so that each can be compared with its like."""
    at = one.start
    for _, group in itertools.groupby(one.segments, key=lambda s: len(s) == 1):
        segments = tuple(group)
        yield Contour(at, segments, one.closed and len(segments) == len(one.segments))
        at = segments[-1][-1]


def _once(path: Iterable[Contour]) -> Path:
    """Return a path without strokes that come again, in either direction."""
    out: list[Contour] = []
    seen: set[tuple[object, ...]] = set()
    for one in path:
        here, back = _rounded(one), _rounded(one.reversed())
        if here not in seen and back not in seen:
            out.append(one)
            seen.add(here)
    return tuple(out)


def _rounded(one: Contour) -> tuple[object, ...]:
    def near(p: Point) -> tuple[int, int]:
        return (round(p[0] / ENDS_MEET), round(p[1] / ENDS_MEET))

    return (near(one.start), *(tuple(map(near, s)) for s in one.segments))


def undoubled(lines: Iterable[ChordLine]) -> list[ChordLine]:
    """Return polylines without stretches that lie on a line already drawn."""
    drawn: list[tuple[Point, Point]] = []
    out: list[ChordLine] = []
    for line in lines:
        current: ChordLine = []
        for a, b in itertools.pairwise(line):
            if a == b:
                continue
            for start, end in _remaining(a, b, drawn):
                if not current or current[-1] != start:
                    out.append(current)
                    current = [*_onto(start, drawn), start] if start != line[0] else [start]
                current.append(end)
                if end != b:
                    current += _onto(end, drawn)
            drawn.append((a, b))
        out.append(current)
    return [line for line in out if len(line) > 1]


def _remaining(a: Point, b: Point, drawn: Sequence[tuple[Point, Point]]) -> list[tuple[Point, Point]]:
    """Return the parts of the segment ab that no drawn segment covers."""
    length = math.dist(a, b)
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    free = [(0.0, length)]
    for c, d in drawn:
        cover = _covered(a, along, length, c, d)
        if cover:
            free = [part for one in free for part in _less(one, cover)]
    kept = [(s, e) for s, e in free if e - s == length or e - s > _SHORTEST]
    return [(_on(a, along, s, length, b), _on(a, along, e, length, b)) for s, e in kept]


def _onto(p: Point, drawn: Sequence[tuple[Point, Point]]) -> list[Point]:
    """Return the point on a drawn line from which p goes on, if it is not p itself: so that no gap is left."""
    near = [q for c, d in drawn if 0.0 < math.dist(p, q := _nearest(p, c, d)) < TWICE]
    on_it = any(math.dist(p, _nearest(p, c, d)) <= NEEDLESS for c, d in drawn)
    return [] if on_it or not near else [min(near, key=lambda q: (math.dist(p, q), q))]


def _nearest(p: Point, c: Point, d: Point) -> Point:
    """Return the point of the segment cd nearest to p."""
    dx, dy = d[0] - c[0], d[1] - c[1]
    square = dx * dx + dy * dy
    t = min(1.0, max(0.0, ((p[0] - c[0]) * dx + (p[1] - c[1]) * dy) / square)) if square else 0.0
    return (c[0] + dx * t, c[1] + dy * t)


def _on(a: Point, along: Point, s: float, length: float, b: Point) -> Point:
    if s in (0.0, length):
        return a if s == 0.0 else b
    return (a[0] + along[0] * s, a[1] + along[1] * s)


def _covered(a: Point, along: Point, length: float, c: Point, d: Point) -> tuple[float, float] | None:
    """Return the stretch of the segment from a on which the segment cd lies, None if it lies elsewhere."""
    (s, off), (e, off2) = _coordinates(a, along, c), _coordinates(a, along, d)
    low, high = max(0.0, min(s, e)), min(length, max(s, e))
    if high - low <= _SHORTEST and high - low < 0.9 * length:
        return None
    if abs(e - s) < 1e-9:
        return None
    offs = [off + (off2 - off) * (t - s) / (e - s) for t in (low, high)]
    return (low, high) if max(map(abs, offs)) < TWICE and high > low else None


def _coordinates(a: Point, along: Point, p: Point) -> tuple[float, float]:
    dx, dy = p[0] - a[0], p[1] - a[1]
    return dx * along[0] + dy * along[1], dx * along[1] - dy * along[0]


def _less(one: tuple[float, float], cover: tuple[float, float]) -> list[tuple[float, float]]:
    parts = [(one[0], min(one[1], cover[0])), (max(one[0], cover[1]), one[1])]
    return [(s, e) for s, e in parts if e > s]


def simplified(points: ChordLine) -> ChordLine:
    """Return a polyline without the points that stand off it by less than NEEDLESS."""
    if len(points) < 3:
        return points
    closed = points[0] == points[-1]
    kept = LineString(points).simplify(NEEDLESS, preserve_topology=False)
    line = [(float(x), float(y)) for x, y in np.asarray(kept.coords)]
    return line if len(line) > 1 and not (closed and len(line) < 4) else points


def joined_ends(path: Path) -> Path:
    """Return strokes joined at ends that meet; of several that meet, the two that run on straightest.

    A stroke whose own ends meet is closed.
    """
    strokes = [c for c in path if c.segments]
    while True:
        pair = _best_pair(strokes)
        if pair is None:
            return tuple(_closed(c) for c in strokes)
        i, j, one = pair
        strokes = [one if k == i else c for k, c in enumerate(strokes) if k != j]


def _best_pair(strokes: Sequence[Contour]) -> tuple[int, int, Contour] | None:
    best: tuple[float, int, int, Contour] | None = None
    for i, one in enumerate(strokes):
        for j in range(i + 1, len(strokes)):
            for a in (one, one.reversed()):
                for b in (strokes[j], strokes[j].reversed()):
                    if one.closed or strokes[j].closed or math.dist(a.end, b.start) > ENDS_MEET:
                        continue
                    bend = _bend(a, b)
                    if best is None or bend < best[0] - 1e-9:
                        best = (bend, i, j, _chained(a, b))
    return best and (best[1], best[2], best[3])


def _bend(a: Contour, b: Contour) -> float:
    """Return how far the way turns, in radians, from the end of a into b."""
    before = a.segments[-1][-2] if len(a.segments[-1]) > 1 else ([a.start, *(s[-1] for s in a.segments)])[-2]
    after = b.segments[0][0]
    turn = math.atan2(after[1] - b.start[1], after[0] - b.start[0]) - math.atan2(
        a.end[1] - before[1], a.end[0] - before[0]
    )
    return abs(math.remainder(turn, math.tau))


def _chained(a: Contour, b: Contour) -> Contour:
    last: Segment = (*a.segments[-1][:-1], b.start)
    return Contour(a.start, (*a.segments[:-1], last, *b.segments), False)


def _closed(one: Contour) -> Contour:
    if one.closed or len(one.segments) < 2 or math.dist(one.start, one.end) > ENDS_MEET:
        return one
    last: Segment = (*one.segments[-1][:-1], one.start)
    return Contour(one.start, (*one.segments[:-1], last), True)
