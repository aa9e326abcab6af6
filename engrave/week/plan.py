"""The week's plan: in what order to work, on which day each lid is done, and whether the promised days hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from engrave.making import Piece
from engrave.shop import Rates
from engrave.week.totals import Week

FARTHEST = 366
"""Days ahead that a plan may reach: a week that takes a year is a mistake in the hours table."""


@dataclass(frozen=True, slots=True)
class Step:
    """One piece in the order of work. day: working days from the first (0); on: its date, if the start is known.

    late: days after `due`; None if nothing is promised or no start was given.
    """

    entry: int
    day: int
    on: date | None
    late: int | None


@dataclass(frozen=True, slots=True)
class Day:
    """What one working day holds. Seconds."""

    day: int
    on: date | None
    machine_seconds: float
    hand_seconds: float
    pieces: int


@dataclass(frozen=True, slots=True)
class Plan:
    """The order of work, day by day. begin_by: last day on which work may begin so that every promise holds."""

    steps: tuple[Step, ...]
    days: tuple[Day, ...]
    cutter_changes: int
    begin_by: date | None


def plan(week: Week, rates: Rates, start: date | None = None) -> Plan:
    """Order the made pieces: promised days first where that is needed, else the fewest cutter changes.

    Machine and hands work side by side; a piece is done on the day by which both have had their hours. Without a
    start, days are only counted, and `begin_by` says how late one may start.
    """
    made = [i for i, e in enumerate(week.entries) if e.piece.is_made]
    if not made or sum(rates.machine_hours) <= 0 or sum(rates.hand_hours) <= 0:
        return Plan((), (), 0, None)
    ways = [_by_cutter(week, made), _by_due(week, made)]
    laid = [(way, _days_of(week, way, rates, start)) for way in ways]
    order, days = min(laid, key=lambda it: (_lateness(week, it[0], it[1], rates, start), _changes(week, it[0])))
    steps = tuple(_step(week, i, d, rates, start) for i, d in zip(order, days, strict=True))
    return Plan(steps, _sum_days(week, steps, rates), _changes(week, order), _begin_by(week, steps, rates))


def _cutter(piece: Piece) -> tuple[str, str, str]:
    assert piece.task is not None  # only made pieces are planned, and those have tasks
    return (piece.task.tool.machine.id, piece.task.tool.cutter.id, piece.task.wood.id)


def _due(piece: Piece) -> str:
    return piece.order.due or "9999-12-31"


def _by_cutter(week: Week, made: Sequence[int]) -> list[int]:
    """All of one cutter together, the cutter with the earliest promise first; within it by promise, then wood."""
    first: dict[tuple[str, str], str] = {}
    for i in made:
        key = _cutter(week.entries[i].piece)[:2]
        first[key] = min(first.get(key, "9999-12-31"), _due(week.entries[i].piece))

    def rank(i: int) -> tuple[str, tuple[str, str], str, str, int]:
        machine, cutter, wood = _cutter(week.entries[i].piece)
        return (first[machine, cutter], (machine, cutter), _due(week.entries[i].piece), wood, i)

    return sorted(made, key=rank)


def _by_due(week: Week, made: Sequence[int]) -> list[int]:
    """Earliest promise first (no order has a smaller greatest lateness), same cutter together within a day."""
    return sorted(made, key=lambda i: (_due(week.entries[i].piece), _cutter(week.entries[i].piece), i))


def _changes(week: Week, order: Sequence[int]) -> int:
    cutters = [_cutter(week.entries[i].piece)[:2] for i in order]
    return sum(a != b for a, b in pairwise(cutters))


def _days_of(week: Week, order: Sequence[int], rates: Rates, start: date | None) -> list[int]:
    """Return for each piece the working day on which its machine and its hands are through."""
    machine = 0.0
    hands = rates.hands.week * 60.0
    days, last = [], None
    for i in order:
        piece = week.entries[i].piece
        if last is not None and last != _cutter(piece)[:2]:
            hands += rates.hands.cutter_change * 60.0
        last = _cutter(piece)[:2]
        machine += piece.quote.machine_seconds if piece.quote else 0.0
        hands += piece.quote.hand_seconds if piece.quote else 0.0
        days.append(max(_day_when(machine, rates.machine_hours, start), _day_when(hands, rates.hand_hours, start)))
    return days


def _day_when(seconds: float, hours: Sequence[float], start: date | None) -> int:
    """Return the calendar day, counted from the start, on which that many seconds are through."""
    first = start.weekday() if start else 0
    left = seconds
    for day in range(FARTHEST):
        left -= hours[(first + day) % 7] * 3600.0
        if left <= 1e-9:
            return day
    return FARTHEST


def _step(week: Week, i: int, day: int, rates: Rates, start: date | None) -> Step:
    on = start + timedelta(days=day) if start else None
    due = week.entries[i].piece.order.due
    late = max(0, (on - date.fromisoformat(due)).days) if on and due else None
    return Step(i, day, on, late)


def _lateness(week: Week, order: Sequence[int], days: Sequence[int], rates: Rates, start: date | None) -> int:
    """Days late, summed; without a start, whether the order honours the sequence of promises at all."""
    if start is None:
        begin = _begin_by(week, tuple(_step(week, i, d, rates, None) for i, d in zip(order, days, strict=True)), rates)
        return -begin.toordinal() if begin else 0
    return sum(_step(week, i, d, rates, start).late or 0 for i, d in zip(order, days, strict=True))


def _begin_by(week: Week, steps: Sequence[Step], rates: Rates) -> date | None:
    """Return the last day on which work may begin so that no promise is broken (days counted as planned)."""
    promised = [(date.fromisoformat(d), s.day) for s in steps if (d := week.entries[s.entry].piece.order.due)]
    return min((due - timedelta(days=day) for due, day in promised), default=None)


def _sum_days(week: Week, steps: Sequence[Step], rates: Rates) -> tuple[Day, ...]:
    found: dict[int, Day] = {}
    for step in steps:
        quoted = week.entries[step.entry].piece.quote
        day = found.get(step.day, Day(step.day, step.on, 0.0, 0.0, 0))
        machine = day.machine_seconds + (quoted.machine_seconds if quoted else 0.0)
        hands = day.hand_seconds + (quoted.hand_seconds if quoted else 0.0)
        found[step.day] = Day(step.day, step.on, machine, hands, day.pieces + 1)
    return tuple(found[d] for d in sorted(found))
