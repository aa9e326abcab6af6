"""A week of pieces: which share a size, what it all comes to, and in what order to work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.week.advice import (
        Costly,
        KnownSavers,
        LidSorts,
        SaversAsked,
        savers_of,
        sorts_of,
        still_asked,
        week_advice,
    )
    from engrave.week.checked import with_checks
    from engrave.week.group import Entry, advised, belonging, make_unit, units
    from engrave.week.one_size import What
    from engrave.week.remembered import recalled, remember
    from engrave.week.steps import Step
    from engrave.week.totals import Matching, Totals, Week, assemble, finish, progress, sum_up
    from engrave.week.work_plan import Day, Plan, plan

__all__ = [
    "Costly",
    "Day",
    "Entry",
    "KnownSavers",
    "LidSorts",
    "Matching",
    "Plan",
    "SaversAsked",
    "Step",
    "Totals",
    "Week",
    "What",
    "advised",
    "assemble",
    "belonging",
    "finish",
    "make_unit",
    "plan",
    "progress",
    "recalled",
    "remember",
    "savers_of",
    "sorts_of",
    "still_asked",
    "sum_up",
    "units",
    "week_advice",
    "with_checks",
]

__getattr__ = loads_on_use(
    __name__,
    {
        "advice": (
            "SaversAsked",
            "Costly",
            "KnownSavers",
            "LidSorts",
            "savers_of",
            "sorts_of",
            "still_asked",
            "week_advice",
        ),
        "checked": ("with_checks",),
        "group": (
            "Entry",
            "advised",
            "belonging",
            "make_unit",
            "units",
        ),
        "one_size": ("What",),
        "remembered": (
            "recalled",
            "remember",
        ),
        "totals": (
            "Matching",
            "Totals",
            "Week",
            "assemble",
            "finish",
            "progress",
            "sum_up",
        ),
        "steps": ("Step",),
        "work_plan": (
            "Day",
            "Plan",
            "plan",
        ),
    },
)
