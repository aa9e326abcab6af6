"""Taste as numbers: how large, how small, how even, how high. Figures come from the setting's table."""

from __future__ import annotations

from engrave.setting.reading_frame import ReadingFrame
from engrave.shop.models import Setting
from engrave.tasks import Task
from engrave.typefaces import Typeface

SEARCHED_SHARE = 0.35
"""Share of the least cap height down to which sizes are searched: below it, how small it would be helps nobody."""

LARGER_RATIOS = (0.7, 0.85, 1.0)
"""Ratios of message to name tried where the message alone would be too small, as the name need not stay so large."""


def greatest_cap(frame: ReadingFrame, setting: Setting) -> float:
    """Return the greatest cap height in mm that taste allows on an area, by its kind; inside a lid it is less."""
    share = {"round": setting.greatest_round, "rectangle": setting.greatest_rectangle, "long": setting.greatest_long}
    most = min(share[frame.kind], setting.greatest_inside) if frame.inside else share[frame.kind]
    return most * min(frame.width, frame.height)


def least_cap(task: Task, field: str, typeface: Typeface) -> float:
    """Return the least cap height in mm of a field: by tool and wood, and so that small letters stay open."""
    setting, wood = task.setting, task.wood
    if task.tool.cutter.is_beam:
        coarse = wood.pores == "ring" or wood.softwood
        least = setting.least_beam_coarse if coarse else setting.least_beam_fine
    else:
        least = setting.least_bit_coarse if wood.pores == "ring" else setting.least_bit_fine
    if field != "name":
        least *= setting.message_least
    return max(least, setting.least_x_height / typeface.x_height)
