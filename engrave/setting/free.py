"""The largest fit where the axis is free: axes are tried across the room, then ever closer about the best."""

from __future__ import annotations

import numpy as np

from engrave.setting.layout import Stack
from engrave.setting.solver import Fit, Search
from engrave.setting.spaces import Space

AXES = 33
"""Axes of the first round: a thirty-second of the room's width apart, below the width of a short word."""

ROUNDS = 4
"""Rounds of refining, each an eighth as wide: the last is finer than a two-hundredth of a millimetre on a lid."""


def largest_free(room: Space, stack: Stack, tidy: bool = False) -> Fit | None:
    """Return the largest fit over all axes; exact to the last round's step where the size has one summit."""
    low, _, high, _ = room.box
    best: Fit | None = None
    axes = np.linspace(low, high, AXES)
    step = (high - low) / (AXES - 1)
    for _ in range(ROUNDS + 1):
        for axis in axes:
            fit = Search(room, stack, float(axis), tidy).largest(floor=best.cap if best else 0.0)
            if fit is not None and (best is None or fit.cap > best.cap):
                best = fit
        if best is None:
            return None
        axes = np.linspace(best.x - step, best.x + step, 17)
        step /= 8
    return best
