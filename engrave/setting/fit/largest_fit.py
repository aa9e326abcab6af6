"""The pure question of the solver: the largest size at which words fit a room at all, on a given axis or on any."""

from __future__ import annotations

from typing import Literal

from shapely.geometry.base import BaseGeometry

from engrave.setting.fit.free_axis import largest_free
from engrave.setting.fit.layout import Stack
from engrave.setting.fit.prepared_room import PreparedRoom, prepare_room
from engrave.setting.fit.solver import Fit, SizeSearch

Mode = Literal["centred", "free"]


def largest(
    room: BaseGeometry | PreparedRoom, stack: Stack, mode: Mode = "centred", axis: float = 0.0, tidy: bool = False
) -> Fit | None:
    """Return the largest fit of the words in the room, or None if they fit at no size worth cutting.

    room: mm, y up. axis: x on which lines are centred in mode 'centred'; in mode 'free' it is found. tidy: nothing
    may stand between words or lines; only one gap between two lines may open around what is in the way.
    """
    prepared = room if isinstance(room, PreparedRoom) else prepare_room(room)
    if mode == "free":
        return largest_free(prepared, stack, tidy)
    return SizeSearch(prepared, stack, axis, tidy).largest()
