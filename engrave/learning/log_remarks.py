"""What is said of timed runs: which row could not be used and why, and how much the runs can tell."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from engrave.learning.learned import Timed
from engrave.learning.logs import Log
from engrave.problems import Problem

FEWEST = 5
"""Logs below which four parameters cannot be told apart: then only one factor on the whole time is learned."""


def minutes_problem(logs: Sequence[Log]) -> list[Problem]:
    """Tell that the times are whole minutes, and what share of a typical run that hides."""
    typical = float(np.median([log.seconds for log in logs]))
    share = f"{100 * 30.0 / typical:.0f} %"
    says = (
        f"These times are whole minutes; half a minute is {share} of a typical run of {typical / 60:.0f} min. They "
        "are trusted that much less: time runs to the second."
    )
    return [Problem("whole-minutes", "look", says, value=round(30.0 / typical, 3))]


def few_runs(n: int) -> Problem:
    """Tell that n runs are too few to tell several figures apart."""
    says = (
        f"{n} timed run{'s' if n > 1 else ''}: only one factor on all times is learned. With {FEWEST} or more, of "
        "short and long pieces, acceleration and lost seconds are told apart; ten are better."
    )
    return Problem("few-logs", "note", says, value=float(n), limit=float(FEWEST))


def repeated_row(log: Log, row: int) -> Problem:
    """Tell that a row says what an earlier one, `row`, says."""
    says = f"Row {log.row} says what row {row} says, and counts once. Were they two runs, write the day or a note beside them."
    return Problem("log-repeated", "look", says, where=f"row {log.row}")


def counted_before(known: int, new: int) -> Problem:
    """Tell that so many runs were learned from before, and how many are new."""
    rest = f"{new} new" if new else "nothing is new"
    says = f"{known} of these runs were counted when figures were last saved, and are not counted again; {rest}."
    return Problem("log-counted", "note", says, value=float(known))


def too_round() -> Problem:
    """Tell that the times are too round for runs so short."""
    says = "What whole minutes hide of runs so short is more than what the pieces differ by: nothing is changed."
    return Problem("not-better", "look", says)


def no_better(error: float) -> Problem:
    """Tell that what was learned foretells no better: off by the share `error` of runs that it was not shown."""
    says = (
        f"Learned from these runs, estimates of others would be {100 * error:.1f} % off, no better than they are: nothing "
        "is changed. More runs, of short and long pieces, timed to the second, would tell."
    )
    return Problem("not-better", "look", says, value=error)


def unknown_piece(log: Log) -> Problem:
    """Tell that a row is of no piece of this week and machine."""
    says = f"Row {log.row}: {log.name} is not among this machine's pieces of the week; its time is left out."
    return Problem("log-unknown", "look", says, where=f"row {log.row}")


def outlying_run(point: Timed) -> Problem:
    """Tell that a run took much longer or shorter than all others say."""
    longer = point.real / point.after - 1.0
    way = f"{100 * longer:.0f} % longer" if longer > 0 else f"{-100 * longer:.0f} % shorter"
    says = (
        f"Row {point.log.row}: {point.log.name} took {point.real:.0f} s, {way} than estimated "
        f"({point.after:.0f} s): interrupted, or another piece? It hardly counts."
    )
    return Problem("log-outlier", "look", says, where=f"row {point.log.row}", value=point.real, limit=point.after)
