"""How long a chain of straight moves takes on a machine with limited acceleration.

A move is a displacement; its speed and acceleration are bound by each axis, its ends by the corner rule. In
q = v^2 braking and accelerating are straight lines over distance, so both passes of a planner are running minima:
two calls of numpy, no loop, and the result is exact for the model. Many jobs go through in one array, each at rest at
its start and its end.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engrave.geometry.arrays import Floats
from engrave.motion.machine_limits import Limits

RAPID = np.inf
"""Feed of a move that only the axes limit."""

ZERO_LENGTH = 1e-9
"""mm: shorter moves are no moves; a controller drops them too, but keeps a stop that hangs on them."""

STRAIGHT_ON = 0.999999
"""Cosine of the turn above which a corner is none (0.08 degrees): the corner formula would divide by almost 0."""

TURN_BACK = -0.999999
"""Cosine of the turn below which the head must stand still: it goes back the way it came."""

PARTS = ("cut", "travel", "plunge", "lift", "turn")
"""What a move's seconds are spent on; the index is what `Moves.part` holds."""
CUT, TRAVEL, PLUNGE, LIFT, TURN = range(len(PARTS))


@dataclass(frozen=True, slots=True)
class Moves:
    """A chain of n straight moves, from rest to rest.

    steps (n, 3): displacements in mm, z up. feed (n,): mm/s, `RAPID` for none. stop (n,): full stop at the move's
    end. part (n,): index into `PARTS`.
    """

    steps: Floats
    feed: Floats
    stop: NDArray[np.bool_]
    part: NDArray[np.uint8]

    def __len__(self) -> int:
        return len(self.feed)

    @property
    def lengths(self) -> Floats:
        """Length of each move in mm."""
        return np.asarray(np.sqrt(np.einsum("ij,ij->i", self.steps, self.steps)))


def chain_through(points: ArrayLike, feed: ArrayLike, part: ArrayLike = CUT, stop: ArrayLike = False) -> Moves:
    """Return the moves through points of shape (n+1, 2 or 3); feed, part and stop for all or one a move."""
    array = np.asarray(points, dtype=np.float64)
    if array.shape[1] == 2:
        array = np.column_stack([array, np.zeros(len(array))])
    n = max(0, len(array) - 1)
    return Moves(
        np.diff(array, axis=0).reshape(n, 3),
        np.broadcast_to(np.asarray(feed, dtype=np.float64), (n,)).copy(),
        np.broadcast_to(np.asarray(stop, dtype=bool), (n,)).copy(),
        np.broadcast_to(np.asarray(part, dtype=np.uint8), (n,)).copy(),
    )


def chained(chains: Iterable[Moves]) -> Moves:
    """Return several chains one after the other, without a stop between them."""
    every = list(chains) or [chain_through(np.zeros((1, 3)), RAPID)]
    if len(every) == 1:
        return every[0]
    return Moves(
        np.concatenate([c.steps for c in every]),
        np.concatenate([c.feed for c in every]),
        np.concatenate([c.stop for c in every]),
        np.concatenate([c.part for c in every]),
    )


@dataclass(frozen=True, slots=True)
class PlannedChain:
    """Seconds and speeds of one chain. seconds (n,): of each move (0 where it had no length). nodes (n+1,): mm/s."""

    seconds: Floats
    nodes: Floats

    @property
    def total(self) -> float:
        """Seconds of the whole chain."""
        return float(self.seconds.sum())


def plan_chain(chain: Moves, limits: Limits) -> PlannedChain:
    """Plan one chain; see `plan_chains`."""
    return plan_chains([chain], limits)[0]


def plan_chains(chains: Sequence[Moves], limits: Limits) -> list[PlannedChain]:
    """Plan chains that each run from rest to rest, all in one pass over arrays."""
    seconds, speeds = PreparedChains.of(chains, limits).planned()
    ends = np.cumsum([len(c) for c in chains], dtype=np.int64)
    planned = []
    for chain, end in zip(chains, ends, strict=True):
        begin = end - len(chain)
        planned.append(PlannedChain(seconds[begin:end], np.concatenate([[0.0], speeds[begin:end]])))
    return planned


@dataclass(frozen=True, slots=True)
class PreparedChains:
    """Chains with all that does not change when a machine's accelerations or its corner deviation do.

    keep (n,): moves with a length; the arrays below are of those alone, m of them. fastest (m,): mm/s. push (m,):
    mm/s2 along each. bend, guard (m-1,): greatest v^2 at each corner, per mm of deviation and by `slow_arcs`.
    stands (m,): full stop at the end. chain (n,): which of the `count` chains a move belongs to.
    """

    limits: Limits
    count: int
    keep: NDArray[np.bool_]
    chain: NDArray[np.int64]
    length: Floats
    fastest: Floats
    push: Floats
    bend: Floats
    guard: Floats
    stands: NDArray[np.bool_]

    @classmethod
    def of(cls, chains: Sequence[Moves], limits: Limits) -> PreparedChains:
        """Prepare chains that each run from rest to rest."""
        every = chained(chains)
        counts = np.array([len(c) for c in chains], dtype=np.int64)
        ends = np.cumsum(counts, dtype=np.int64)
        stop = every.stop.copy()
        stop[ends[ends > 0] - 1] = True
        length = every.lengths
        keep = length >= ZERO_LENGTH
        unit = every.steps[keep] / length[keep, None]
        bend, guard = _corners(unit, length[keep], limits)
        return cls(
            limits,
            len(counts),
            keep,
            np.repeat(np.arange(len(counts)), counts),
            length[keep],
            _cruise(unit, length[keep], every.feed[keep], limits),
            1.0 / _greatest(np.abs(unit) / np.array(limits.amax)),
            bend,
            guard,
            _stops_kept(stop, keep),
        )

    def planned(self, push: float = 1.0, delta: float | None = None) -> tuple[Floats, Floats]:
        """Return seconds of each move and the speed at its end, both (n,), zero-length moves included.

        push: factor on all accelerations; delta: another corner deviation in mm.
        """
        seconds, speeds = np.zeros(len(self.keep)), np.zeros(len(self.keep))
        if not len(self.length):
            return seconds, speeds
        caps = np.zeros(len(self.length) + 1)
        corner = push * np.minimum(self.bend * (self.limits.corner_slack if delta is None else delta), self.guard)
        caps[1:-1] = np.minimum(corner, np.minimum(self.fastest[:-1], self.fastest[1:]) ** 2)
        caps[1:][self.stands] = 0.0
        q = _speeds_squared(caps, 2.0 * push * self.push * self.length, self.limits.look_ahead)
        seconds[self.keep] = _durations(q, self.fastest, push * self.push, self.length)
        speeds[self.keep] = np.sqrt(q[1:])
        return seconds, _carried(speeds, self.keep)

    def totals(self, push: float = 1.0, delta: float | None = None) -> Floats:
        """Return the seconds of each chain, (count of chains,)."""
        seconds, _ = self.planned(push, delta)
        return np.asarray(np.bincount(self.chain, weights=seconds, minlength=self.count), dtype=np.float64)


def _stops_kept(stop: NDArray[np.bool_], keep: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the stops of the moves that have a length; a dropped move's stop passes to the one before it."""
    at = np.cumsum(keep) - 1
    stands = np.zeros(int(keep.sum()), dtype=bool)
    stands[at[stop & (at >= 0)]] = True
    return stands


def _carried(speeds: Floats, keep: NDArray[np.bool_]) -> Floats:
    """Give a dropped move the speed of the node that it stands on."""
    last = np.maximum.accumulate(np.where(keep, np.arange(len(keep)), -1))
    return np.asarray(np.where(last >= 0, speeds[last], 0.0))


def _greatest(each: Floats) -> Floats:
    """Return the greatest number of each row (n, 3): by columns, as asking along short rows takes five times as long."""
    x, y, z = each.T
    return np.asarray(np.maximum(np.maximum(x, y), z))


def _cruise(unit: Floats, length: Floats, feed: Floats, limits: Limits) -> Floats:
    """Return the greatest speed of each move: its feed, each axis's limit, and the controller's time for a block."""
    by_axis = 1.0 / _greatest(np.abs(unit) / np.array(limits.vmax))
    fastest = np.minimum(feed, by_axis)
    if limits.min_block_s > 0.0:
        fastest = np.minimum(fastest, length / limits.min_block_s)
    return np.asarray(fastest)


def _corners(unit: Floats, length: Floats, limits: Limits) -> tuple[Floats, Floats]:
    """Return the greatest v^2 at each of the inner nodes: per mm of deviation, and by the guard (inf without one).

    With the turn phi and s = cos(phi/2): v^2 = a delta s / (1 - s), a being what the axes allow along the change of
    direction: the speed on an arc that touches both moves and stays within delta of the corner. `slow_arcs` also
    holds v^2 <= a R with R = min(L1, L2) / (2 sin(phi/2)), the radius of the circle that such chords are cut from.
    """
    nodes = max(0, len(length) - 1)
    guard = np.full(nodes, np.inf)
    if limits.corner == "stop" or not nodes:
        return np.zeros(nodes), guard
    change = unit[1:] - unit[:-1]
    cosine = np.clip(np.einsum("ij,ij->i", unit[1:], unit[:-1]), -1.0, 1.0)
    half = np.sqrt((1.0 + cosine) / 2.0)
    straight = cosine > STRAIGHT_ON
    with np.errstate(divide="ignore", invalid="ignore"):
        size = np.sqrt(np.einsum("ij,ij->i", change, change))
        push = size / _greatest(np.abs(change) / np.array(limits.amax))
        bend = push * half / (1.0 - half)
        if limits.corner == "slow_arcs":
            guard = push * np.minimum(length[1:], length[:-1]) / (2.0 * np.sqrt((1.0 - cosine) / 2.0))
    bend[straight], guard[straight] = np.inf, np.inf
    bend[cosine < TURN_BACK] = 0.0
    return np.asarray(bend), np.asarray(guard)


def _speeds_squared(caps: Floats, gain: Floats, look_ahead: int | None) -> Floats:
    """Return v^2 at the n+1 nodes: the greatest below `caps` that can be reached and braked from.

    gain (n,) is 2 a L, by how much v^2 can change over a move. With S its running sum, braking asks
    q_k <= min over j >= k of (cap_j + S_j) - S_k, accelerating q_k <= min over j <= k of (q_j - S_j) + S_k. Who knows
    N blocks enters the next one knowing N - 1 from there on, and must be able to stop at their end.
    """
    run = np.concatenate([[0.0], np.cumsum(gain)])
    q = caps
    if look_ahead is not None:
        known = np.minimum(np.arange(len(caps)) + max(look_ahead, 1) - 1, len(caps) - 1)
        q = np.minimum(q, run[known] - run)
    q = np.minimum.accumulate((q + run)[::-1])[::-1] - run
    q = np.minimum.accumulate(q - run) + run
    return np.asarray(np.clip(q, 0.0, caps))


def _durations(q: Floats, fastest: Floats, push: Floats, length: Floats) -> Floats:
    """Return the seconds of each move: up to its peak, along at it, down to the next node (trapezoid or triangle)."""
    begin, end = q[:-1], q[1:]
    peak = np.minimum(fastest**2, (begin + end) / 2.0 + push * length)
    peak = np.maximum(peak, np.maximum(begin, end))
    top = np.sqrt(peak)
    ramps = (2.0 * top - np.sqrt(begin) - np.sqrt(end)) / push
    cruise = length - (2.0 * peak - begin - end) / (2.0 * push)
    return np.asarray(ramps + np.maximum(cruise, 0.0) / top)
