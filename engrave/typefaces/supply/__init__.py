"""What a typeface lacks, found elsewhere: letters composed of parts, drawings of our own, letters of a companion."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.typefaces.supply.composer import Composer
    from engrave.typefaces.supply.fallback import COMMON_LETTERS, Cluster, LinePlan, plan_line
    from engrave.typefaces.supply.ornaments import drawing_for, inked

__all__ = ["COMMON_LETTERS", "Cluster", "Composer", "LinePlan", "drawing_for", "inked", "plan_line"]

__getattr__ = loads_on_use(
    __name__,
    {
        "composer": ("Composer",),
        "fallback": (
            "COMMON_LETTERS",
            "Cluster",
            "LinePlan",
            "plan_line",
        ),
        "ornaments": (
            "drawing_for",
            "inked",
        ),
    },
)
