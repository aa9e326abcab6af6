"""A week of pieces: which share a size, what it all comes to, and in what order to work."""

from engrave.week.checked import with_checks
from engrave.week.group import Entry, What, make_unit, units
from engrave.week.totals import Matching, Totals, Week, assemble, progress
from engrave.week.work_plan import Day, Plan, Step, plan

__all__ = [
    "Day",
    "Entry",
    "Matching",
    "Plan",
    "Step",
    "Totals",
    "Week",
    "What",
    "assemble",
    "make_unit",
    "plan",
    "progress",
    "units",
    "with_checks",
]
