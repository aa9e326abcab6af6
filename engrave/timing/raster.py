"""Rows of a raster: where a beam's head sweeps, and the course it takes.

Rows are cut from the lettering's own outlines by a scan over all edges at once, winding numbers summed along each
row (nonzero rule, so that letters which touch or overlap are burnt once).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engrave.timing.course import Course
from engrave.timing.motion import CUT, RAPID, TRAVEL, TURN, Floats, Moves, moves

Spans = Floats
"""Marks as an array (m, 3): index of the row, x where the beam goes on, x where it goes off; sorted."""


@dataclass(frozen=True, slots=True)
class Rows:
    """A raster's rows: y (n,) of each in mm and all marks as `Spans`; rows without marks are blank."""

    y: Floats
    spans: Spans


def rows_of(rings: Sequence[Floats], pitch: float) -> Rows:
    """Return the rows at `pitch` mm through closed rings (each (k, 2), first point repeated), nonzero rule.

    The first row lies half a pitch below the top of the rings, so that n rows cover n pitches.
    """
    rings = [r for r in rings if len(r) >= 4]
    if not rings:
        return Rows(np.zeros(0), np.zeros((0, 3)))
    a = np.concatenate([r[:-1] for r in rings])
    b = np.concatenate([r[1:] for r in rings])
    top, bottom = float(a[:, 1].min()), float(a[:, 1].max())
    count = max(1, int(np.ceil((bottom - top) / pitch)))
    first = (top + bottom) / 2.0 - (count - 1) / 2.0 * pitch
    y = np.asarray(first + pitch * np.arange(count), dtype=np.float64)
    return Rows(y, _spans(*_crossings(a, b, y, pitch)))


def _crossings(a: Floats, b: Floats, y: Floats, pitch: float) -> tuple[NDArray[np.int64], Floats, NDArray[np.int64]]:
    """Return (row, x, +1 or -1) of every crossing of an edge with a row; an edge owns its upper end, not its lower."""
    low, high = np.minimum(a[:, 1], b[:, 1]), np.maximum(a[:, 1], b[:, 1])
    begin = np.clip(np.ceil((low - y[0]) / pitch), 0, len(y)).astype(np.int64)
    end = np.clip(np.ceil((high - y[0]) / pitch), 0, len(y)).astype(np.int64)
    count = end - begin
    edge = np.repeat(np.arange(len(a)), count)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + begin[edge]
    p, q = a[edge], b[edge]
    x = p[:, 0] + (y[row] - p[:, 1]) * (q[:, 0] - p[:, 0]) / (q[:, 1] - p[:, 1])
    return row, x, np.where(q[:, 1] > p[:, 1], 1, -1)


def _spans(row: NDArray[np.int64], x: Floats, way: NDArray[np.int64]) -> Spans:
    """Pair the crossings of each row into marks: on where the winding number leaves 0, off where it comes back."""
    order = np.lexsort((x, row))
    row, x, winding = row[order], x[order], np.cumsum(way[order])
    before = np.concatenate([[0], winding[:-1]])
    on, off = (before == 0) & (winding != 0), (before != 0) & (winding == 0)
    spans = np.column_stack([row[on].astype(np.float64), x[on], x[off]])
    return np.asarray(spans[spans[:, 2] > spans[:, 1]])


@dataclass(frozen=True, slots=True)
class Sweep:
    """How rows are run. speed mm/s; run_out mm beyond the marks; blank_rapid mm: wider blanks are crossed at rapid.

    trimmed: each row from its own first to its own last mark, else the whole job's width. skip_blank: rows without a
    mark are left out.
    """

    speed: float
    run_out: float
    both_ways: bool = True
    trimmed: bool = True
    skip_blank: bool = True
    blank_rapid: float | None = None


def raster_course(rows: Rows, sweep: Sweep, start: tuple[float, float], home: bool, passes: int = 1) -> Course:
    """Return the course of a beam over rows: sweep, one straight rapid to the next row, sweep.

    Both ways: every second sweep runs back. One way: the head comes back at rapid, beam off.
    """
    if not len(rows.spans):
        return Course(moves(np.zeros((1, 3)), RAPID), 0)
    starts, points, parts = _sweeps(rows, sweep, passes)
    begin = np.array([[*start]])
    points = np.concatenate([begin, points, begin] if home else [begin, points])
    parts = np.concatenate([parts, [TRAVEL]]) if home else parts
    parts[0] = TRAVEL
    feeds = np.array([sweep.speed, RAPID, RAPID, RAPID, RAPID])
    return Course(moves(points, feeds[parts], parts), starts)


def _sweeps(rows: Rows, sweep: Sweep, passes: int) -> tuple[int, Floats, NDArray[np.int64]]:
    """Return the number of sweeps, the points of all and the part of the move that leads to each point."""
    stops = _row_stops(rows, sweep)
    order = list(stops) * passes
    points, parts = [], []
    for i, row in enumerate(order):
        x, part = stops[row]
        if sweep.both_ways and i % 2 == 1:
            x, part = x[::-1], part[::-1]
        points.append(np.column_stack([x, np.full(len(x), rows.y[row])]))
        parts.append(np.concatenate([[TURN], part]))
    return len(order), np.concatenate(points), np.concatenate(parts)


def _row_stops(rows: Rows, sweep: Sweep) -> dict[int, tuple[Floats, NDArray[np.int64]]]:
    """Return for each row that is swept the x of its nodes from left to right and the part between them."""
    index = rows.spans[:, 0].astype(np.int64)
    left, right = float(rows.spans[:, 1].min()), float(rows.spans[:, 2].max())
    bounds = np.searchsorted(index, np.arange(len(rows.y) + 1))
    stops: dict[int, tuple[Floats, NDArray[np.int64]]] = {}
    for row in range(len(rows.y)):
        spans = rows.spans[bounds[row] : bounds[row + 1], 1:]
        if not len(spans) and sweep.skip_blank:
            continue
        whole = not sweep.trimmed or not len(spans)
        ends = (left, right) if whole else (float(spans[0, 0]), float(spans[-1, 1]))
        stops[row] = _nodes(spans, ends, sweep)
    return stops


def _nodes(spans: Floats, ends: tuple[float, float], sweep: Sweep) -> tuple[Floats, NDArray[np.int64]]:
    """Return a row's nodes: its two ends with run-out, and both ends of every blank that is crossed at rapid."""
    outer = np.array([ends[0] - sweep.run_out, ends[1] + sweep.run_out])
    if sweep.blank_rapid is None or len(spans) < 2:
        return outer, np.array([CUT])
    blanks = np.column_stack([spans[:-1, 1], spans[1:, 0]])
    blanks = blanks[blanks[:, 1] - blanks[:, 0] > sweep.blank_rapid]
    nodes = np.concatenate([outer[:1], blanks.ravel(), outer[1:]])
    part = np.full(len(nodes) - 1, CUT)
    part[1::2] = TRAVEL
    return nodes, part


def joined_rows(y: Sequence[float], marks: Sequence[Sequence[Sequence[float]]]) -> Rows:
    """Return rows given as lists of marks, each (on, off) in mm."""
    spans = [(float(i), float(on), float(off)) for i, row in enumerate(marks) for on, off in row]
    return Rows(np.array(y, dtype=np.float64), np.array(spans, dtype=np.float64).reshape(-1, 3))


__all__ = ["Moves", "Rows", "Sweep", "joined_rows", "raster_course", "rows_of"]
