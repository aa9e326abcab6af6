"""Lines that meet, run through with as few lifts as are worth their while.

A place where an odd number of lines meet or end begins or ends a run. Two of them are joined by running once more over
what is cut between them, wherever that takes less time than lifting the bit: into a serif's corner and back, or back
along half a stem. This is the postman's problem with lifts allowed (J. Edmonds & E. L. Johnson, 'Matching, Euler tours
and the Chinese postman', Mathematical Programming 5, 1973).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from engrave.geometry.arrays import Floats, Ints
from engrave.geometry.paths import Point
from engrave.toolpath.join import joined_lines
from engrave.toolpath.stroke_order import best_order, candidates_of
from engrave.toolpath.strokes import HeadRoute

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix


PLACE_DIGITS = 5
"""Decimals of mm by which places are told apart: far above the arithmetic's last, far below what lines are drawn by."""

GAIN = 1e-9
"""mm that a change must save: less is the last digit of a sum, and would be changed back."""


def linked_paths(paths: Sequence[Floats], lift_mm: float = 0.0) -> list[Floats]:
    """Return lines (n, 3), z below the face, with those that meet run on into each other, most nearly straight.

    lift_mm: mm of running that take as long as lifting the bit and plunging again; 0: nothing is run over twice. Rings that
    meet nothing stay as they are, after the others.
    """
    every = [np.column_stack([p[:, :2], -np.abs(p[:, 2])]) for p in paths if len(p) > 1]
    ends = [(_place(line[0]), _place(line[-1])) for line in every]
    meets = Counter(place for both in ends for place in set(both))
    alone = [meets[both[0]] == 1 and _is_ring(line) for line, both in zip(every, ends, strict=True)]
    lines = _as_deep_where_they_meet([line for line, own in zip(every, alone, strict=True) if not own])
    joined = joined_lines([*lines, *(lines[k] for k in run_again(lines, lift_mm))])
    return joined + [line for line, own in zip(every, alone, strict=True) if own]


def _as_deep_where_they_meet(lines: Sequence[Floats]) -> list[Floats]:
    """Return lines that have one depth where they meet: their last digits differ by how each was worked out."""
    depth = {(x, y): z for line in lines for x, y, z in line[[0, -1]].tolist()}
    levelled = [line.copy() for line in lines]
    for line in levelled:
        line[[0, -1], 2] = [depth[x, y] for x, y in line[[0, -1], :2].tolist()]
    return levelled


def ordered_lines(lines: Sequence[Floats], route: HeadRoute, comes_back: bool = False) -> list[Floats]:
    """Return lines (n, 2 or 3) in the order and direction of least travel; comes_back: each ends where it began.

    One that is closed is run as it is drawn.
    """
    ends = [[(float(p[0, 0]), float(p[0, 1])), (float(p[-1, 0]), float(p[-1, 1]))] for p in lines]
    order = best_order(candidates_of(ends, [comes_back] * len(lines)), route.start, route.home, route.limits)
    return [lines[w // 2][:: -1 if w % 2 and not _is_ring(lines[w // 2]) else 1] for w in order]


def begun_at(line: Floats, along: float, place: Floats) -> Floats:
    """Return a closed line (n, 2) begun, and ended, at a place on it, `along` mm from where it began before."""
    passed = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    k = int(np.searchsorted(passed, along, side="right"))
    return np.concatenate([place[None], line[k:-1], line[:k], place[None]])


def run_again(lines: Sequence[Floats], lift_mm: float) -> list[int]:
    """Return which lines are run over once more, by index; one may be among them more than once."""
    if len(lines) < 2 or lift_mm <= 0.0:
        return []
    from scipy.sparse import csr_matrix  # here: only where lines are run over twice
    from scipy.sparse.csgraph import dijkstra

    places = [(_place(line[0]), _place(line[-1])) for line in lines]
    number: dict[Point, int] = {}
    for both in places:
        for place in both:
            number.setdefault(place, len(number))
    ends = np.array([[number[a], number[b]] for a, b in places])
    long = np.array([float(np.sqrt((np.diff(line, axis=0) ** 2).sum(axis=1)).sum()) for line in lines])
    between = _shortest(ends, long)
    pairs = list(between)
    rows, columns = np.array(pairs).T if pairs else np.zeros((2, 0), dtype=np.int64)
    weights = [long[between[pair]] for pair in pairs]
    graph = csr_matrix((weights, (rows, columns)), shape=(len(number), len(number)))
    again: list[int] = []
    for odd in _odd_places(graph, ends):
        away, back = dijkstra(graph, directed=False, indices=odd, return_predecessors=True, limit=lift_mm)
        for i, j in paired(np.minimum(away[:, odd], lift_mm)):
            if away[i, odd[j]] < lift_mm:
                again += _way(back[i], odd[i], odd[j], between)
    return again


def _shortest(ends: Ints, long: Floats) -> dict[tuple[int, int], int]:
    """Return the shortest line between each two places that one joins, the lower place first."""
    found: dict[tuple[int, int], int] = {}
    for k, (a, b) in enumerate(ends.tolist()):
        pair = (min(a, b), max(a, b))
        if a != b and (pair not in found or long[k] < long[found[pair]]):
            found[pair] = k
    return found


def _odd_places(graph: csr_matrix, ends: Ints) -> Iterator[Ints]:
    """Yield for each connected piece the places where an odd number of lines end, where more than two do."""
    from scipy.sparse.csgraph import connected_components

    count, piece = connected_components(graph, directed=False)
    odd = np.bincount(ends.ravel(), minlength=graph.shape[0]) % 2 == 1
    for k in range(count):
        places = np.flatnonzero(odd & (piece == k))
        if len(places) > 2:
            yield places


def _way(before: Ints, start: int, end: int, between: dict[tuple[int, int], int]) -> Iterator[int]:
    """Yield the lines of the shortest way between two places. before: of each place, the one before it on the way."""
    here = int(end)
    while here != start:
        there = int(before[here])
        yield between[min(here, there), max(here, there)]
        here = there


def paired(cost: Floats) -> list[tuple[int, int]]:
    """Pair n places (n even) so that the costs (n, n) are least together, two of them left over: where a run begins and ends.

    From the cheapest pairs first, ends of two pairs are exchanged as long as that saves anything. Two places that cost
    nothing stand for the beginning and the end of the run.
    """
    n = len(cost)
    full = np.full((n + 2, n + 2), np.inf)
    full[:n, :n] = cost
    full[n:, :n] = full[:n, n:] = 0.0
    a, b = _cheapest_first(cost)
    dearest = int(cost[a, b].argmax())
    first, last = a[dearest], b[dearest]
    a[dearest], b[dearest] = first, n
    a, b = np.append(a, last), np.append(b, n + 1)
    while _exchanged(full, a, b):
        pass
    return sorted((min(i, j), max(i, j)) for i, j in zip(a.tolist(), b.tolist(), strict=True) if max(i, j) < n)


def _cheapest_first(cost: Floats) -> tuple[Ints, Ints]:
    i, j = np.triu_indices(len(cost), 1)
    free = np.ones(len(cost), dtype=bool)
    found = []
    for k in np.argsort(cost[i, j], kind="stable"):
        if free[i[k]] and free[j[k]]:
            free[[i[k], j[k]]] = False
            found.append((i[k], j[k]))
    a, b = np.array(found, dtype=np.int64).T
    return a.copy(), b.copy()


def _exchanged(cost: Floats, a: Ints, b: Ints) -> bool:
    """Exchange ends of the two pairs where that saves most; tell whether it saved anything."""
    now = cost[a, b][:, None] + cost[a, b][None, :]
    ways = np.stack([cost[a][:, a] + cost[b][:, b], cost[a][:, b] + cost[b][:, a]])
    saved = now - ways
    saved[:, range(len(a)), range(len(a))] = 0.0  # a pair with itself
    which, i, j = np.unravel_index(int(saved.argmax()), saved.shape)
    if saved[which, i, j] <= GAIN:
        return False
    if which == 0:
        b[i], a[j] = a[j], b[i]
    else:
        b[i], b[j] = b[j], b[i]
    return True


def _is_ring(line: Floats) -> bool:
    return bool((line[0, :2] == line[-1, :2]).all())


def _place(point: Floats) -> Point:
    """Return where a line begins or ends: of two that meet, the last digits may differ by how they were worked out."""
    return round(float(point[0]), PLACE_DIGITS), round(float(point[1]), PLACE_DIGITS)
