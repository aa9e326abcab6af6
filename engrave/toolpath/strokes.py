"""A lettering's contours in cutting order: which is also the order and direction in which the file holds them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.geometry.paths import Contour, Path, Point, split
from engrave.motion.machine_limits import Limits
from engrave.setting.lettering import Lettering
from engrave.toolpath.join import joined_strokes, rotated
from engrave.toolpath.overlaps import united_outlines
from engrave.toolpath.stroke_order import Candidates, best_order, best_ways, candidates_of, costs
from engrave.typefaces.run import TypefaceKind

LEAST_RING_STARTS = 8
"""Places at least at which a ring may begin: with fewer (a circle of four arcs) halves of its segments are tried too;
an eighth of a ring's length is well below the ways between letters."""

Start = tuple[int, float]
"""Where a ring may begin: the segment, and the parameter along it."""


@dataclass(frozen=True, slots=True)
class HeadRoute:
    """Where the head stands before and after, whether it comes back there, and the machine's limits for rapids."""

    start: tuple[float, float]
    home: bool
    limits: Limits


def as_drawn(lettering: Lettering) -> Path:
    """Return all contours as the typeface gives them, glyph after glyph in reading order.

    Outlines that overlap, as in joined scripts, are one: what is filled or cleared twice would be cut twice.
    """
    paths = tuple(mark.path() for mark in lettering.marks)
    if lettering.kind == "outline":
        return united_outlines(paths)
    return tuple(contour for path in paths for contour in path)


def in_order(drawn: Path, kind: TypefaceKind, route: HeadRoute, there_and_back: bool) -> Path:
    """Return contours as they are cut: joined where ends meet, ordered, turned, rings begun where it is nearest.

    drawn: as the typeface gives them (`as_drawn`). Single lines are ordered freely; outlines keep each glyph's contours
    together, in reading order. there_and_back: an open stroke ends where it began, being cut an even number of times
    one way and the other.
    """
    if kind == "single-line":
        strokes = joined_strokes(drawn)
        ways, starts = _ways(strokes, there_and_back)
        return _taken(best_order(ways, route.start, route.home, route.limits), ways, strokes, starts)
    ways, starts = _ways(drawn, there_and_back)
    if not drawn:
        return ()
    given = np.searchsorted(ways.stroke, np.arange(len(drawn)))
    table = costs(ways, route.start, route.home, route.limits)
    return _taken(best_ways([int(w) for w in given], ways, table), ways, drawn, starts)


def _ways(strokes: Sequence[Contour], there_and_back: bool) -> tuple[Candidates, list[Start]]:
    """Return the ways to cut the strokes, and for each way of a ring where it begins."""
    choices: list[list[Point]] = []
    returns = []
    starts: list[Start] = []
    for stroke in strokes:
        if stroke.closed:
            at = _ring_starts(stroke)
            choices.append([_point(stroke, s) for s in at])
            starts.extend(at)
        else:
            choices.append([stroke.start, stroke.end])
            starts.extend([(0, 0.0), (0, 1.0)])
        returns.append(stroke.closed or there_and_back)
    return candidates_of(choices, returns), starts


def _ring_starts(ring: Contour) -> list[Start]:
    count = len(ring.segments)
    if count == 0:
        return [(0, 0.0)]
    each = max(1, -(-LEAST_RING_STARTS // count))
    return [(i, k / each) for i in range(count) for k in range(each)]


def _point(ring: Contour, start: Start) -> Point:
    i, t = start
    here = ring.start if i == 0 else ring.segments[i - 1][-1]
    return here if t == 0.0 else split(here, ring.segments[i], t)[0][-1]


def _taken(order: Sequence[int], ways: Candidates, strokes: Sequence[Contour], starts: Sequence[Start]) -> Path:
    """Return the strokes in the chosen ways."""
    taken = []
    for way in order:
        stroke, (i, t) = strokes[int(ways.stroke[way])], starts[way]
        if stroke.closed:
            taken.append(rotated(stroke, i, t) if stroke.segments else stroke)
        else:
            taken.append(stroke.reversed() if t else stroke)
    return tuple(taken)


def corner_of(lines: Sequence[Floats], corner: str) -> tuple[float, float]:
    """Return the corner of the lines' box ('front-left' ...; y down, so the front is at the greatest y)."""
    if not lines:
        return (0.0, 0.0)
    points = np.concatenate(lines)[:, :2]
    low, high = points.min(axis=0), points.max(axis=0)
    return (float(low[0] if "left" in corner else high[0]), float(high[1] if "front" in corner else low[1]))
