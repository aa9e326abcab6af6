"""Which rings belong together: an outer ring with its holes is one shape, and is filled or cleared as one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engrave.geometry.flattening import flatten
from engrave.geometry.paths import Contour, Path, Polyline

RING = 0.02
"""mm: chords for telling which ring lies within which. Rings never cross, so this need not be fine."""


def compounds(strokes: Sequence[Contour]) -> tuple[Path, ...]:
    """Group closed rings: each outer ring with the holes directly within it, in the order in which outers are cut.

    A ring within an even number of others is an outer one (an island within a counter is a shape of its own).
    Open contours stand alone.
    """
    closed = [i for i, c in enumerate(strokes) if c.closed]
    rings = {i: flatten(strokes[i], RING) for i in closed}
    boxes = {i: (*r.min(axis=0), *r.max(axis=0)) for i, r in rings.items()}
    around = {i: [j for j in closed if j != i and _within(rings[i], rings[j], boxes[i], boxes[j])] for i in closed}
    holes: dict[int, list[int]] = {}
    for i in closed:
        if len(around[i]) % 2:
            owner = max(around[i], key=lambda j: (len(around[j]), -j))
            holes.setdefault(owner, []).append(i)
    taken = {h for hs in holes.values() for h in hs}
    return tuple((c, *(strokes[h] for h in holes.get(i, ()))) for i, c in enumerate(strokes) if i not in taken)


def _within(ring: Polyline, other: Polyline, box: tuple[float, ...], other_box: tuple[float, ...]) -> bool:
    inside_box = box[0] >= other_box[0] and box[1] >= other_box[1] and box[2] <= other_box[2] and box[3] <= other_box[3]
    return inside_box and box != other_box and _contains(other, ring[0])


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
