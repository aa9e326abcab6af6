"""Where the axis is not given: lids that mirror nothing, and the pure question of the largest fit anywhere."""

from __future__ import annotations

import numpy as np

from engrave.geometry.linear_program import solve
from engrave.setting.fit.layout import Stack
from engrave.setting.fit.line_breaking import Break
from engrave.setting.fit.prepared_room import PreparedRoom
from engrave.setting.fit.solver import CONVEX_ACCURACY, LEAST_SIZE, SIZE_ACCURACY, Fit, SizeSearch

CONVEX_AXES = 9
"""Axes tried across a convex room; with one alone a D-shape lost 2.9 %."""

AXES = 25
"""Axes tried across any other room: on a lid of 100 mm, one every 4 mm, a knob's radius."""

AXIS_ACCURACY = 0.01
"""mm: where shifting the axis stops; a letter's size follows it by less."""

CENTROID_SHARE = 0.97
"""A lid without an axis has its words on its centroid if they come out at least this share as large there."""


def largest_free(room: PreparedRoom, stack: Stack, tidy: bool = False) -> Fit | None:
    """Return the largest fit with the axis free, or None."""
    found = _largest(room, stack, tidy, float("inf"), LEAST_SIZE)
    if found is None:
        return None
    search, chosen, size = found
    return search.fit(chosen, size)


def best_axis(room: PreparedRoom, stack: Stack, ceiling: float, least: float) -> float | None:
    """Return the axis for words on a lid that has none of its own: the room's centroid, unless elsewhere is larger."""
    centroid = float(room.shape.centroid.x)
    own = SizeSearch(room, stack, centroid, True, least).best(ceiling)
    if own and own[1] >= ceiling * (1 - CONVEX_ACCURACY):
        return centroid
    found = _largest(room, stack, True, ceiling, least)
    if found is None or (own and own[1] >= CENTROID_SHARE * found[2]):
        return centroid if own else None
    return found[0].axis


def _largest(
    room: PreparedRoom, stack: Stack, tidy: bool, ceiling: float, least: float
) -> tuple[SizeSearch, Break, float] | None:
    low, _, high, _ = room.box
    count = CONVEX_AXES if room.convex else AXES
    axes = np.linspace(low, high, count + 2)[1:-1]
    middle = room.shape.centroid.x
    best: tuple[SizeSearch, Break, float] | None = None
    for x in sorted(axes.tolist(), key=lambda a: abs(a - middle)):
        search = SizeSearch(room, stack, x, tidy, least)
        found = search.best(ceiling, best[2] * (1 + SIZE_ACCURACY) if best else least)
        if found:
            best = (search, *found)
            if room.convex:
                best = _slid(best, tidy, ceiling)
    if best and not room.convex:
        best = _shifted(best, tidy, (high - low) / (count + 1) / 2, ceiling)
    return best


def _slid(best: tuple[SizeSearch, Break, float], tidy: bool, ceiling: float) -> tuple[SizeSearch, Break, float]:
    """Slide to the best axis of the break found, and see whether another break is larger there; until none is."""
    search, chosen, size = best
    while size < ceiling:
        rows = np.column_stack([search.room.normals, search.layout.supports(chosen.lines)])
        place = solve(rows, search.room.offsets)
        if place is None or place[2] <= size * (1 + CONVEX_ACCURACY):
            break
        other = SizeSearch(search.room, search.stack, float(place[0]), tidy, search.least)
        found = other.best(ceiling, size * (1 + CONVEX_ACCURACY))
        if found is None:
            break
        search, chosen, size = other, *found
    return search, chosen, size


def _shifted(
    best: tuple[SizeSearch, Break, float], tidy: bool, step: float, ceiling: float
) -> tuple[SizeSearch, Break, float]:
    """Shift the axis to either side while that lets the words grow, by steps that halve."""
    search, chosen, size = best
    while step > AXIS_ACCURACY and size < ceiling:
        for x in (search.axis - step, search.axis + step):
            other = SizeSearch(search.room, search.stack, x, tidy, search.least)
            found = other.break_at(size * (1 + CONVEX_ACCURACY * 10))
            if found is not None:
                size = other.raised(found, size * (1 + CONVEX_ACCURACY * 10), size * (1 + SIZE_ACCURACY * 40))
                search, chosen = other, found
                break
        else:
            step /= 2
    return search, chosen, size
