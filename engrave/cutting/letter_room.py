"""How much further apart letters must stand for the wood between them to hold.

A wider word comes out smaller, so what was missing is no longer quite enough: whoever spaces letters tries, and asks
again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from engrave.findings import helped_by
from engrave.problems import Problem
from engrave.setting.lettering import Lettering

NO_ROOM_BETWEEN = helped_by("wood")
"""Problems of the wood that stands: between two letters, more space between letters helps."""

EXTRA_SPACING = 1.05
"""More than what is missing, since wider words are set a little smaller."""

SPACING_STEP = 0.005
"""Cap heights to which a spacing is rounded up: 0.05 mm on capitals of 10 mm, and '3.5 %' is easily typed again."""

SPACINGS_TRIED = 3
"""Spacings tried: the first by what is missing, the next by what is still missing."""


def lacks_room(problems: Sequence[Problem]) -> bool:
    """Tell whether some wood that stands is too thin."""
    return any(p.code in NO_ROOM_BETWEEN and p.level != "note" for p in problems)


def wider_spacing(now: float, problems: Sequence[Problem], lettering: Lettering | None) -> float | None:
    """Return the space between letters, in cap heights, to try next after `now`; None if it lacks inside a letter."""
    lacking = [p for p in problems if p.code in NO_ROOM_BETWEEN and p.level != "note"]
    caps = [line.cap_mm for line in lettering.lines if line.cap_mm > 0.0] if lettering else []
    if not lacking or not caps or not all(p.where.startswith("between") for p in lacking):
        return None
    missing = [p.limit - p.value for p in lacking if isinstance(p.limit, float) and isinstance(p.value, float)]
    if not missing:
        return None
    return math.ceil((now + EXTRA_SPACING * max(missing) / min(caps)) / SPACING_STEP - 1e-9) * SPACING_STEP
