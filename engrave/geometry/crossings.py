"""How often rings of chords cross one another or themselves, counted up to a limit, so that no drawing makes it long."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import STRtree, linestrings

from engrave.geometry.paths import Polyline

ROWS_AT_A_TIME = 500
"""Chords held against all others at a time, so that the memory stays bounded."""


def count_crossings(rings: Sequence[Polyline], most: int) -> int:
    """Return how often chords cross or touch others than their neighbours in their ring.

    rings: points of shape (n, 2), the first repeated at the end. Counting ends at the first answer beyond `most`.
    """
    lengths = np.array([len(r) - 1 for r in rings])
    if not lengths.sum():
        return 0
    chords = linestrings(np.concatenate([np.stack([r[:-1], r[1:]], axis=1) for r in rings if len(r) > 1]))
    ring = np.repeat(np.arange(len(rings)), lengths)
    place = np.arange(len(chords)) - np.concatenate([[0], np.cumsum(lengths)])[ring]
    tree = STRtree(chords)
    count = 0
    for first in range(0, len(chords), ROWS_AT_A_TIME):
        one, two = tree.query(chords[first : first + ROWS_AT_A_TIME], predicate="intersects")
        one = one + first
        step = np.abs(place[one] - place[two])
        apart = (ring[one] != ring[two]) | ((step > 1) & (step != lengths[ring[one]] - 1))
        count += int(np.count_nonzero(apart & (one < two)))
        if count > most:
            break
    return count
