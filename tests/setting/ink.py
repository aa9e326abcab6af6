"""Where a lid's ink begins and ends."""

from __future__ import annotations

import numpy as np

from engrave.geometry.flattening import flatten
from engrave.setting import Lettering


def ink(laid: Lettering, *fields: str) -> tuple[float, float]:
    """Return the top and the bottom of some fields' ink, or of all, mm from the lid's top."""
    marks = (m for m in laid.marks if not fields or laid.lines[m.line].field in fields)
    ys = np.concatenate([flatten(c, 0.01)[:, 1] for m in marks for c in m.path()])
    return float(ys.min()), float(ys.max())
