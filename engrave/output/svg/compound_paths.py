"""Which rings belong together: an outer ring with its holes is one shape, and is filled or cleared as one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engrave.geometry.flattening import flatten_all
from engrave.geometry.paths import Contour, Path, Polyline

RING_CHORD = 0.02
"""mm: chords for telling which ring lies within which. Rings never cross, so this need not be fine."""


def compounds(strokes: Sequence[Contour]) -> tuple[Path, ...]:
    """Group closed rings: each outer ring with the holes directly within it, in the order in which outers are cut.

    A ring within an even number of others is an outer one (an island within a counter is a shape of its own).
    Open contours stand alone.
    """
    closed = [i for i, c in enumerate(strokes) if c.closed]
    around = {closed[i]: [closed[j] for j in js] for i, js in enumerate(_around([strokes[i] for i in closed]))}
    holes: dict[int, list[int]] = {}
    for i in closed:
        if len(around[i]) % 2:
            owner = max(around[i], key=lambda j: (len(around[j]), -j))
            holes.setdefault(owner, []).append(i)
    taken = {h for hs in holes.values() for h in hs}
    return tuple((c, *(strokes[h] for h in holes.get(i, ()))) for i, c in enumerate(strokes) if i not in taken)


def _around(contours: Sequence[Contour]) -> list[list[int]]:
    """Return for each ring the indices of those that it lies within: few are looked at closely, those in whose box its own lies."""
    found: list[list[int]] = [[] for _ in contours]
    if len(contours) < 2:
        return found
    rings = flatten_all(contours, RING_CHORD)
    low, high = np.array([r.min(axis=0) for r in rings]), np.array([r.max(axis=0) for r in rings])
    inside = (low[:, None] >= low).all(axis=2) & (high[:, None] <= high).all(axis=2)
    same = (low[:, None] == low).all(axis=2) & (high[:, None] == high).all(axis=2)
    for i, j in np.argwhere(inside & ~same).tolist():
        if _contains(rings[j], rings[i][0]):
            found[i].append(j)
    return found


def _contains(ring: Polyline, point: Polyline) -> bool:
    """Even-odd test of one point against a ring that repeats its first point."""
    x, y = point
    a, b = ring[:-1], ring[1:]
    crosses = (a[:, 1] > y) != (b[:, 1] > y)
    if not crosses.any():
        return False
    a, b = a[crosses], b[crosses]
    at = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    return bool(np.count_nonzero(at > x) % 2)
