"""The best axis, baseline and size of one break near a spot: a linear programme, made anew where it leads.

For lines that stay where they are (over or under each thing in the way, each point over the same straight piece of the
room's edge) every limit is linear in axis, first baseline and size; so the largest size is found by a few programmes,
each made at the last one's answer, and held against the room itself in the end.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.arrays import Floats
from engrave.geometry.linear_program import solve
from engrave.setting.fit.layout import Layout
from engrave.setting.fit.prepared_room import GAP_DISTANCE, Obstacle

ROUNDS = 7
"""Programmes at most; three are usual."""

REACH, REACH_SIZE = 3.0, 0.06
"""mm by which the axis, and share by which the size may change in the first programme; six tenths of it in each next."""

NEAR = 12.0
"""mm: limits further off than this cannot bind within that reach."""

DEEP = 0.6
"""mm: what reaches further into something than rounding to a column explains has come from beside it."""

CLEAR = 2e-7
"""mm that every limit is drawn in, so that rounding does not put the words outside."""

SETTLED = 1e-7
"""Relative: a size that changes by less is found."""


def steepest_way(
    layout: Layout, lines: Sequence[int], size: float, axis: float, first: float
) -> tuple[float, float] | None:
    """Return size and axis of the best fit of a break near a place, not yet held against the room; None if there is none."""
    place = np.array([axis, first, size])
    limits = _Limits(layout, lines)
    reach, share = REACH, REACH_SIZE
    for _ in range(ROUNDS):
        rows, most = limits.at(place, reach, share)
        found = solve(rows, most)
        if found is None:
            return None
        settled = abs(found[2] - place[2]) < SETTLED * place[2]
        place = found
        if settled:
            break
        reach, share = reach * 0.6, share * 0.6
    return float(place[2]), float(place[0])


class _Limits:
    """The limits of a break's lines, gathered: rows for axis, first baseline and size, and what each may be at most."""

    def __init__(self, layout: Layout, lines: Sequence[int]) -> None:
        self.room = layout.room
        self.lines = [layout.slices_of(n) for n in lines]
        self.drops = layout.drops(lines)
        self.slices = np.concatenate(self.lines)
        self.drop = np.repeat(self.drops, [len(s) for s in self.lines])
        self.rows: list[Floats] = []
        self.most: list[Floats] = []

    def at(self, place: Floats, reach: float, share: float) -> tuple[Floats, Floats]:
        """Return rows and limits at a place, those that could bind; axis and size stay within reach of it."""
        self.rows, self.most = [], []
        self._at_ends(place)
        self._at_corners(place)
        for thing in self.room.obstacles:
            for s, drop in zip(self.lines, self.drops, strict=True):
                if _is_near(thing, s, drop, place):
                    self._round(thing, s, drop, place)
        rows, most = np.concatenate(self.rows), np.concatenate(self.most) - CLEAR
        near = most - rows @ place < NEAR
        box = np.concatenate([np.eye(3), -np.eye(3)])
        about = np.array([reach, 2 * reach, share * place[2]])
        held = np.concatenate([about + place, about - place])
        return np.concatenate([rows[near], box]), np.concatenate([most[near], held])

    def _take(self, axis: Floats, up: float, size: Floats, most: Floats) -> None:
        self.rows.append(np.column_stack([axis, np.full(len(axis), up), size]))
        self.most.append(most)

    def _at_ends(self, place: Floats) -> None:
        """Hold the ends of slices against the straight pieces of floor and ceiling that they stand over."""
        room, s = self.room, self.slices
        u = np.concatenate([s[:, 0], s[:, 1]])
        at = place[0] + place[2] * u
        inward = np.repeat([1e-9, -1e-9], len(s))  # a slice's left end belongs to the slab on its right, and so on
        k = np.clip(np.searchsorted(room.x, at + inward, side="right") - 1, 0, len(room.x) - 2)
        drop = np.concatenate([self.drop, self.drop])
        for edge, i, up in ((room.ceiling, 2, 1.0), (room.floor, 4, -1.0)):
            ink = np.concatenate([s[:, i], s[:, i + 1]])
            slope = (edge[k, 1] - edge[k, 0]) / (room.x[k + 1] - room.x[k])
            real = abs(edge[k, 0]) < GAP_DISTANCE / 2
            most = up * (edge[k, 0] - slope * room.x[k])
            size = up * (ink - drop - slope * u)
            over = -up * slope * place[0] + up * place[1] + size * place[2] - most
            deep = real & (over > DEEP)
            if deep.any():
                height = place[1] + place[2] * (ink - drop)[deep]
                real[np.flatnonzero(deep)[self._beside(edge, up, u[deep], at[deep], k[deep], height, over[deep])]] = (
                    False
                )
            self._take(-up * slope[real], up, size[real], most[real])
        low, high = self._part(place[0])
        self._take(np.array([1.0, -1.0]), 0.0, np.array([u.max(), -u.min()]), np.array([high, -low]))

    def _part(self, axis: float) -> tuple[float, float]:
        """Return from where to where the part of the room reaches in which the axis stands: no word bridges a gap."""
        x = self.room.x
        gap = np.flatnonzero(self.room.floor[:, 0] > GAP_DISTANCE / 2)
        before, behind = gap[x[gap] < axis], gap[x[gap + 1] > axis]
        return float(x[before[-1] + 1] if len(before) else x[0]), float(x[behind[0]] if len(behind) else x[-1])

    def _beside(
        self, edge: Floats, up: float, u: Floats, at: Floats, k: NDArray[np.intp], height: Floats, over: Floats
    ) -> NDArray[np.bool_]:
        """Keep points that are deep in floor or ceiling beside what rises there, where that is nearer; tell which."""
        x = self.room.x
        clear = (up * edge).min(axis=1) >= up * height[:, None]
        slab = np.arange(len(x) - 1)
        low = np.where(clear & (slab < k[:, None]), x[1:], -np.inf).max(axis=1)
        high = np.where(clear & (slab > k[:, None]), x[:-1], np.inf).min(axis=1)
        left, right = at - low, high - at
        to_left, to_right = (left <= right) & (left < over), (right < left) & (right < over)
        self._take(np.ones(to_left.sum()), 0.0, u[to_left], low[to_left])
        self._take(-np.ones(to_right.sum()), 0.0, -u[to_right], -high[to_right])
        return np.asarray(to_left | to_right)

    def _at_corners(self, place: Floats) -> None:
        """Hold corners of floor and ceiling against the slices that stand over or under them."""
        which, c = _across(self.slices, self.room.corners, place)
        corner, (floor, ceiling) = self.room.corners[c], self.room.corner_heights
        for edge, i, up in ((ceiling[c], 2, 1.0), (floor[c], 4, -1.0)):
            real = abs(edge) < GAP_DISTANCE / 2
            self._under(self.slices[which[real]], i, self.drop[which[real]], corner[real], edge[real], up, place)

    def _under(self, s: Floats, i: int, drop: Floats, corner: Floats, edge: Floats, up: float, place: Floats) -> None:
        """Keep slices under (up = 1) or over (-1) corners within them; those deep in one beside it, where that is nearer."""
        slope = (s[:, i + 1] - s[:, i]) / np.maximum(s[:, 1] - s[:, 0], 1e-12)
        size, most = up * (s[:, i] - drop - slope * s[:, 0]), up * (edge - slope * corner)
        over = -up * slope * place[0] + up * place[1] + size * place[2] - most
        left, right = place[0] + place[2] * s[:, 1] - corner, corner - place[0] - place[2] * s[:, 0]
        aside = (over > DEEP) & (np.minimum(left, right) < over)
        to_left, to_right = aside & (left <= right), aside & (right < left)
        self._take(np.ones(to_left.sum()), 0.0, s[to_left, 1], corner[to_left])
        self._take(-np.ones(to_right.sum()), 0.0, -s[to_right, 0], -corner[to_right])
        self._take(-up * slope[~aside], up, size[~aside], most[~aside])

    def _round(self, thing: Obstacle, s: Floats, drop: float, place: Floats) -> None:
        """Keep a line over or under something in the way, whichever is nearer; letters that are not, stay beside it."""
        x, y, size = place
        base = y - size * drop
        x0, x1 = x + size * s[:, 0], x + size * s[:, 1]
        meets = (x0 <= thing.x[-1]) & (x1 >= thing.x[0])
        left, right = x1 - thing.x[0], thing.x[-1] - x0
        tops, lows = base + size * s[:, 2:4], base + size * s[:, 4:6]
        aside = np.zeros(len(s), dtype=bool)
        level = np.full(len(s), bool(tops.max() > thing.low.min() and lows.min() < thing.high.max()))
        if meets.any():
            near, far = np.clip(x0, *thing.x[[0, -1]]), np.clip(x1, *thing.x[[0, -1]])
            into = [_into(at, thing, tops, lows, x0, x1) for at in (near, far)]
            under, over = (np.maximum(into[0][k], into[1][k]) for k in (0, 1))
            shift = np.minimum(left, right)
            up = 1.0 if np.minimum(under, shift)[meets].max() <= np.minimum(over, shift)[meets].max() else -1.0
            aside = meets & ((under if up > 0 else over) > np.maximum(shift, 0.0))
            self._past(thing, s[meets & ~aside], drop, place, up)
            level = tops.max(axis=1) > thing.low.min() if up > 0 else lows.min(axis=1) < thing.high.max()
        aside |= level & ~meets
        to_left, to_right = aside & (left <= right), aside & (right < left)
        if to_left.any():
            self._take(np.array([1.0]), 0.0, s[to_left, 1].max(keepdims=True), thing.x[:1])
        if to_right.any():
            self._take(np.array([-1.0]), 0.0, -s[to_right, 0].min(keepdims=True), -thing.x[-1:])

    def _past(self, thing: Obstacle, s: Floats, drop: float, place: Floats, up: float) -> None:
        """Keep slices of a line under (up = 1) or over (-1) something in the way."""
        edge, i = (thing.low, 2) if up > 0 else (thing.high, 4)
        u, ink = np.concatenate([s[:, 0], s[:, 1]]), np.concatenate([s[:, i], s[:, i + 1]])
        at = place[0] + place[2] * u
        within = (at >= thing.x[0]) & (at <= thing.x[-1])
        u, ink, at = u[within], ink[within], at[within]
        k = np.clip(np.searchsorted(thing.x, at, side="right") - 1, 0, len(thing.x) - 2)
        slope = (edge[k + 1] - edge[k]) / (thing.x[k + 1] - thing.x[k])
        self._take(-up * slope, up, up * (ink - drop - slope * u), up * (edge[k] - slope * thing.x[k]))
        which, c = _across(s, thing.x, place)
        self._under(s[which], i, np.full(len(which), drop), thing.x[c], edge[c], up, place)


def _into(at: Floats, thing: Obstacle, tops: Floats, lows: Floats, x0: Floats, x1: Floats) -> tuple[Floats, Floats]:
    """Return how far slices reach into a thing from below and from above, at one x each."""
    share = (at - x0) / np.maximum(x1 - x0, 1e-12)
    top, low = (e[:, 0] + share * (e[:, 1] - e[:, 0]) for e in (tops, lows))
    return top - np.interp(at, thing.x, thing.low), np.interp(at, thing.x, thing.high) - low


def _is_near(thing: Obstacle, s: Floats, drop: float, place: Floats) -> bool:
    """Tell whether something in the way is near enough to a line to bind."""
    x, y, size = place
    base = y - size * drop
    beside = x + size * s[:, 0].min() < thing.x[-1] + NEAR and x + size * s[:, 1].max() > thing.x[0] - NEAR
    level = base + size * s[:, 4:].min() < thing.high.max() + NEAR
    return bool(beside and level and base + size * s[:, 2:4].max() > thing.low.min() - NEAR)


def _across(s: Floats, corner: Floats, place: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return pairs (slice, corner) with the corner's x inside the slice."""
    x, _, size = place
    first = np.searchsorted(corner, x + size * s[:, 0], side="right")
    many = np.maximum(np.searchsorted(corner, x + size * s[:, 1], side="left") - first, 0)
    which = np.repeat(np.arange(len(s)), many)
    return which, np.repeat(first, many) + np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many)
