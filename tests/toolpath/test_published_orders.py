"""The order of strokes against a published instance of the travelling salesman, and an exact solver of a library."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from engrave.motion.machine_limits import Limits
from engrave.toolpath import stroke_order
from engrave.toolpath.stroke_order import best_order, candidates_of, costs

LIMITS = Limits((50.0, 50.0, 10.0), (400.0, 400.0, 150.0))

BURMA14 = ((16.47, 96.10), (16.47, 94.44), (20.09, 92.54), (22.39, 93.37), (25.23, 97.24), (22.00, 96.05), (20.47, 97.02),
           (17.20, 96.29), (16.30, 97.38), (14.05, 98.12), (16.53, 97.38), (21.52, 95.59), (19.41, 97.13), (20.09, 94.55))  # fmt: skip
"""Fourteen towns of Burma: latitude and longitude in degrees and minutes."""

SHORTEST = 3323
"""km: the shortest round through them."""


def _km(a: tuple[float, float], b: tuple[float, float]) -> int:
    """Distance on the globe as TSPLIB prescribes it (edge weights of the type GEO)."""

    def radians(value: float) -> float:
        degrees = int(value)
        return 3.141592 * (degrees + 5.0 * (value - degrees) / 3.0) / 180.0

    (lat_a, lon_a), (lat_b, lon_b) = (tuple(map(radians, p)) for p in (a, b))
    q1, q2, q3 = math.cos(lon_a - lon_b), math.cos(lat_a - lat_b), math.cos(lat_a + lat_b)
    return int(6378.388 * math.acos(0.5 * ((1.0 + q1) * q2 - (1.0 - q1) * q3)) + 1.0)


@pytest.mark.source(
    "TSPLIB (Reinelt, 1991), burma14: shortest round 3323 (coordinates from memory; the optimum confirms them)"
)
def test_a_round_through_fourteen_towns(monkeypatch: pytest.MonkeyPatch) -> None:
    """Dots to be reached from the first town and back: no more than a hundredth over the shortest round."""
    table = np.array(
        [[float(_km(a, b)) if a != b else 0.0 for b in (*BURMA14[1:], BURMA14[0])] for a in (*BURMA14[1:], BURMA14[0])]
    )
    monkeypatch.setattr(stroke_order, "costs", lambda *_: table)
    ways = candidates_of([[town] for town in BURMA14[1:]], [True] * 13)
    order = best_order(ways, BURMA14[0], True, LIMITS)
    assert sorted(order) == list(range(13))
    round_trip = sum(table[a, b] for a, b in pairwise([13, *order, 13]))
    assert SHORTEST <= round_trip <= 1.01 * SHORTEST


def _solved(table: np.ndarray, group: np.ndarray) -> float:
    """Least cost of a round through one node of each group: a mixed-integer programme (Miller, Tucker and Zemlin, 1960;
    groups as Laporte and Nobert, 1983), solved to the end by HiGHS.
    """
    n = len(group)
    groups = int(group.max()) + 1
    arc = [(i, j) for i in range(n) for j in range(n) if group[i] != group[j]]
    count, rank = len(arc), groups - 1
    rows, low, high = [], [], []

    def add(row: np.ndarray, least: float, most: float) -> None:
        rows.append(row)
        low.append(least)
        high.append(most)

    for g in range(groups):
        for end in (0, 1):
            add(np.array([float(group[a[end]] == g) for a in arc] + [0.0] * rank), 1.0, 1.0)
    for i in range(n):
        add(np.array([float(a[0] == i) - float(a[1] == i) for a in arc] + [0.0] * rank), 0.0, 0.0)
    for g in range(1, groups):
        for h in range(1, groups):
            if g != h:
                row = np.array([float(groups) * (group[a[0]] == g and group[a[1]] == h) for a in arc] + [0.0] * rank)
                row[count + g - 1], row[count + h - 1] = 1.0, -1.0
                add(row, -np.inf, groups - 1.0)
    cost = np.array([table[a] for a in arc] + [0.0] * rank)
    found = milp(
        cost, constraints=LinearConstraint(np.array(rows), low, high), integrality=[1] * count + [0] * rank,
        bounds=Bounds([0.0] * count + [0.0] * rank, [1.0] * count + [float(groups)] * rank),
    )  # fmt: skip
    assert found.success
    return float(found.fun)


@pytest.mark.source(
    "HiGHS by SciPy's milp: the order of strokes as a mixed-integer programme (Miller, Tucker and Zemlin, 1960)"
)
@pytest.mark.parametrize("home", [True, False])
def test_within_a_hundredth_of_a_solver_s_optimum(home: bool) -> None:
    """Five or six strokes, each begun at either end: never below the solver's optimum, mostly at it."""
    rng = np.random.default_rng(11)
    over = []
    for count in (4, 5, 5, 6):
        ends = [[tuple(map(float, rng.uniform(0, [80, 25]))) for _ in range(2)] for _ in range(count)]
        ways = candidates_of(ends, [False] * count)  # type: ignore[arg-type]
        table = costs(ways, (0.0, 0.0), home, LIMITS)
        order = best_order(ways, (0.0, 0.0), home, LIMITS)
        line = [len(table) - 1, *order, len(table) - 1]
        found = sum(float(table[a, b]) for a, b in pairwise(line))
        over.append(found / _solved(table, np.append(ways.stroke, count)) - 1.0)
    assert min(over) > -1e-6
    assert np.mean(over) < 0.01
    assert max(over) < 0.08
