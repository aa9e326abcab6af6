"""Line breaks, size and position: words laid on a lid as large as the room and good taste allow."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.setting.compose.containment import is_inside
    from engrave.setting.compose.size_rules import greatest_cap, least_cap
    from engrave.setting.explanation import RunnerUp, Touch, Why, explain
    from engrave.setting.fit.largest_fit import largest
    from engrave.setting.lettering import Lettering, Line, Mark
    from engrave.setting.ornament.ornament_lines import holds_pair
    from engrave.setting.placing import Placement, largest_cap, place, placement, placing_key
    from engrave.setting.reading_frame import frame_of

__all__ = [
    "Lettering",
    "Line",
    "Mark",
    "Placement",
    "RunnerUp",
    "Touch",
    "Why",
    "explain",
    "frame_of",
    "greatest_cap",
    "holds_pair",
    "is_inside",
    "largest",
    "largest_cap",
    "least_cap",
    "place",
    "placement",
    "placing_key",
]

__getattr__ = loads_on_use(
    __name__,
    {
        "compose.containment": ("is_inside",),
        "compose.size_rules": ("greatest_cap", "least_cap"),
        "explanation": (
            "RunnerUp",
            "Touch",
            "Why",
            "explain",
        ),
        "fit.largest_fit": ("largest",),
        "lettering": (
            "Lettering",
            "Line",
            "Mark",
        ),
        "ornament.ornament_lines": ("holds_pair",),
        "placing": (
            "Placement",
            "largest_cap",
            "place",
            "placement",
            "placing_key",
        ),
        "reading_frame": ("frame_of",),
    },
)
