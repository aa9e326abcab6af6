"""The tool's moves, their order and the seconds, from the machine's accelerations."""

from engrave.timing.clock import clock, time_only
from engrave.timing.faster import faster
from engrave.timing.job import Job
from engrave.timing.learn import Learned, learn
from engrave.timing.logs import Log, LogError, read_log
from engrave.timing.machine_table import with_learned
from engrave.timing.plans import course_of_file

__all__ = [
    "Job",
    "Learned",
    "Log",
    "LogError",
    "clock",
    "course_of_file",
    "faster",
    "learn",
    "read_log",
    "time_only",
    "with_learned",
]
