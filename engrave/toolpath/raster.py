"""Row by row: where a beam's head sweeps, and the course it takes.

Rows are cut from the lettering's own outlines by a scan over all edges at once, winding numbers summed along each
row (nonzero rule, so that letters which touch or overlap are burnt once).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engrave.geometry.arrays import Floats, Ints
from engrave.geometry.flattening import flatten_all
from engrave.geometry.paths import Path
from engrave.geometry.regions import centre_lines, polygons
from engrave.motion.planner import CUT, RAPID, TRAVEL, TURN, chain_through
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.toolpath.moves import Course, Toolpath

RowSpans = Floats
"""Marks as an array (m, 3): index of the row, x where the beam goes on, x where it goes off; sorted."""


def raster_toolpath(
    drawn: Path,
    strokes: Path,
    lettering: Lettering,
    tool: Tool,
    start: tuple[float, float],
    lines: Sequence[Floats] | None = None,
) -> Toolpath:
    """Return the toolpath of a beam over the rows through a lettering; `strokes` are those that the file holds.

    lines: what is drawn, as chords; worked out here if None.
    """
    rows = rows_of(raster_rings(drawn, lettering, lines), tool.recipe.row_pitch)
    passes = max(1, tool.recipe.passes)
    course = raster_course(rows, sweep_of(tool), start, tool.machine.return_home, passes)
    marked = float((rows.spans[:, 2] - rows.spans[:, 1]).sum())
    facts = (("rows", float(course.starts)), ("marked_mm", marked * passes))
    return Toolpath(drawn, strokes, course, passes, facts)


def raster_rings(drawn: Path, lettering: Lettering, lines: Sequence[Floats] | None = None) -> list[Floats]:
    """Return the closed rings that a raster fills: outlines as chords (`lines` where they are known), or grooves around lines."""
    if lettering.kind == "outline":
        return [line for line, c in zip(lines or flatten_all(drawn), drawn, strict=True) if c.closed]
    grooves = polygons(centre_lines(drawn).buffer(lettering.groove / 2.0))
    return [np.asarray(ring.coords) for p in grooves for ring in (p.exterior, *p.interiors)]


@dataclass(frozen=True, slots=True)
class Rows:
    """A raster's rows: y (n,) of each in mm and all marks as `RowSpans`; rows without marks are blank."""

    y: Floats
    spans: RowSpans


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


def _crossings(a: Floats, b: Floats, y: Floats, pitch: float) -> tuple[Ints, Floats, Ints]:
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


def _spans(row: Ints, x: Floats, way: Ints) -> RowSpans:
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


def sweep_of(tool: Tool) -> Sweep:
    """Return how the recipe runs its rows."""
    r = tool.recipe
    return Sweep(r.feed, r.run_out, r.both_ways, r.trimmed, r.skip_blank, r.blank_rapid)


def raster_course(rows: Rows, sweep: Sweep, start: tuple[float, float], home: bool, passes: int = 1) -> Course:
    """Return the course of a beam over rows: sweep, one straight rapid to the next row, sweep.

    Both ways: every second sweep runs back. One way: the head comes back at rapid, beam off.
    """
    if not len(rows.spans):
        return Course(chain_through(np.zeros((1, 3)), RAPID), 0)
    sweeps, x, y, part = _nodes(rows, sweep, passes)
    part[0] = TRAVEL
    points = np.column_stack([np.concatenate([[start[0]], x]), np.concatenate([[start[1]], y])])
    if home:
        points, part = np.concatenate([points, points[:1]]), np.append(part, TRAVEL)
    feeds = np.array([sweep.speed, RAPID, RAPID, RAPID, RAPID])
    return Course(chain_through(points, feeds[part], part), sweeps)


def _nodes(rows: Rows, sweep: Sweep, passes: int) -> tuple[int, Floats, Floats, Ints]:
    """Return how many sweeps there are, and x, y of all nodes in order with the part of the move that leads to each."""
    row, x, count = _row_nodes(rows, sweep)
    swept = np.flatnonzero(count)
    place = np.searchsorted(swept, row)
    order = np.concatenate([place + k * len(swept) for k in range(passes)])
    x, y = np.tile(x, passes), np.tile(rows.y[row], passes)
    back = (order % 2 == 1) & sweep.both_ways
    at = np.lexsort((np.where(back, -x, x), order))
    inside = np.arange(len(at)) - np.searchsorted(order[at], order[at])  # place of a node within its sweep
    part = np.where(inside == 0, TURN, np.where(inside % 2 == 1, CUT, TRAVEL))
    return len(swept) * passes, x[at], y[at], part


def _row_nodes(rows: Rows, sweep: Sweep) -> tuple[Ints, Floats, Ints]:
    """Return the nodes of all rows that are swept as (row, x), and how many each row has.

    A row's nodes are its two ends with run-out, and both ends of every blank that is crossed at rapid.
    """
    index = rows.spans[:, 0].astype(np.int64)
    n = len(rows.y)
    left, right = np.full(n, np.inf), np.full(n, -np.inf)
    np.minimum.at(left, index, rows.spans[:, 1])
    np.maximum.at(right, index, rows.spans[:, 2])
    blank = np.isinf(left)
    whole = blank if sweep.trimmed else np.ones(n, dtype=bool)
    left[whole], right[whole] = rows.spans[:, 1].min(), rows.spans[:, 2].max()
    swept = np.flatnonzero(~blank) if sweep.skip_blank else np.arange(n)
    ends = np.concatenate([left[swept] - sweep.run_out, right[swept] + sweep.run_out])
    gaps = _rapid_blanks(rows.spans, index, sweep.blank_rapid)
    row = np.concatenate([swept, swept, index[gaps], index[gaps]])
    x = np.concatenate([ends, rows.spans[gaps, 2], rows.spans[gaps + 1, 1]])
    return row, x, np.bincount(row, minlength=n)


def _rapid_blanks(spans: RowSpans, index: Ints, limit: float | None) -> Ints:
    """Return the marks after which a blank wider than `limit` mm comes before the next mark of the same row."""
    if limit is None or len(spans) < 2:
        return np.zeros(0, dtype=np.int64)
    wide = (index[1:] == index[:-1]) & (spans[1:, 1] - spans[:-1, 2] > limit)
    return np.flatnonzero(wide)
