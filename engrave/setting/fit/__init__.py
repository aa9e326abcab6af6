"""The largest size at which words fit a room, and where they stand: geometry alone, without taste."""

from engrave.setting.fit.free_axis import best_axis
from engrave.setting.fit.largest_fit import largest
from engrave.setting.fit.layout import Field, Layout, Stack
from engrave.setting.fit.line_breaking import Break, LineWalker
from engrave.setting.fit.prepared_room import PreparedRoom, prepare_room
from engrave.setting.fit.solver import Fit, SizeSearch

__all__ = [
    "Break", "Field", "Fit", "Layout", "LineWalker", "PreparedRoom", "SizeSearch", "Stack", "best_axis", "largest",
    "prepare_room",
]  # fmt: skip
