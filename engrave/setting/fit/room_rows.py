"""Where words may stand anywhere in a room at one size: bit rows, one question for every axis at once.

The room is cut into upright columns of cells; a set of places (axis, baseline) is one large whole number, a bit a cell.
The places of a word are those from which every one of its columns falls on free cells: shifted copies of the room, met.
Lines and breaks are met and joined from these by the same programme that walks over one axis. Every rounding is in the
words' favour: what is not found here fits nowhere, what is found is held against the room itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.arrays import Floats
from engrave.setting.fit.layout import Layout
from engrave.setting.fit.prepared_room import PreparedRoom

PHASES = 4
"""Places of a word's left edge within a column that are told apart."""

EVERY = 3
"""Of a word's columns one in so many is held against the room, and both ends: what is in the way is wider than that."""

LEAST_APART = 0.5
"""mm between axes from which the best is sought: from nearer ones it is nearly always the same."""

SAMPLE = 0.02
"""Caps between places where the highest and lowest ink of a word is tabled."""

Footing = tuple[tuple[int, ...], float, float]
"""Lines of a break, and the axis and first baseline near which they may fit, in mm."""


@dataclass(frozen=True, slots=True, eq=False)
class RoomColumns:
    """A room cut into columns `step` mm apart, the first at x `left`; spans: free (low, high) of each, in mm."""

    step: float
    left: float
    spans: tuple[tuple[tuple[float, float], ...], ...]


def columns_of(room: PreparedRoom, step: float) -> RoomColumns:
    """Return a room's columns; it is taken larger all round by what rounding to a column and a phase may miss."""
    grown = room.shape.buffer(step * (0.5 + 0.5 / PHASES), join_style="mitre")
    parts = list(grown.geoms) if hasattr(grown, "geoms") else [grown]
    rings = [np.asarray(r.coords) for p in parts for r in (p.exterior, *p.interiors)]
    a, b = np.concatenate([r[:-1] for r in rings]), np.concatenate([r[1:] for r in rings])
    low, _, high, _ = grown.bounds
    count = int((high - low) / step) + 1
    at = low + step * (np.arange(count) + 0.5 * ((high - low) / step - (count - 1)))
    meets = (np.minimum(a[:, 0], b[:, 0]) <= at[:, None]) & (at[:, None] < np.maximum(a[:, 0], b[:, 0]))
    column, side = np.nonzero(meets)
    share = (at[column] - a[side, 0]) / (b[side, 0] - a[side, 0])
    y = a[side, 1] + share * (b[side, 1] - a[side, 1])
    order = np.lexsort((y, column))
    column, heights = column[order], y[order].tolist()
    first = np.searchsorted(column, np.arange(count + 1)).tolist()
    spans = tuple(
        tuple(zip(heights[i:j:2], heights[i + 1 : j : 2], strict=False))
        for i, j in zip(first[:-1], first[1:], strict=True)
    )
    return RoomColumns(step, float(at[0]), spans)


def envelopes_of(layout: Layout) -> list[tuple[Floats, Floats]]:
    """Return for each unit its highest and lowest ink every SAMPLE caps from its left edge; below where there is none."""
    out = []
    for u in layout.units:
        x = u.left + SAMPLE * np.arange(int((u.right - u.left) / SAMPLE) + 1)
        s = u.slices
        k = np.maximum(np.searchsorted(s[:, 0], x + 1e-9, side="right") - 1, 0)
        share = np.clip((x - s[k, 0]) / np.maximum(s[k, 1] - s[k, 0], 1e-12), 0.0, 1.0)
        inked = x <= s[k, 1] + 1e-9
        top = np.where(inked, s[k, 2] + share * (s[k, 3] - s[k, 2]), -1e9)
        out.append((top, np.where(inked, s[k, 4] + share * (s[k, 5] - s[k, 4]), 1e9)))
    return out


class RoomRows:
    """The places of a layout's lines in a room at one size. opens: gaps between lines may be wider than they need be."""

    def __init__(
        self, columns: RoomColumns, layout: Layout, envelopes: Sequence[tuple[Floats, Floats]], size: float, opens: bool
    ) -> None:
        """Make the bits. Rows are such that a quarter of the first field's pitch is a whole number of them."""
        self.columns, self.layout, self.envelopes = columns, layout, envelopes
        self.size, self.opens = size, opens
        pitch = layout.stack.pitch_of(0) * layout.stack.fields[0].ratio * size
        self.row = pitch / (4 * max(1, round(pitch / columns.step / 4)))
        reach = [(u.hull[:, 1].max() * layout.ratio(i), -u.hull[:, 1].min() * layout.ratio(i))
                 for i, u in enumerate(layout.units)]  # fmt: skip
        pad = [int(max(0.0, *over) * size / self.row) + 2 for over in zip(*reach, strict=True)]
        low = min((s[0][0] for s in columns.spans if s), default=0.0)
        high = max((s[-1][1] for s in columns.spans if s), default=0.0)
        self.low = low - pad[0] * self.row
        self.rows = -(-(int((high - low) / self.row) + sum(pad) + 2) // 8) * 8
        self.all = (1 << self.rows * len(columns.spans)) - 1
        self.runs = [self._room()]
        self._upright: dict[tuple[int, int], int] = {}
        self._words: dict[tuple[int, int], int] = {}

    def _room(self) -> int:
        out = []
        for spans in self.columns.spans:
            bits = 0
            for low, high in spans:
                first, last = int(np.ceil((low - self.low) / self.row - 0.5)), int((high - self.low) / self.row + 0.5)
                bits |= (1 << last + 1) - (1 << first) if last >= first else 0
            out.append(bits.to_bytes(self.rows // 8, "little"))
        return int.from_bytes(b"".join(out), "little")

    def _run(self, first: int, last: int) -> int:
        """Return the places from which cells `first` to `last` above are all free."""
        found = self._upright.get((first, last))
        if found is None:
            power = (last - first + 1).bit_length() - 1
            while len(self.runs) <= power:
                run = self.runs[-1]
                self.runs.append(run & run >> (1 << len(self.runs) - 1))
            run = self.runs[power]
            found = self._upright[first, last] = _moved(run, first) & _moved(run, last + 1 - (1 << power))
        return found

    def _word(self, unit: int, phase: int) -> int:
        """Return the places of a word's left edge, `phase` parts of a column to the right of a column's middle."""
        found = self._words.get((unit, phase))
        if found is None:
            found = self.all
            for column, first, last in self._cells(unit, phase):
                found &= _moved(self._run(first, last), column * self.rows)
                if not found:
                    break
            self._words[unit, phase] = found
        return found

    def _cells(self, unit: int, phase: int) -> list[tuple[int, int, int]]:
        """Return (column, lowest row, highest row) of a word's ink, from its left edge and baseline."""
        by = self.size * self.layout.ratio(unit)
        tops, bottoms = self.envelopes[unit]
        step, start = self.columns.step / by / SAMPLE, phase / PHASES
        first = 1 if phase else 0
        at = np.arange(first, max(int((len(tops) - 1) / step + start), first) + 1)
        k = np.minimum(((at - start) * step + 0.5).astype(int), len(tops) - 1)
        high, low = tops[k] * (by / self.row), bottoms[k] * (by / self.row)
        inked = high >= low
        high, low = np.floor(high[inked] + 1e-9), np.ceil(low[inked] - 1e-9)
        thin = high < low
        low[thin] = high[thin] = (low[thin] + high[thin]) // 2
        rows = list(zip(at[inked].tolist(), low.astype(int).tolist(), high.astype(int).tolist(), strict=True))
        return [rows[0], rows[-1], *rows[EVERY:-1:EVERY]] if rows else []

    def line(self, number: int) -> int:
        """Return the places (axis, baseline) of a line."""
        layout = self.layout
        i, j = layout.ends[number]
        by = self.size * layout.ratio(i)
        out = self.all
        for unit in range(i, j):
            offset = (layout.units[unit].left - layout.centres[number]) * by / self.columns.step
            parts = round(offset * PHASES)
            out &= _moved(self._word(unit, parts % PHASES), parts // PHASES * self.rows)
            if not out:
                break
        return out

    def after(self) -> dict[int, int]:
        """Return by line the places at which it and all after it may stand; lines that have none are left out."""
        layout = self.layout
        out: dict[int, int] = {}
        joined = [0] * layout.count + [self.all]
        narrow = set(layout.narrow(self.size))
        for at in range(layout.count - 1, -1, -1):
            for number in layout.starting[at]:
                end = layout.ends[number][1]
                if number not in narrow or not joined[end]:
                    continue
                below = self._lifted(joined[end], layout.gaps[number]) if end < layout.count else self.all
                here = self.line(number) & below if below else 0
                if here:
                    out[number] = here
                    joined[at] |= self._lifted(here, layout.rises[number], strictly=True)
        return out

    def _lifted(self, places: int, gap: float, strictly: bool = False) -> int:
        """Return places raised by a gap in caps, rounded both ways; all higher ones too where gaps may open."""
        rows = gap * self.size / self.row
        low = int(np.floor(rows + 1e-6))
        out = places << low & self.all
        if rows - low > 1e-6:
            out |= places << low + 1 & self.all
        if self.opens and not strictly:
            wide = 1
            while wide < self.rows:
                out |= out << wide & self.all
                wide *= 2
        return out

    def breaks(self) -> Iterator[tuple[tuple[int, ...], int]]:
        """Yield breaks that may fit, each with the places of its first line."""
        after = self.after()

        def walk(lines: tuple[int, ...], places: int, drop: float, at: int) -> Iterator[tuple[tuple[int, ...], int]]:
            for number in reversed(self.layout.starting[at]):
                if number not in after:
                    continue
                gap = drop + (self.layout.gap(lines[-1], number) if lines else 0.0)
                still = places & self._lifted(after[number], gap)
                if not still:
                    continue
                end = self.layout.ends[number][1]
                if end == self.layout.count:
                    yield (*lines, number), still
                else:
                    yield from walk((*lines, number), still, gap, end)

        return walk((), self.all, 0.0, 0)

    def footings(self, lines: tuple[int, ...], places: int, many: int) -> Iterator[Footing]:
        """Yield footings spread over each stretch of axes, its middle first, and there of each stretch of baselines."""
        raw = places.to_bytes(len(self.columns.spans) * self.rows // 8, "little")
        cells = np.unpackbits(np.frombuffer(raw, dtype=np.uint8), bitorder="little").reshape(-1, self.rows)
        for first, last in _stretches(np.asarray(cells.any(axis=1))):
            middle = (first + last) // 2
            apart = max(1, round(LEAST_APART / self.columns.step), -(-(last - first) // many))
            for column in sorted(range(middle % apart, last + 1, apart), key=lambda c: abs(c - middle)):
                for low, high in _stretches(cells[column].astype(bool)) if column >= first else ():
                    yield lines, self.columns.left + column * self.columns.step, self.low + (low + high) / 2 * self.row


def _moved(bits: int, by: int) -> int:
    """Return the places whose cell `by` further on is one of these."""
    return bits >> by if by >= 0 else bits << -by


def _stretches(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last index of each run of true flags."""
    edges = np.diff(np.concatenate([[0], flags.astype(np.int8), [0]]))
    return list(zip(np.flatnonzero(edges == 1).tolist(), (np.flatnonzero(edges == -1) - 1).tolist(), strict=True))
