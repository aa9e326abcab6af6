"""How long a piece takes on its machine, and what would be faster."""

from engrave.timing.clock import clock, time_only
from engrave.timing.estimate import Job
from engrave.timing.suggestions import faster

__all__ = ["Job", "clock", "faster", "time_only"]
