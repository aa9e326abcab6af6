"""Raster rows as ground truth gives them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engrave.toolpath.raster import Rows


def joined_rows(y: Sequence[float], marks: Sequence[Sequence[Sequence[float]]]) -> Rows:
    """Return rows given as lists of marks, each (on, off) in mm."""
    spans = [(float(i), float(on), float(off)) for i, row in enumerate(marks) for on, off in row]
    return Rows(np.array(y, dtype=np.float64), np.array(spans, dtype=np.float64).reshape(-1, 3))
