"""A small linear programme, solved exactly: the largest size at which a convex shape fits a convex room."""

from __future__ import annotations

import numpy as np

from engrave.geometry.arrays import Floats

TOUCHED_SIDE = 1e-10
"""mm: a side overstepped by less counts as touched; far above rounding (1e-13), far below anything cut."""

START_DISTANCE = 1e5
"""mm and caps: no lid is larger. Sides at this distance give the method its start."""

MOST_PIVOTS = 500
"""Pivots before giving up; a room of 360 sides takes about ten."""


def solve(rows: Floats, limits: Floats) -> Floats | None:
    """Return x with the greatest last component among those with rows @ x <= limits; None if there is none.

    rows: (n, d), d 2 or 3. The dual simplex method: from a corner that is too good, the worst overstepped side comes
    in and the side that allows it goes out (Dantzig, Linear Programming and Extensions, 1963, chapter 11).
    """
    d = rows.shape[1]
    start = np.eye(d)
    a, b = np.concatenate([start, rows]), np.concatenate([np.full(d, START_DISTANCE), limits])
    basis = list(range(d))
    for _ in range(MOST_PIVOTS):
        inverse = np.linalg.inv(a[basis])
        x = inverse @ b[basis]
        over = a @ x - b
        worst = int(np.argmax(over))
        if over[worst] <= TOUCHED_SIDE:
            return x if abs(x).max() < START_DISTANCE / 2 else None
        share = a[worst] @ inverse
        held = inverse[-1]
        ratios = [(held[i] / share[i], i) for i in range(d) if share[i] > TOUCHED_SIDE]
        if not ratios:
            return None
        basis[min(ratios)[1]] = worst
    return None
