"""Strokes whose ends meet become one stroke, so that the bit goes down once; and closed ones turned to start anywhere.

A stroke end that meets others is paired with the one that it runs on into most nearly straight. Loops that are left
over are taken into a stroke that touches them, as in Hierholzer's construction of a trail through a graph.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.geometry.paths import Contour, Point, split

MEETING_DISTANCE = 0.01
"""mm: ends nearer than this are one place: a tenth of the finest mark, and what flattening already allows."""

End = int
"""2 * stroke + 0 for its beginning, + 1 for its end."""


def joined_strokes(contours: Sequence[Contour], meet: float = MEETING_DISTANCE) -> tuple[Contour, ...]:
    """Return the same curves as few unbroken strokes, those that met joined; dots and lone rings as they were.

    The order of the result follows the first of the strokes in each. Ends nearer than `meet` mm are drawn together.
    """
    loose, strokes = _parted(contours, meet)
    if len(strokes) > 1:
        trails = _Knots([(c.points, c.start, c.end) for _, c in strokes], meet).trails()
        strokes = [_contour(strokes, trail, closed) for trail, closed in trails]
    return tuple(c for _, c in sorted([*loose, *strokes], key=lambda it: it[0]))


def joined_lines(lines: Sequence[Floats], meet: float = MEETING_DISTANCE) -> list[Floats]:
    """Return open lines (n, 2 or 3) as few unbroken ones, as `joined_strokes` joins contours: by x and y alone."""
    if len(lines) < 2:
        return list(lines)
    ends = [(tuple(line[0, :2].tolist()), tuple(line[-1, :2].tolist())) for line in lines]
    trails = _Knots([(line, *both) for line, both in zip(lines, ends, strict=True)], meet).trails()
    found = [(min(e // 2 for e in trail), _line(lines, trail, closed)) for trail, closed in trails]
    return [line for _, line in sorted(found, key=lambda it: it[0])]


def _line(lines: Sequence[Floats], trail: Sequence[End], closed: bool) -> Floats:
    members = [lines[e // 2][::-1] if e % 2 else lines[e // 2] for e in trail]
    joined = np.concatenate([members[0], *(m[1:] for m in members[1:])])
    if closed:
        joined[-1] = joined[0]
    return joined


Indexed = list[tuple[int, Contour]]


def _parted(contours: Sequence[Contour], meet: float) -> tuple[Indexed, Indexed]:
    """Return (what stays alone, what has ends to join); a ring that a stroke ends on is opened there."""
    ends = [p for c in contours if not c.closed and c.segments for p in (c.start, c.end)]
    loose: Indexed = []
    strokes: Indexed = []
    for i, contour in enumerate(contours):
        if contour.closed and contour.segments:
            at = _touched(contour, ends, meet)
            (loose if at is None else strokes).append((i, contour if at is None else _opened(contour, at)))
        else:
            (strokes if contour.segments else loose).append((i, contour))
    return loose, strokes


def _touched(ring: Contour, ends: Sequence[Point], meet: float) -> int | None:
    """Return the segment at whose beginning another stroke ends on the ring; None if none does."""
    nodes = [ring.start, *(s[-1] for s in ring.segments[:-1])]
    for i, node in enumerate(nodes):
        if any(math.dist(node, end) <= meet for end in ends):
            return i
    return None


def _opened(ring: Contour, at: int) -> Contour:
    return replace(rotated(ring, at), closed=False)


def rotated(ring: Contour, segment: int, t: float = 0.0) -> Contour:
    """Return a closed contour begun within a segment (0 <= t < 1 along its parameter); the curve stays the same."""
    segments = list(ring.segments)
    starts = [ring.start, *(s[-1] for s in segments)]
    if t <= 0.0:
        return Contour(starts[segment], tuple(segments[segment:] + segments[:segment]), ring.closed)
    head, tail = split(starts[segment], segments[segment], t)
    return Contour(head[-1], (tail, *segments[segment + 1 :], *segments[:segment], head), ring.closed)


Nodes = Floats | list[Point]
"""Points of a stroke in order, controls among them: where it runs to from its ends."""


class _Knots:
    """The places where stroke ends meet, and which end runs on into which. Strokes: points, beginning and end."""

    def __init__(self, strokes: Sequence[tuple[Nodes, Point, Point]], meet: float) -> None:
        self._strokes = strokes
        self._place = _places([p for _, *ends in strokes for p in ends], meet)
        self._mate: dict[End, End] = {}
        self._at: dict[int, list[End]] = defaultdict(list)
        for end, place in enumerate(self._place):
            self._at[place].append(end)
        for ends in self._at.values():
            self._pair(ends)

    def _pair(self, ends: Sequence[End]) -> None:
        """Pair the ends at one place, those first that run on most nearly straight."""
        if len(ends) < 2:
            return
        way = {e: _outward(self._strokes[e // 2][0], e % 2) for e in ends}
        pairs = sorted((way[a][0] * way[b][0] + way[a][1] * way[b][1], a, b) for a in ends for b in ends if a < b)
        for _, a, b in pairs:
            if a not in self._mate and b not in self._mate:
                self._mate[a], self._mate[b] = b, a

    def trails(self) -> list[tuple[list[End], bool]]:
        """Return the joined strokes, each as the ends by which its members are entered, and whether it is closed."""
        self._take_in(self._walk())
        return [(t, self._mate.get(t[-1] ^ 1) == t[0]) for t in self._walk()]

    def _walk(self) -> list[list[End]]:
        """Follow the pairs; each trail as the ends by which its strokes are entered."""
        left = set(range(len(self._strokes)))
        begins = [e for e in range(2 * len(self._strokes)) if e not in self._mate]
        trails = []
        for begin in [*begins, *range(0, 2 * len(self._strokes), 2)]:
            if begin // 2 in left:
                trails.append(self._trail(begin))
                left.difference_update(e // 2 for e in trails[-1])
        return trails

    def _trail(self, begin: End) -> list[End]:
        """Follow the pairs from an end to the last stroke, or once round."""
        trail = [begin]
        while (follow := self._mate.get(trail[-1] ^ 1)) is not None and follow != begin:
            trail.append(follow)
        return trail

    def _is_loop(self, trail: Sequence[End]) -> bool:
        return bool(trail) and self._mate.get(trail[-1] ^ 1) == trail[0]

    def _take_in(self, trails: list[list[End]]) -> None:
        """Open each loop into another trail that touches it; two loops become one, which may touch others."""
        owner = {e // 2: t for t, trail in enumerate(trails) for e in trail}
        for t in range(len(trails)):
            while self._is_loop(trails[t]):
                touching = ((a, c) for a in trails[t] for c in self._at[self._place[a]] if owner[c // 2] != t)
                a, c = next(touching, (-1, -1))
                if c < 0:
                    break
                other = owner[c // 2]
                loops = self._is_loop(trails[other])
                both = [*trails[other], *trails[t]]
                self._cross(a, c)
                trails[other] = trails[t] = []
                into = t if loops else other
                trails[into] = self._trail(2 * min(e // 2 for e in both)) if loops else both
                owner.update((e // 2, into) for e in both)

    def _cross(self, a: End, c: End) -> None:
        """Pair the loop's end a with the other trail's end c, and what they leave behind with each other."""
        b, d = self._mate.pop(a), self._mate.pop(c, None)
        self._mate.pop(b, None)
        self._mate[a], self._mate[c] = c, a
        if d is not None:
            self._mate.pop(d, None)
            self._mate[b], self._mate[d] = d, b


def _contour(strokes: Indexed, trail: Sequence[End], closed: bool) -> tuple[int, Contour]:
    """Return the contour of a trail, with the index of the first of its strokes."""
    members = [strokes[e // 2][1] for e in trail]
    members = [c.reversed() if e % 2 else c for c, e in zip(members, trail, strict=True)]
    segments = [s for c in members for s in c.segments]
    if closed:
        segments[-1] = (*segments[-1][:-1], members[0].start)
    return min(strokes[e // 2][0] for e in trail), Contour(members[0].start, tuple(segments), closed)


def _places(points: Sequence[Point], meet: float) -> list[int]:
    """Number the places: points nearer than `meet` to the first of a place belong to it."""
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    firsts: list[Point] = []
    places = []
    for p in points:
        x, y = math.floor(p[0] / meet), math.floor(p[1] / meet)
        near = [k for i in (-1, 0, 1) for j in (-1, 0, 1) for k in cells.get((x + i, y + j), ())]
        found = next((k for k in near if math.dist(firsts[k], p) <= meet), None)
        if found is None:
            found = len(firsts)
            firsts.append(p)
            cells[x, y].append(found)
        places.append(found)
    return places


def _outward(nodes: Nodes, which: int) -> Point:
    """Return the unit vector from an end (0: beginning, 1: end) into the stroke."""
    order = range(len(nodes)) if which == 0 else range(len(nodes) - 1, -1, -1)
    x, y = nodes[order[0]][:2]
    for k in order[1:]:
        p = (float(nodes[k][0]), float(nodes[k][1]))
        size = math.dist((x, y), p)
        if size > MEETING_DISTANCE / 10.0:
            return ((p[0] - x) / size, (p[1] - y) / size)
    return (0.0, 0.0)
