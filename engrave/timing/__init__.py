"""The tool's moves, their order and the seconds, from the machine's accelerations."""

from engrave.timing.clock import clock, time_only
from engrave.timing.faster import faster
from engrave.timing.job import Job

__all__ = ["Job", "clock", "faster", "time_only"]
