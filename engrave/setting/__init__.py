"""Line breaks, size and position: words laid on a lid as large as the room and good taste allow."""

from engrave.setting.compose.containment import is_inside
from engrave.setting.compose.size_rules import least_cap
from engrave.setting.explanation import RunnerUp, Touch, Why, why
from engrave.setting.fit.solver import largest
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.setting.placing import Placement, largest_cap, place, placement
from engrave.setting.reading_frame import frame_of

__all__ = [
    "Lettering", "Line", "Mark", "Placement", "RunnerUp", "Touch", "Why", "frame_of",
    "is_inside", "largest", "largest_cap", "least_cap",
    "place", "placement", "why",
]  # fmt: skip
