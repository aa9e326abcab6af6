"""The silhouettes of words: what a solver needs to know of letters, in cap heights, y up.

A silhouette is a row of upright slices, each with a straight top and bottom. In a word as a person reads it, letters
and the gaps between them are one shape, so that nothing may stand between them: its silhouette is the convex hull.
`exact` silhouettes follow each letter instead; they fill it from its lowest to its highest ink.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engrave.geometry.arrays import Floats, distinct

UPRIGHT_WIDTH = 1e-9
"""Cap heights: slices narrower than this are uprights (the stem of a single-line I has no width)."""

Feet = tuple[tuple[float, float], ...]
"""For each glyph of a word the width of its ink and how far it reaches below the baseline, in caps."""


@dataclass(frozen=True, slots=True, eq=False)
class Silhouette:
    """What is never broken: a word, or words that stay together. x from the start of its field's strip, in caps.

    hull: corners of the convex hull, shape (n, 2). slices: shape (m, 6), columns x0, x1, top0, top1, bottom0, bottom1.
    price: what it costs, as a share of the size, to end a line with it. closes: the buyer asked for a break after it.
    grip: how firmly it holds the next one: 0 not, 1 weakly, 2 strongly, 3 as the buyer typed them in one line.
    lone: it may stand on a line of its own between its neighbours, as '&' does between two names.
    stops: a comma or full stop closes it, or nothing follows. feet: of each glyph; none where letters are
    not told apart.
    """

    text: str
    hull: Floats
    slices: Floats
    price: float = 0.0
    closes: bool = False
    grip: int = 0
    lone: bool = False
    stops: bool = False
    feet: Feet = ()

    @property
    def left(self) -> float:
        """Leftmost ink."""
        return float(self.hull[:, 0].min())

    @property
    def right(self) -> float:
        """Rightmost ink."""
        return float(self.hull[:, 0].max())


def silhouette(
    text: str, outlines: Sequence[Floats], exact: bool = False, price: float = 0.0, closes: bool = False
) -> Silhouette:
    """Return the unit made of outlines or strokes: point arrays of shape (n, 2), in caps. exact: by letter, no hull.

    Raises ValueError if there is no ink at all.
    """
    if not outlines:
        raise ValueError(f"{text!r} leaves no ink")
    corners = convex_hull(np.concatenate(outlines))
    slices = np.concatenate([letter_slices(o) for o in _letters(outlines)]) if exact else hull_slices(corners)
    return Silhouette(text, corners, slices, price, closes)


def convex_hull(points: Floats) -> Floats:
    """Return the corners of the convex hull, turning left from the leftmost; Andrew's monotone chain."""
    ordered = sorted(set(map(tuple, points.tolist())))
    if len(ordered) < 3:
        return np.array(ordered, dtype=float)
    lower = _chain(ordered)
    upper = _chain(ordered[::-1])
    return np.array(lower[:-1] + upper[:-1], dtype=float)


def _chain(ordered: list[tuple[float, ...]]) -> list[tuple[float, ...]]:
    out: list[tuple[float, ...]] = []
    for p in ordered:
        while len(out) > 1 and _turn(out[-2], out[-1], p) <= 0:
            out.pop()
        out.append(p)
    return out


def _turn(a: tuple[float, ...], b: tuple[float, ...], c: tuple[float, ...]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def hull_slices(corners: Floats) -> Floats:
    """Return the slices of a convex polygon given by its corners turning left from the leftmost."""
    xs = distinct(corners[:, 0])
    if xs[-1] - xs[0] < UPRIGHT_WIDTH:
        top, bottom = corners[:, 1].max(), corners[:, 1].min()
        return np.array([[xs[0], xs[-1], top, top, bottom, bottom]])
    last = int(np.argmax(corners[:, 0]))
    lower = corners[: last + 1]
    upper = np.concatenate([corners[last:], corners[:1]])[::-1]
    # An upright side gives two corners of one x; numpy's interpolation takes the later, so the inner one is kept.
    top = np.interp(xs, *_inner(upper, highest=True).T)
    bottom = np.interp(xs, *_inner(lower, highest=False).T)
    return np.column_stack([xs[:-1], xs[1:], top[:-1], top[1:], bottom[:-1], bottom[1:]])


def _inner(chain: Floats, highest: bool) -> Floats:
    best: dict[float, float] = {}
    for x, y in chain.tolist():
        best[x] = max(best.get(x, y), y) if highest else min(best.get(x, y), y)
    return np.array(sorted(best.items()), dtype=float)


def _letters(outlines: Sequence[Floats]) -> list[list[Floats]]:
    """Group outlines that overlap in x: an i with its dot, an o with its hole."""
    ordered = sorted(outlines, key=lambda o: float(o[:, 0].min()))
    groups: list[list[Floats]] = []
    reach = float("-inf")
    for o in ordered:
        if groups and o[:, 0].min() < reach:
            groups[-1].append(o)
        else:
            groups.append([o])
        reach = max(reach, float(o[:, 0].max()))
    return groups


def letter_slices(outlines: Sequence[Floats]) -> Floats:
    """Return the slices between the highest and the lowest ink of some outlines that overlap in x."""
    starts = np.concatenate([o[:-1] for o in outlines])
    ends = np.concatenate([o[1:] for o in outlines])
    swap = starts[:, 0] > ends[:, 0]
    a, b = np.where(swap[:, None], ends, starts), np.where(swap[:, None], starts, ends)
    xs = distinct(np.concatenate([a[:, 0], b[:, 0]]))
    if xs[-1] - xs[0] < UPRIGHT_WIDTH:
        both = np.concatenate([a, b])[:, 1]
        return np.array([[xs[0], xs[-1], both.max(), both.max(), both.min(), both.min()]])
    x0, x1 = xs[:-1], xs[1:]
    run = b[:, 0] - a[:, 0]
    slope = np.where(run > 0, (b[:, 1] - a[:, 1]) / np.where(run > 0, run, 1.0), 0.0)
    spans = (a[:, 0][:, None] <= x0) & (b[:, 0][:, None] >= x1) & (run > 0)[:, None]
    left = a[:, 1][:, None] + slope[:, None] * (x0 - a[:, 0][:, None])
    right = a[:, 1][:, None] + slope[:, None] * (x1 - a[:, 0][:, None])
    inside = spans.any(axis=0)
    top0, top1 = np.where(spans, left, -np.inf).max(axis=0), np.where(spans, right, -np.inf).max(axis=0)
    low0, low1 = np.where(spans, left, np.inf).min(axis=0), np.where(spans, right, np.inf).min(axis=0)
    between = np.column_stack([x0, x1, top0, top1, low0, low1])[inside]
    stems = _uprights(a[run == 0], b[run == 0], between)
    if not len(stems):
        return between
    every = np.concatenate([between, stems])
    return every[np.lexsort((every[:, 1], every[:, 0]))]


def _uprights(starts: Floats, ends: Floats, slices: Floats) -> Floats:
    """Return slices without width for upright strokes that reach beyond the slices beside them: the stem of an F."""
    out = []
    for x in distinct(starts[:, 0]).tolist():
        ys = np.concatenate([starts[starts[:, 0] == x], ends[ends[:, 0] == x]])[:, 1]
        before, after = slices[slices[:, 1] == x], slices[slices[:, 0] == x]
        tops = np.concatenate([before[:, 3], after[:, 2], [-np.inf]])
        lows = np.concatenate([before[:, 5], after[:, 4], [np.inf]])
        top, low = max(ys.max(), tops.max()), min(ys.min(), lows.min())
        if top > tops.max() or low < lows.min():
            out.append([x, x, top, top, low, low])
    return np.array(out).reshape(-1, 6)
