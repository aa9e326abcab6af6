"""The week's plan: in what order to work, what each day holds, and whether the promised days are kept.

One machine runs at a time, because a beam is never left alone; hands work beside it. Days are those of the shop's own
hours. Cutters are changed as seldom as the promised days allow.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from engrave.making import Piece
from engrave.shop import Rates
from engrave.week.totals import Week

FARTHEST = 366
"""Days ahead that a plan may reach: a week that takes a year is a mistake in the hours table."""

MONDAY = date(2001, 1, 1)
"""A Monday, from which days are counted where no start is given."""

UNPROMISED = date.max

HOUR = 3600.0

CHANCE = 1e-6
"""Seconds that rounding may leave over at a day's end."""


@dataclass(frozen=True, slots=True)
class Step:
    """One piece in the order of work. day: index into the plan's days; on: its date, if the start is known.

    late: days after `due`; None if nothing is promised or no start was given.
    """

    entry: int
    day: int
    on: date | None
    late: int | None


@dataclass(frozen=True, slots=True)
class Day:
    """What one working day holds: seconds that the machines run and hands are busy, and the pieces done by its end.

    day: its number, counted over days on which the shop works. on: its date, if the start is known.
    """

    day: int
    on: date | None
    machine_seconds: float
    hand_seconds: float
    pieces: int


@dataclass(frozen=True, slots=True)
class Plan:
    """The order of work, day by day. begin_by: last day on which work may begin so that every promise holds.

    The days' seconds are those of the lids, the week's set-up and the cutter changes. cutter_changes: how often a
    machine's cutter is exchanged for another; the one it begins with goes in with the set-up.
    """

    steps: tuple[Step, ...]
    days: tuple[Day, ...]
    cutter_changes: int
    begin_by: date | None

    @property
    def late(self) -> tuple[Step, ...]:
        """The pieces that would be done after their promised day."""
        return tuple(s for s in self.steps if s.late)


@dataclass(frozen=True, slots=True)
class _Work:
    """What planning asks of a piece. Seconds."""

    entry: int
    machine: str
    cutter: str
    wood: str
    due: date
    machine_seconds: float
    hand_seconds: float


class _Calendar:
    """The shop's hours from a first day on: how much is done by the end of each of its working days."""

    def __init__(self, rates: Rates, start: date) -> None:
        hours = [(rates.machine_hours[d], rates.hand_hours[d]) for d in range(7)]
        within = min(FARTHEST, date.max.toordinal() - start.toordinal() + 1)  # the calendar itself has an end
        self.dates = [
            day for n in range(within) if any(hours[(day := start + timedelta(days=n)).weekday()])
        ]  # fmt: skip
        self.machine = _running([hours[d.weekday()][0] * HOUR for d in self.dates])
        self.hands = _running([hours[d.weekday()][1] * HOUR for d in self.dates])

    def day_of(self, machine_seconds: float, hand_seconds: float) -> int:
        """Return the working day by whose end both are through; the last one if the year does not suffice."""
        by_machine = bisect_left(self.machine, machine_seconds - CHANCE)
        return min(len(self.dates) - 1, max(by_machine, bisect_left(self.hands, hand_seconds - CHANCE)))


def _running(amounts: Sequence[float]) -> list[float]:
    total, sums = 0.0, []
    for amount in amounts:
        total += amount
        sums.append(total)
    return sums


def plan(week: Week, rates: Rates, start: date | None = None) -> Plan:
    """Order the made pieces so that no promise is later than it must be, and then with the fewest cutter changes.

    A piece is done on the day by which machine and hands have had their hours for it and all before it. Without a
    start, days are counted from a Monday, and `begin_by` says how late one may start. There is no plan without days to
    work on.
    """
    works = [_work(i, e.piece) for i, e in enumerate(week.entries) if e.piece.is_made]
    if not works or sum(rates.machine_hours) <= 0 or sum(rates.hand_hours) <= 0:
        return Plan((), (), 0, None)
    by_due = sorted(works, key=lambda w: (w.due, w.machine, w.cutter, w.wood, w.entry))
    begin = start or _begin_by(by_due, rates) or MONDAY
    calendar = _Calendar(rates, begin)
    if not calendar.dates:
        return Plan((), (), 0, None)
    ways = [_by_cutter(works), _pulled(by_due, rates, calendar), by_due]
    order = min(ways, key=lambda way: (*_lateness(way, rates, calendar), _changes(way)))
    return _told(order, rates, start)


def _work(i: int, piece: Piece) -> _Work:
    assert piece.task is not None  # only made pieces are planned, and those have tasks
    tool, due, told = piece.task.tool, piece.order.due, piece.quote
    return _Work(
        entry=i,
        machine=tool.machine.id,
        cutter=tool.cutter.id,
        wood=piece.task.wood.id,
        due=date.fromisoformat(due) if due else UNPROMISED,
        machine_seconds=told.machine_seconds if told else 0.0,
        hand_seconds=told.hand_seconds if told else 0.0,
    )


def _by_cutter(works: Sequence[_Work]) -> list[_Work]:
    """All of one cutter together, the cutter with the earliest promise first; within it by promise, then wood."""
    first: dict[tuple[str, str], date] = {}
    for w in works:
        first[w.machine, w.cutter] = min(first.get((w.machine, w.cutter), UNPROMISED), w.due)
    return sorted(works, key=lambda w: (first[w.machine, w.cutter], w.machine, w.cutter, w.due, w.wood, w.entry))


def _pulled(by_due: Sequence[_Work], rates: Rates, calendar: _Calendar) -> list[_Work]:
    """By promise, but with pieces of the cutter at hand drawn forward wherever that makes no promise later.

    By promise alone, no order has a smaller greatest lateness (J. R. Jackson, 'Scheduling a production line to
    minimize maximum tardiness', 1955), and that stays so.
    """
    bound = _lateness(by_due, rates, calendar)
    done: list[_Work] = []
    rest = list(by_due)
    while rest:
        at_hand = (done[-1].machine, done[-1].cutter) if done else (rest[0].machine, rest[0].cutter)
        same = next((w for w in rest if (w.machine, w.cutter) == at_hand), rest[0])
        if same is not rest[0]:
            trial = [*done, same, *(w for w in rest if w is not same)]
            if _lateness(trial, rates, calendar) > bound:
                same = rest[0]
        done.append(same)
        rest.remove(same)
    return done


def _changes(order: Sequence[_Work]) -> int:
    return sum(_change_before(order))


def _change_before(order: Sequence[_Work]) -> list[bool]:
    """Tell for each piece whether its machine's cutter must be exchanged for it."""
    cutters: dict[str, str] = {}
    changes = []
    for w in order:
        changes.append(cutters.get(w.machine, w.cutter) != w.cutter)
        cutters[w.machine] = w.cutter
    return changes


def _spent(order: Sequence[_Work], rates: Rates) -> list[tuple[float, float]]:
    """Return the machine and hand seconds after each piece, set-up and cutter changes with the hands."""
    machine, hands = 0.0, rates.hands.week * 60.0
    spent = []
    for w, change in zip(order, _change_before(order), strict=True):
        machine += w.machine_seconds
        hands += w.hand_seconds + (rates.hands.cutter_change * 60.0 if change else 0.0)
        spent.append((machine, hands))
    return spent


def _lateness(order: Sequence[_Work], rates: Rates, calendar: _Calendar) -> tuple[int, int]:
    """Return the greatest lateness in days and their sum; pieces in time count 0."""
    late = [
        max(0, (calendar.dates[calendar.day_of(*spent)] - w.due).days)
        for w, spent in zip(order, _spent(order, rates), strict=True)
        if w.due is not UNPROMISED
    ]
    return max(late, default=0), sum(late)


def _begin_by(order: Sequence[_Work], rates: Rates) -> date | None:
    """Return the last day on which work may begin so that every promise holds; None if nothing is promised or none does.

    Who starts later is nowhere done sooner, so the day is found by halving.
    """
    first = min((w.due for w in order), default=UNPROMISED)
    if first is UNPROMISED:
        return None
    starts = [first - timedelta(days=n) for n in range(min(FARTHEST, first.toordinal()))]
    n = bisect_left(starts, True, key=lambda start: _lateness(order, rates, _Calendar(rates, start)) == (0, 0))
    return starts[n] if n < len(starts) else None


def _told(order: Sequence[_Work], rates: Rates, start: date | None) -> Plan:
    calendar = _Calendar(rates, start or MONDAY)
    spent = _spent(order, rates)
    steps = tuple(_step(w, calendar.day_of(*s), calendar, start) for w, s in zip(order, spent, strict=True))
    return Plan(steps, _days(steps, spent[-1], calendar, start), _changes(order), _begin_by(order, rates))


def _step(work: _Work, day: int, calendar: _Calendar, start: date | None) -> Step:
    on = calendar.dates[day] if start else None
    late = max(0, (on - work.due).days) if on and work.due is not UNPROMISED else None
    return Step(work.entry, day, on, late)


def _days(
    steps: Sequence[Step], spent: tuple[float, float], calendar: _Calendar, start: date | None
) -> tuple[Day, ...]:
    """Return the working days up to the last piece, machine and hands each at work from the first hour on."""
    days = []
    for n in range(steps[-1].day + 1):
        before = (calendar.machine[n - 1], calendar.hands[n - 1]) if n else (0.0, 0.0)
        machine = max(0.0, min(calendar.machine[n], spent[0]) - before[0])
        hands = max(0.0, min(calendar.hands[n], spent[1]) - before[1])
        on = calendar.dates[n] if start else None
        days.append(Day(n, on, machine, hands, sum(s.day == n for s in steps)))
    return tuple(days)
