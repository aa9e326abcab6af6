"""Times that were really taken: read, put to the lids they belong to, and what they tell of a machine."""

from engrave.learning.fitting import learn
from engrave.learning.learned import Learned
from engrave.learning.logs import Log, LogError, read_log
from engrave.learning.machine_table import with_learned
from engrave.learning.read_back import NotLearned, courses_of_pieces, courses_of_week, learned_from

__all__ = [
    "Learned",
    "Log",
    "LogError",
    "NotLearned",
    "courses_of_pieces",
    "courses_of_week",
    "learn",
    "learned_from",
    "read_log",
    "with_learned",
]
