"""The free axis against a proof of its own, and against the axes beside it."""

from __future__ import annotations

import numpy as np
import pytest
from fits import cases
from proving import larger_anywhere, rooms

from engrave.setting.fit.largest_fit import largest
from engrave.setting.fit.prepared_room import prepare_room

WITHIN = 0.003
"""Share by which the largest fit on a free axis may lie below what is possible."""

SHORT = [c.stack for c in cases() if sum(len(f.units) for f in c.stack.fields) <= 4]


@pytest.mark.parametrize(
    "seed", [3, pytest.param(41, marks=pytest.mark.slow), pytest.param(42, marks=pytest.mark.slow)]
)
def test_nothing_larger_fits_on_any_axis(seed: int) -> None:
    """Branch and bound over stretches of axes; each is ruled out in the room drawn out sideways."""
    rng = np.random.default_rng(seed)
    missed = []
    for number, room in enumerate(rooms(seed, 50 if seed > 40 else 14)):
        stack = SHORT[int(rng.integers(len(SHORT)))]
        fit = largest(room, stack, "free")
        assert fit is not None
        hull = largest(room.convex_hull, stack, "free")
        assert hull is not None
        above = larger_anywhere(room, stack, fit.cap * (1 + WITHIN), hull.cap * 1.001)
        missed += [(number, fit.cap, above)] if above is not None else []
    assert not missed


def test_words_beside_a_knob_are_no_smaller_than_on_any_axis_of_a_grid() -> None:
    """A narrow window of axes, between two things in the way, was missed by a grid of 25."""
    for room in rooms(5, 6):
        stack = SHORT[0]
        fit = largest(room, stack, "free")
        low, _, high, _ = room.bounds
        prepared = prepare_room(room)
        on_grid = [largest(prepared, stack, axis=x) for x in np.linspace(low, high, 27)[1:-1]]
        assert fit is not None
        assert fit.cap >= max(f.cap for f in on_grid if f is not None) * (1 - 2e-4)
