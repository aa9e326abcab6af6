"""In which order, direction and from where strokes are cut, so that the head spends least time in the air.

Nearest neighbour from the start, then 2-opt and Or-opt until nothing gains, then the best way round and the best
start of every stroke for that order. Costs are the seconds of a rapid from rest to rest, so long and short ways weigh
as they do on the machine.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.arrays import Floats, Ints
from engrave.motion.machine_limits import Limits

EXCHANGE_WINDOW = 60
"""Strokes improved together: all pairs of more would cost seconds, and strokes far apart have nothing to exchange."""

EXCHANGE_ROUNDS = 3
"""Times that order and start of strokes are improved in turn; the second rarely changes anything."""

LEAST_GAIN = 1e-9
"""Seconds: less is no gain but rounding, and would let the search run in circles."""


@dataclass(frozen=True, slots=True)
class Candidates:
    """The ways in which strokes can be cut. stroke (m,): which stroke a way cuts; enter, leave (m, 2) in mm.

    back (m,): the way that cuts the same stroke from the other end (itself where it ends as it began).
    """

    stroke: Ints
    enter: Floats
    leave: Floats
    back: Ints


def candidates_of(choices: Sequence[Sequence[tuple[float, float]]], comes_back: Sequence[bool]) -> Candidates:
    """Return the ways of strokes with the given points at which each may begin.

    comes_back: the stroke ends where it began, as a ring does, or an open stroke cut there and back. Others have two
    points, their ends, and leave at the one where they did not begin.
    """
    stroke: list[int] = []
    enter: list[tuple[float, float]] = []
    leave: list[tuple[float, float]] = []
    back: list[int] = []
    for i, (points, returns) in enumerate(zip(choices, comes_back, strict=True)):
        first = len(stroke)
        for k, p in enumerate(points):
            stroke.append(i)
            enter.append(p)
            leave.append(p if returns else points[1 - k])
            back.append(first + k if returns else first + 1 - k)
    return Candidates(
        np.array(stroke, dtype=np.int64),
        np.array(enter, dtype=np.float64).reshape(-1, 2),
        np.array(leave, dtype=np.float64).reshape(-1, 2),
        np.array(back, dtype=np.int64),
    )


def rapid_seconds(displacement: Floats, limits: Limits) -> Floats:
    """Return the seconds of rapids from rest to rest for displacements (..., 2) in mm."""
    size = np.abs(displacement)
    x, y = size[..., 0], size[..., 1]
    at_speed = np.maximum(x / limits.vmax[0], y / limits.vmax[1])
    ramp = np.maximum(x / limits.amax[0], y / limits.amax[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        long = at_speed + ramp / at_speed
    return np.asarray(np.where(at_speed**2 > ramp, long, 2.0 * np.sqrt(ramp)))


def costs(ways: Candidates, start: tuple[float, float], home: bool, limits: Limits) -> Floats:
    """Return seconds from the end of each way to the beginning of each, (m+1, m+1).

    The last row is the way from the start, the last column the way home (0 if the head stays where it ends).
    """
    leave = np.vstack([ways.leave, start])
    enter = np.vstack([ways.enter, start])
    table = rapid_seconds(enter[None, :, :] - leave[:, None, :], limits)
    if not home:
        table[:, -1] = 0.0
    return table


def best_order(ways: Candidates, start: tuple[float, float], home: bool, limits: Limits) -> list[int]:
    """Return the ways in the order in which they are cut, one for each stroke."""
    if not len(ways.stroke):
        return []
    table = costs(ways, start, home, limits)
    best: list[int] = []
    least = np.inf
    for first in _first_orders(ways, table):
        order = _improved(first, ways, table)
        cost = _cost(order, table)
        if cost < least - LEAST_GAIN:
            best, least = order, cost
    return best


def best_ways(order: Sequence[int], ways: Candidates, table: Floats) -> list[int]:
    """Keep the order of strokes (any way of each given) and choose the best way of each: exact, by stages."""
    groups = _groups(ways)
    end = len(table) - 1
    at: Ints = np.array([end])
    spent = np.zeros(1)
    trace = []
    for way in order:
        group = groups[int(ways.stroke[way])]
        total = spent[:, None] + table[at[:, None], group]
        came = total.argmin(axis=0)
        trace.append((group, came))
        at, spent = group, total.min(axis=0)
    k = int(np.argmin(spent + table[at, end]))
    chosen = []
    for group, came in reversed(trace):
        chosen.append(int(group[k]))
        k = int(came[k])
    return chosen[::-1]


def _groups(ways: Candidates) -> list[Ints]:
    bounds = np.searchsorted(ways.stroke, np.arange(int(ways.stroke[-1]) + 2))
    return [np.arange(a, b) for a, b in pairwise(bounds)]


def _first_orders(ways: Candidates, table: Floats) -> list[list[int]]:
    """Return orders to improve: nearest neighbour, and for few strokes others too.

    Those are the order given (how the words are read), and nearest neighbour after each of the strokes in turn that
    are nearest to the start: a short search ends in a poor order more easily, and costs little.
    """
    groups = _groups(ways)
    if len(groups) > MANY_STROKES:
        return [_nearest(ways, table)]
    orders = [_nearest(ways, table), best_ways([int(g[0]) for g in groups], ways, table)]
    if len(groups) <= FEW_STROKES:
        begins = sorted((float(table[-1, g].min()), int(g[np.argmin(table[-1, g])])) for g in groups)
        orders += [_nearest(ways, table, first) for _, first in begins[1:OTHER_STARTS]]
    return orders


MANY_STROKES, FEW_STROKES, OTHER_STARTS = 30, 16, 6
"""Strokes above which one order is improved and up to which six more are: a lid's words take some 10 ms either way."""


def _nearest(ways: Candidates, table: Floats, first: int | None = None) -> list[int]:
    """Return always the nearest way of a stroke not yet cut, beginning with `first` or the nearest to the start."""
    end = len(table) - 1
    taken = np.zeros(end)
    order: list[int] = []
    at = end
    for k in range(int(ways.stroke[-1]) + 1):
        at = first if k == 0 and first is not None else int(np.argmin(table[at, :end] + taken))
        order.append(at)
        taken[ways.stroke == ways.stroke[at]] = np.inf
    return order


def _cost(order: Sequence[int], table: Floats) -> float:
    end = len(table) - 1
    line = np.array([end, *order, end])
    return float(table[line[:-1], line[1:]].sum())


def _improved(order: list[int], ways: Candidates, table: Floats) -> list[int]:
    cost = _cost(order, table)
    for _ in range(EXCHANGE_ROUNDS):
        order = best_ways(_exchanged(order, ways.back, table), ways, table)
        now = _cost(order, table)
        if now > cost - LEAST_GAIN:
            break
        cost = now
    return order


def _exchanged(order: list[int], back: Ints, table: Floats) -> list[int]:
    """Improve windows that overlap by half, each between the strokes before and after it."""
    end = len(table) - 1
    line = np.array([end, *order, end])
    inverse = np.append(back, end)
    for begin in range(0, max(1, len(order) - EXCHANGE_WINDOW // 2), EXCHANGE_WINDOW // 2):
        stop = min(len(line), begin + EXCHANGE_WINDOW + 2)
        line[begin:stop] = _local(line[begin:stop], inverse, table)
    return [int(i) for i in line[1:-1]]


def _local(line: Ints, back: Ints, table: Floats) -> Ints:
    """Apply the best 2-opt or Or-opt move until none gains; both ends of the line stay."""
    while len(line) > 3:
        now = _Line(line, back[line], table)
        gain, better = min((now.two_opt(), now.or_opt()), key=lambda it: it[0])
        if gain > -LEAST_GAIN:
            break
        line = better()
    return line


OR_OPT_LENGTHS = (1, 2, 3)
"""Strokes in a row that Or-opt moves together: up to three, as Or had it (1976)."""

Move = tuple[float, Callable[[], Ints]]
"""Change of cost in seconds, and the line that it leads to."""


@dataclass(frozen=True, slots=True)
class _Runs:
    """All runs that Or-opt moves in a line of n strokes, and all places for them: arrays (lengths, n, n + 1), flat indices.

    gone, come: from the stroke before the place to the run and on from it, the run kept; gone_turned, come_turned: turned
    round. across, first, last (lengths, n): past the run where it was, to it and from it. never: no such move.
    """

    lengths: tuple[int, ...]
    gone: Ints
    come: Ints
    gone_turned: Ints
    come_turned: Ints
    across: Ints
    first: Ints
    last: Ints
    never: NDArray[np.bool_]


@lru_cache(maxsize=256)
def _runs(n: int) -> _Runs:
    lengths = tuple(k for k in OR_OPT_LENGTHS if k < n)
    k, at, place = np.array(lengths).reshape(-1, 1, 1), np.arange(n).reshape(-1, 1), np.arange(n + 1)
    end = np.minimum(at + k, n)  # runs beyond the line's end are never taken
    wide = n + 2
    never = (at + k > n) | ((place >= at) & (place <= at + k))
    gone, come = place * wide + at + 1 + 0 * k, end * wide + place + 1
    gone_turned, come_turned = place * wide + end, (at + 1) * wide + place + 1 + 0 * k
    first, last = (at + 0 * k)[..., 0], end[..., 0]
    return _Runs(lengths, gone, come, gone_turned, come_turned, first * wide + last + 1, first, last, never)


class _Line:
    """An order of strokes and the seconds between all of them, each cut as it is or from its other end."""

    def __init__(self, line: Ints, turned: Ints, table: Floats) -> None:
        self.line, self.turned = line, turned
        self.kept = table[line[:, None], line]
        self.to_turned = table[line[:, None], turned]
        self.from_turned = table[turned[:, None], line]
        self.step = np.diagonal(self.kept, 1)
        self.n = len(line) - 2

    def two_opt(self) -> Move:
        """Return the best reversal of a run of strokes, each then cut from its other end."""
        line, step, n = self.line, self.step, self.n
        gain = self.to_turned[:-2, 1:-1] + self.from_turned[1:-1, 2:] - step[:-1, None] - step[None, 1:]
        at = np.arange(n)
        gain[at[:, None] > at] = np.inf
        i, j = divmod(int(np.argmin(gain)), n)

        def better() -> Ints:
            return np.concatenate([line[: i + 1], self.turned[i + 1 : j + 2][::-1], line[j + 2 :]])

        return float(gain[i, j]), better

    def or_opt(self) -> Move:
        """Return the best place for a run of strokes, kept or turned round."""
        line, step, runs = self.line, self.step, _runs(self.n)
        if not runs.lengths:
            return np.inf, lambda: line
        kept = self.kept.ravel()
        lifted = kept[runs.across] - step[runs.first] - step[runs.last]
        paid = lifted[..., None] - step
        put = kept[runs.gone] + kept[runs.come]
        put_turned = self.to_turned.ravel()[runs.gone_turned] + self.from_turned.ravel()[runs.come_turned]
        gain = np.stack([put + paid, put_turned + paid], axis=1)
        gain[np.broadcast_to(runs.never[:, None], gain.shape)] = np.inf
        length, turned, i, p = (int(v) for v in np.unravel_index(int(np.argmin(gain)), gain.shape))
        k = runs.lengths[length]

        def better() -> Ints:
            run = self.turned[i + 1 : i + k + 1][::-1] if turned else line[i + 1 : i + k + 1]
            rest = np.concatenate([line[: i + 1], line[i + k + 1 :]])
            cut = p + 1 if p < i else p + 1 - k
            return np.concatenate([rest[:cut], run, rest[cut:]])

        return float(gain[length, turned, i, p]), better
