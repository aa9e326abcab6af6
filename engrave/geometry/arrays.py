"""Arrays of numbers, as the stages pass them on."""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
NumberKind = TypeVar("NumberKind", bound=np.number[Any])


def distinct(values: NDArray[NumberKind]) -> NDArray[NumberKind]:
    """Return the values of an array without repeats, in order: `numpy.unique`, which loads masked arrays at its first call."""
    ordered: NDArray[NumberKind] = np.sort(values, axis=None)
    differs = np.append(True, ordered[1:] != ordered[:-1])[: len(ordered)]
    found: NDArray[NumberKind] = ordered[differs]
    return found


def distinct_and_places(values: NDArray[NumberKind]) -> tuple[NDArray[NumberKind], Ints]:
    """Return the values without repeats, in order, and the place of each value among them."""
    found = distinct(values)
    return found, np.searchsorted(found, values)
