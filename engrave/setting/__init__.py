"""Line breaks, size and position: words laid on a lid as large as the room and good taste allow."""

from engrave.setting.compose.size_rules import least_cap
from engrave.setting.explanation import RunnerUp, Touch, Why, why
from engrave.setting.fit.solver import largest
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.setting.placing import Placement, largest_cap, place, placement

__all__ = [
    "Lettering", "Line", "Mark", "Placement", "RunnerUp", "Touch", "Why", "largest", "largest_cap", "least_cap",
    "place", "placement", "why",
]  # fmt: skip
