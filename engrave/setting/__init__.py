"""Line breaks, size and position: words laid on a lid as large as the room and good taste allow."""

from engrave.setting.lettering import Lettering, Line, Mark
from engrave.setting.place import largest_cap, place
from engrave.setting.solver import largest
from engrave.setting.taste import least_cap
from engrave.setting.why import RunnerUp, Touch, Why, why

__all__ = [
    "Lettering", "Line", "Mark", "RunnerUp", "Touch", "Why", "largest", "largest_cap", "least_cap", "place", "why",
]  # fmt: skip
