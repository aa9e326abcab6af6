"""Line breaks, size and position: words laid on a lid as large as the room and good taste allow."""

from engrave.setting.lettering import Lettering, Line, Mark
from engrave.setting.place import place
from engrave.setting.solver import largest

__all__ = ["Lettering", "Line", "Mark", "largest", "place"]
