"""A week of pieces: which share a size, what it all comes to, and in what order to work."""

from engrave.week.checked import with_checks
from engrave.week.group import Entry, What, belonging, make_unit, units
from engrave.week.remembered import recalled, remember
from engrave.week.totals import Matching, Totals, Week, assemble, finish, progress, sum_up
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
    "belonging",
    "finish",
    "make_unit",
    "plan",
    "progress",
    "recalled",
    "remember",
    "sum_up",
    "units",
    "with_checks",
]
