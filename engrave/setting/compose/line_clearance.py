"""How near two lines really come: a tail above a ring, measured letter against letter."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engrave.cache import CacheKind
from engrave.geometry.arrays import Floats
from engrave.setting.fit.layout import Layout
from engrave.setting.text.fields import ShapedField
from engrave.setting.text.glyph_shapes import glyph_shape

LINE_GAP = 0.14
"""Caps (of the smaller line) of free wood between two lines: the gap between letters side by side is about as much, and
less reads as touching (common practice, no source)."""

COLUMN_WIDTH = 0.05
"""Caps: width of the columns in which tops and tails are held against each other; what is beside counts as well."""

NO_INK = -1e9
"""Stands for 'no ink in this column'."""


def lacking_between(fields: Sequence[ShapedField], layout: Layout, above: int, below: int) -> float:
    """Return by how much two neighbouring lines come too near, in caps of ratio 1; nothing or less if they do not."""
    smaller = min(fields[layout.field_of[layout.ends[n][0]]].ratio for n in (above, below))
    least = LINE_GAP * smaller - layout.gap(above, below)
    if -_reach(layout, above, lower=True) + _reach(layout, below, lower=False) + least <= 0:
        return 0.0  # as most lines: even the deepest tail over the highest ring has room
    low, start = _kept_profile(fields, layout, above, lower=True)
    high, begin = _kept_profile(fields, layout, below, lower=False)
    left, right = max(start, begin), min(start + len(low), begin + len(high))
    if left >= right:
        return 0.0
    reach = low[left - start : right - start] + high[left - begin : right - begin]
    return float(reach.max()) + least


def _reach(layout: Layout, line: int, lower: bool) -> float:
    """Return the lowest or the highest ink of a line, in caps of ratio 1."""
    i, j = layout.ends[line]
    ys = [float(u.hull[:, 1].min() if lower else u.hull[:, 1].max()) for u in layout.units[i:j]]
    return (min(ys) if lower else max(ys)) * layout.stack.fields[layout.field_of[i]].ratio


PROFILES: CacheKind[tuple[Floats, int]] = CacheKind("profiles", 128)
"""Of lines, by their words, ratio and centre, below or above: asked about again at every pitch, hold and size."""


def _kept_profile(fields: Sequence[ShapedField], layout: Layout, line: int, lower: bool) -> tuple[Floats, int]:
    i, j = layout.ends[line]
    key = (tuple(layout.units[i:j]), fields[layout.field_of[i]].ratio, layout.centres[line], lower)
    return layout.room.kept.get(PROFILES, key, lambda: _profile(fields, layout, line, lower))


def _profile(fields: Sequence[ShapedField], layout: Layout, line: int, lower: bool) -> tuple[Floats, int]:
    """Return how far a line reaches down (or up) from its baseline, column by column, and the first column's number."""
    i, j = layout.ends[line]
    fld = layout.field_of[i]
    before = sum(len(v.words) for v in fields[:fld])
    shaped, centre = fields[fld], layout.centres[line]
    parts: list[tuple[Floats, Floats, Floats]] = []
    for word in shaped.words[i - before : j - before]:
        for p in word.placed:
            m = glyph_shape(p.glyph)
            if m:
                x = (m.slices[:, :2] * p.scale + p.x - centre) * shaped.ratio
                y = (m.slices[:, 2:] * p.scale + p.y) * shaped.ratio
                reach = -y[:, 2:].min(axis=1) if lower else y[:, :2].max(axis=1)
                parts.append((x[:, 0], x[:, 1], reach))
    x0, x1, reach = (np.concatenate(c) for c in zip(*parts, strict=True))
    first = np.floor(x0 / COLUMN_WIDTH).astype(int) - 1
    last = np.floor(x1 / COLUMN_WIDTH).astype(int) + 1
    start = int(first.min())
    out = np.full(int(last.max()) - start + 1, NO_INK)
    for step in range(int((last - first).max()) + 1):
        np.maximum.at(out, np.minimum(first + step, last) - start, reach)
    return out, start
