"""Lines of a few sizes held against a room that is not convex: how low and how high each may stand, and round what.

A line is a row of slices, upright strips with straight tops and bottoms. It can touch the room only where a slice begins
or ends, or where the room bends towards it. Slices that meet have one border there: what is highest and lowest on either
side is known once for all sizes.

Floor and ceiling are one question: heights and inks come in two rows, the second one upside down, so that in both the
room's edge less the ink is what a baseline must exceed. Several sizes are asked at once, as most of what a line costs is
the asking.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.arrays import Floats
from engrave.setting.fit.prepared_room import GAP_DISTANCE, TOUCHING_LIMITS, PreparedRoom

Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class LineBorders:
    """Where the slices of some lines begin and end, in caps of ratio 1, line after line.

    x (n,): each border. ink, before, behind (2, n): the lowest ink there, and the highest upside down; on either side, of the
    slice that ends there, and of the one that begins (inf: none). is_end, ends: where a slice only ends; both: whether
    one ends and one begins. opens: border where each slice begins; it ends at the next one. slices (4, m): the ink
    of each at its left, and at its right. starts, first: first border and slice of each line.
    """

    x: Floats
    ink: Floats
    before: Floats
    behind: Floats
    is_end: NDArray[np.bool_]
    ends: Ints
    both: NDArray[np.bool_]
    opens: Ints
    slices: Floats
    starts: Ints
    first: Ints
    _rows: dict[int, BorderRows] = field(default_factory=dict, repr=False)

    def rows(self, sizes: int) -> BorderRows:
        """Return the borders of so many sizes in one row; kept, as the same lines are asked about at size after size."""
        found = self._rows.get(sizes)
        if found is None:
            found = self._rows[sizes] = _rows_of(self, sizes)
        return found

    def upto(self, lines: int) -> LineBorders:
        """Return the first so many lines alone."""
        if lines == len(self.starts):
            return self
        n, m = self.starts[lines], self.first[lines]
        ends = self.ends[: self.ends.searchsorted(n)]
        return LineBorders(
            self.x[:n], self.ink[:, :n], self.before[:, :n], self.behind[:, :n], self.is_end[:n], ends, self.both[:n], self.opens[:m],
            self.slices[:, :m], self.starts[:lines], self.first[:lines],
        )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class BorderRows:
    """Borders of lines at several sizes, size after size in one row: places in it, as `LineBorders` has them for one size.

    border, slice_of, size_of: of each border in the row which of the lines' borders it is; of each slice likewise, and its size's number.
    """

    opens: Ints
    ends: Ints
    both: NDArray[np.bool_]
    starts: Ints
    first: Ints
    border: Ints
    slice_of: Ints
    size_of: Ints


def _rows_of(of: LineBorders, sizes: int) -> BorderRows:
    n, m, each = len(of.x), len(of.opens), np.arange(sizes)[:, None]
    opens, ends, starts = ((each * n + at).ravel() for at in (of.opens, of.ends, of.starts))
    border, slice_of = (np.tile(np.arange(k), sizes) for k in (n, m))
    first, size_of = (each * m + of.first).ravel(), np.arange(sizes).repeat(m)
    return BorderRows(opens, ends, np.tile(of.both, sizes), starts, first, border, slice_of, size_of)


def borders_of(slices: Floats, first: Ints) -> LineBorders:
    """Return the borders of slices (m, 6), each left, right, top at both, bottom at both. first: each line's first slice."""
    left, right, top0, top1, bottom0, bottom1 = np.ascontiguousarray(slices.T)
    meets = np.zeros(len(left), dtype=bool)
    meets[:-1] = left[1:] == right[:-1]
    meets[first[1:] - 1] = False
    opens = np.arange(len(left))
    opens[1:] += np.cumsum(~meets)[:-1]
    count = len(left) + int((~meets).sum())
    inks = np.array([[bottom0, -top0], [bottom1, -top1]])
    x, before, behind = np.empty(count), np.full((2, count), np.inf), np.full((2, count), np.inf)
    x[opens + 1], x[opens] = right, left
    behind[:, opens], before[:, opens + 1] = inks
    ended, begun = np.isfinite(before[0]), np.isfinite(behind[0])
    return LineBorders(
        x, np.minimum(before, behind), before, behind, ended & ~begun, np.flatnonzero(ended & ~begun), ended & begun, opens,
        inks.reshape(4, -1), opens[first], first,
    )  # fmt: skip


def lines_taken(of: LineBorders, first: Ints, many: Ints, ratio: Floats, shift: Floats) -> LineBorders:
    """Return lines that are each some slices of a strip: the first of them, how many, their ratio, and what is taken from x."""
    last = first + many
    begin, end = of.opens[first], of.opens[last - 1] + 2
    starts, slices = offsets(end - begin), offsets(many)
    at = np.arange(starts[-1]) + (begin - starts[:-1]).repeat(end - begin)
    those = np.arange(slices[-1]) + (first - slices[:-1]).repeat(many)
    scale = ratio.repeat(end - begin)
    before, behind = of.before.take(at, axis=1) * scale, of.behind.take(at, axis=1) * scale
    ends, both = of.is_end[at], of.both[at]
    firsts, lasts = starts[:-1], starts[1:] - 1
    before[:, firsts], behind[:, lasts] = np.inf, np.inf
    both[firsts], both[lasts], ends[lasts] = False, False, True
    inks = of.slices.take(those, axis=1) * ratio.repeat(many)
    return LineBorders(
        of.x[at] * scale - shift.repeat(end - begin), np.minimum(before, behind), before, behind, ends, np.flatnonzero(ends), both,
        of.opens[those] - (begin - firsts).repeat(many), inks, firsts, slices[:-1],
    )  # fmt: skip


def offsets(many: Sequence[int] | Ints) -> Ints:
    """Return where each of some runs of rows starts, and after them all where the last ends."""
    return np.concatenate([[0], np.cumsum(many)]).astype(np.intp)


class LineProbe:
    """Lines of some sizes on one axis held against a room: at their borders, and where the room bends."""

    def __init__(self, room: PreparedRoom, of: LineBorders, sizes: Floats, axis: float) -> None:
        """Hold the lines against the room. sizes: mm of cap, shape (k,)."""
        self._of, self._sizes, self._edges = of, sizes, room.room_edges
        rows = self._rows = of.rows(len(sizes))
        x = self._x = (of.x * sizes[:, None] + axis).ravel()
        slab = room.x.searchsorted(x + TOUCHING_LIMITS, "right")
        slab[rows.ends] = room.x.searchsorted(x[rows.ends] - TOUCHING_LIMITS, "left")
        heights, start = self._edges.heights_at(x, slab)
        starts_there = start >= x - TOUCHING_LIMITS
        limit = self._over(heights, (of.ink[:, None] * sizes[:, None]).reshape(2, -1))
        twice = (rows.both & starts_there).nonzero()[0]
        if len(twice):
            limit[..., twice] = self._on_both_sides(room, twice, heights[:, twice])
        most = np.maximum.reduceat(limit, rows.starts, axis=2)
        self._at_bends(most, slab, starts_there)
        self._most = most.reshape(-1, 2, len(sizes), len(of.starts))

    def limits(self) -> tuple[Floats, Floats]:
        """Return the lowest and highest baseline of each line, obstacles aside: (k, lines)."""
        return self._most[0, 0], -self._most[0, 1]

    def around(self) -> tuple[Floats, Floats]:
        """Return for each line and obstacle the highest baseline under it and the lowest over it: (k, lines, obstacles)."""
        most = self._most[1:].transpose(1, 2, 3, 0)
        most = np.where(most > -GAP_DISTANCE / 2, most, -np.inf)
        return -most[1], most[0]

    def _over(self, heights: Floats, ink: Floats) -> Floats:
        """Return what baselines must exceed for ink (2, n) to clear heights (edges, n): (edges / 2, 2, n)."""
        return heights.reshape(-1, 2, len(ink[0])) - ink

    def _on_both_sides(self, room: PreparedRoom, at: Ints, heights: Floats) -> Floats:
        """Return the limits at borders of lines that stand on borders of slabs: slices before and behind are in two."""
        x, of = self._x[at], self._of
        border, size = self._rows.border[at], self._sizes[at // len(of.x)]
        others, _ = self._edges.heights_at(x, room.x.searchsorted(x - TOUCHING_LIMITS, "left"))
        behind, before = of.behind[:, border] * size, of.before[:, border] * size
        return np.maximum(self._over(heights, behind), self._over(others, before))

    def _at_bends(self, most: Floats, slab: Ints, starts_there: NDArray[np.bool_]) -> None:
        """Raise what is most for each line by what it meets where the room bends within its slices.

        starts_there: whether a slab starts just at a border.
        """
        edges, opens = self._edges, self._rows.opens
        if not len(edges.bend):
            return
        passed = edges.passed[slab]
        begin = passed[opens]
        many = (passed - (edges.bent[slab] & starts_there))[opens + 1] - begin
        some = (many > 0).nonzero()[0]
        if not len(some):
            return
        many = many[some]
        ends = many.cumsum()
        which = some.repeat(many)
        bend = np.arange(ends[-1]) + (begin[some] - ends + many).repeat(many)
        limit = self._over(edges.heights.take(bend, axis=1), self._ink_at(which, edges.bend[bend]))
        starts = which.searchsorted(self._rows.first)
        lines = (np.append(starts[1:], len(which)) > starts).nonzero()[0]
        most[..., lines] = np.maximum(most[..., lines], np.maximum.reduceat(limit, starts[lines], axis=2))

    def _ink_at(self, which: Ints, at: Floats) -> Floats:
        """Return the ink of slices at places in them: (2, n)."""
        rows = self._rows
        opens = rows.opens[which]
        left = self._x[opens]
        share = (at - left) / np.maximum(self._x[opens + 1] - left, TOUCHING_LIMITS)
        inks = self._of.slices.take(rows.slice_of[which], axis=1) * self._sizes[rows.size_of[which]]
        return np.asarray(inks[:2] + share * (inks[2:] - inks[:2]))
