"""One even break of many words: the programme that sets paragraphs, for a lid."""

from __future__ import annotations

import numpy as np

from engrave.setting.compose.break_judge import LINE_MIDDLE, BreakJudge
from engrave.setting.fit.line_breaking import Break, LineWalker

LINE_FILL = 0.92
"""Share of the widest line's room that an even line is taken to fill; only differences from it count."""


def even_break(walker: LineWalker, size: float, by: BreakJudge) -> Break | None:
    """Return an even break that fits at a size, or None.

    For each number of lines, the lines' squared distances from an equal share of the room are made least, word by
    word from the last (Knuth and Plass, Breaking paragraphs into lines, 1981, with one feasible measure a line).
    """
    first = walker.break_at(size)
    if first is None or first.opened:
        return None
    allowed = walker.alone_at(size)
    best: tuple[float, Break] | None = None
    for count in {len(first.lines), len(first.lines) - 1, len(first.lines) + 1}:
        lines = _fitting(walker, count, by, allowed, size) if count > 0 else None
        if lines is not None and walker.fits(Break(lines), size):
            found = (by.loss(Break(lines)), Break(lines))
            if best is None or found[0] < best[0]:
                best = found
    return best[1] if best else None


def _fitting(walker: LineWalker, count: int, by: BreakJudge, allowed: set[int], size: float) -> tuple[int, ...] | None:
    """Return the most even lines, each of which fits by itself; those that turn out not to are taken from the allowed."""
    while (lines := _least(walker, count, by, allowed)) is not None:
        unfit = set(lines).difference(walker.of_lines(lines, size).spans)
        if not unfit:
            break
        allowed -= unfit
    return lines


def _least(walker: LineWalker, count: int, by: BreakJudge, allowed: set[int]) -> tuple[int, ...] | None:
    """Return the most even lines, `count` of them, or None; each line is held against the room at its own height."""
    layout = walker.layout
    low, high = by.heights[0], by.heights[-1]
    at = high - (high - low) * (np.arange(count) + 1.0 - LINE_MIDDLE) / count
    room = np.interp(at, by.heights, by.widths).tolist()
    whole = sum(u.right - u.left for u in layout.units) or 1.0
    measure = LINE_FILL * max(room) / sum(room) * whole
    rows: list[dict[int, tuple[float, tuple[int, ...]]]] = [{layout.count: (0.0, ())}]
    for k in range(count - 1, -1, -1):
        row: dict[int, tuple[float, tuple[int, ...]]] = {}
        for end, (cost, rest) in rows[-1].items():
            for n in layout.ending[end]:
                if n in allowed:
                    short = layout.widths[n] / room[k] * max(room) / measure - 1.0
                    here = cost + short * short + layout.units[end - 1].price * bool(rest)
                    start = layout.ends[n][0]
                    if start not in row or here < row[start][0]:
                        row[start] = (here, (n, *rest))
        rows.append(row)
    return rows[-1][0][1] if 0 in rows[-1] else None
