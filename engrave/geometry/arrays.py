"""Arrays of numbers, as the stages pass them on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def distinct(values: Floats) -> Floats:
    """Return the values of an array without repeats, in order: `numpy.unique`, which loads masked arrays at its first call."""
    ordered: Floats = np.sort(values, axis=None)
    differs = np.append(True, ordered[1:] != ordered[:-1])[: len(ordered)]
    found: Floats = ordered[differs]
    return found
