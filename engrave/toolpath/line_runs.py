"""Closed lines that lie a step apart, run one after the other: of all parts of a lettering at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import accumulate

import numpy as np
import shapely

from engrave.geometry.arrays import Floats
from engrave.toolpath.moves import SAME_PLACE
from engrave.toolpath.worn_areas import Shapes


def linked(parts: Sequence[Sequence[Floats]], most: float) -> list[list[Floats]]:
    """Return each part's closed lines (n, 2) run one after the other where the next begins within `most` mm.

    The nearest comes first. A run goes round one line whole and on to the nearest one of its part that is not yet cut; with
    none that near, a new run begins.
    """
    every = [line for lines in parts for line in lines]
    sides = _sides(every)
    shapes = line_shapes(every)
    chains = _chains(parts)
    while going := [chain for chain in chains if chain.left]:
        _choose_next(going, every, shapes, most)
        chosen = shapes[[chain.line for chain in going]]
        along = shapely.line_locate_point(chosen, shapely.points([chain.here for chain in going]))
        places = shapely.get_coordinates(shapely.line_interpolate_point(chosen, along))
        for chain, mm, place in zip(going, along.tolist(), places, strict=True):
            chain.go_round(every[chain.line], sides[chain.line], mm, place)
    return [[np.concatenate(run) for run in chain.runs] for chain in chains]


def line_shapes(lines: Sequence[Floats]) -> Shapes:
    """Return lines of points as shapes."""
    index = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return np.asarray(shapely.linestrings(np.concatenate(lines), indices=index) if lines else [], dtype=object)


@dataclass(slots=True)
class _Chain:
    """A part's lines as far as they are run. left: those not yet cut, by number; line: the one that is gone round next.

    here: where the last one ended, or where the next run begins. runs: each as the arrays that it is put together from.
    """

    left: list[int]
    line: int = -1
    here: Floats = field(default_factory=lambda: np.zeros(2))
    runs: list[list[Floats]] = field(default_factory=list)

    def take(self, place: int) -> None:
        """Go to the line at this place among those that are left."""
        self.line = self.left.pop(place)

    def begin(self, lines: Sequence[Floats]) -> None:
        """Begin a new run with the first line that is left."""
        self.take(0)
        self.here = lines[self.line][0]
        self.runs.append([])

    def go_round(self, line: Floats, sides: Floats, along: float, place: Floats) -> None:
        """Go round a closed line, its sides so long, from its place `along` mm from its beginning."""
        self.runs[-1] += _begun_at(line, sides, along, place)
        self.here = self.runs[-1][-1][-1]


def _chains(parts: Sequence[Sequence[Floats]]) -> list[_Chain]:
    ends = np.cumsum([len(lines) for lines in parts]).tolist()
    return [_Chain(list(range(end - len(lines), end))) for lines, end in zip(parts, ends, strict=True)]


def _choose_next(chains: Sequence[_Chain], lines: Sequence[Floats], shapes: Shapes, most: float) -> None:
    """Have each chain go to the nearest line that is left, or begin a new run where none is near."""
    begun = [chain for chain in chains if chain.runs]
    for chain in chains:
        if not chain.runs:
            chain.begin(lines)
    if not begun:
        return
    of = np.repeat(np.arange(len(begun)), [len(chain.left) for chain in begun])
    here = shapely.points([chain.here for chain in begun])
    away = shapely.distance(shapes[[k for chain in begun for k in chain.left]], here[of])
    at = 0
    for chain in begun:
        distances = away[at : at + len(chain.left)]
        at += len(chain.left)
        near = int(distances.argmin())
        if distances[near] > most:
            chain.begin(lines)
        else:
            chain.take(near)


def _sides(lines: Sequence[Floats]) -> list[Floats]:
    """Return the length of each side of each line."""
    if not lines:
        return []
    dx, dy = np.diff(np.concatenate(lines), axis=0).T
    sides = np.hypot(dx, dy)  # from each line's end to the next one's beginning is no side
    ends = list(accumulate(len(line) for line in lines))
    return [sides[end - len(line) : end - 1] for line, end in zip(lines, ends, strict=True)]


def _begun_at(line: Floats, sides: Floats, along: float, place: Floats) -> list[Floats]:
    """Return a closed line begun, and ended, at a place on it, `along` mm from where it began before: its parts in order.

    Of points that are one place the first alone is kept.
    """
    k = 1 + int(sides.cumsum().searchsorted(along, side="right"))
    if sides.min() <= SAME_PLACE:
        return [_without_repeats(np.concatenate([place[None], line[k:-1], line[:k], place[None]]))]
    after, before = line[k:-1], line[:k]
    first = after if len(after) else before
    found = [place[None], after, before]
    if math.dist(first[0], place) <= SAME_PLACE:
        found[1 if len(after) else 2] = first[1:]
    if math.dist(before[-1], place) > SAME_PLACE:
        found.append(place[None])
    return [points for points in found if len(points)]


def _without_repeats(points: Floats) -> Floats:
    dx, dy = np.diff(points, axis=0).T
    return np.asarray(points[np.concatenate([[True], np.hypot(dx, dy) > SAME_PLACE])])
