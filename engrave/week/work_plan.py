"""The week's plan: in what order to work, what each day holds, and whether the promised days are kept.

One machine runs at a time, because a beam is never left alone, unless the shop says that its machines run side by side;
hands work beside them. Days are those of the shop's own hours. Fewest late promises come first, then the fewest days late,
then the fewest cutter changes.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from heapq import heappop, heappush

from engrave.shop import Rates
from engrave.week.group import Entry
from engrave.week.steps import Step, listed
from engrave.week.totals import Week

FARTHEST_DAY = 366
"""Days ahead that a plan may reach: a week that takes a year is a mistake in the hours table."""

MONDAY = date(2001, 1, 1)
"""A Monday, from which days are counted where no start is given."""

EXHAUSTIVE = 8
"""Pieces up to which every order is tried: with what is worse left aside, a few milliseconds."""

MOST_PULLED = 500
"""Pieces up to which cutter changes are saved one by one, which takes time with the square of their number."""

UNPROMISED = date.max

HOUR = 3600.0

CHANCE = 1e-6
"""Seconds that rounding may leave over at a day's end."""


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

    steps: Sequence[Step]
    days: tuple[Day, ...]
    cutter_changes: int
    begin_by: date | None

    @property
    def late(self) -> Sequence[Step]:
        """The pieces that would be done after their promised day."""
        return listed((s for s in self.steps if s.late), len(self.steps))


@dataclass(frozen=True, slots=True)
class _Work:
    """What planning asks of a piece. Seconds. again: a spoiled lid of it is cut again."""

    entry: int
    machine: str
    cutter: str
    wood: str
    due: date
    machine_seconds: float
    hand_seconds: float
    again: bool


class _Calendar:
    """The shop's hours from a first day on: how much is done by the end of each of its working days."""

    def __init__(self, rates: Rates, start: date) -> None:
        hours = [(rates.machine_hours[d], rates.hand_hours[d]) for d in range(7)]
        within = min(FARTHEST_DAY, date.max.toordinal() - start.toordinal() + 1)  # the calendar itself has an end
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
    """Order the made pieces: fewest late promises first, then the fewest days late in all, then fewest cutter changes.

    A piece is done on the day by which machine and hands have had their hours for it and all before it. Without a
    start, days are counted from a Monday, and `begin_by` says how late one may start. There is no plan without days to
    work on. Up to `EXHAUSTIVE` pieces no order is better; beyond, none of the orders tried, of which one is that of the
    promised days. Pieces of which a lid is cut again go before all that: somebody has waited for them already.
    """
    promised: dict[str, date] = {}
    every = [_work(i, e, promised) for i, e in enumerate(week.entries) if e.piece.is_made]
    again, works = [w for w in every if w.again], [w for w in every if not w.again]
    if not every or sum(rates.machine_hours) <= 0 or sum(rates.hand_hours) <= 0:
        return Plan((), (), 0, None)
    by_due = sorted(works, key=lambda w: (w.due, w.machine, w.cutter, w.wood, w.entry))
    again.sort(key=lambda w: (w.machine, w.cutter, w.due, w.wood, w.entry))
    begin = start or _begin_by([*again, *by_due], rates) or MONDAY
    calendar = _Calendar(rates, begin)
    if not calendar.dates:
        return Plan((), (), 0, None)
    ways = [_by_cutter(works), by_due]
    if any(_lateness(by_due, rates, calendar)):
        ways.append(_fewest_late(by_due, rates, calendar))
    if len(works) <= EXHAUSTIVE:
        ways.append(_best_of_all(by_due, rates, calendar, min(_worth(way, rates, calendar) for way in ways)))
    elif len(works) <= MOST_PULLED:
        best = min(ways[1:], key=lambda way: _worth(way, rates, calendar))
        ways.append(_pulled(best, rates, calendar))
    rest = min((way for way in ways if way), key=lambda way: _worth(way, rates, calendar), default=[])
    return _told([*again, *rest], rates, start)


def _worth(order: Sequence[_Work], rates: Rates, calendar: _Calendar) -> tuple[int, int, int]:
    """Return what an order is judged by, less being better: late promises, days late in all, cutter changes."""
    return (*_lateness(order, rates, calendar), _changes(order))


def _fewest_late(by_due: Sequence[_Work], rates: Rates, calendar: _Calendar) -> list[_Work]:
    """By promise, but whenever a piece would be late, the longest so far is put off: of its machine, if that is what is late.

    Without cutter changes no order of one machine, or of several with hands enough, has fewer late pieces (J. M. Moore,
    'An n job, one machine sequencing algorithm for minimizing the number of late jobs', Management Science 15, 1968, with
    T. J. Hodgson's shorter form).
    """
    promised = [w for w in by_due if w.due is not UNPROMISED]
    # a heap for each machine: minus the seconds, and the place in `promised`
    longest: dict[str, list[tuple[float, int]]] = defaultdict(list)
    put_off: set[int] = set()
    busy: dict[str, float] = defaultdict(float)
    hands = rates.hands.week * 60.0
    for i, work in enumerate(promised):
        which = _clock_of(work, rates)
        heappush(longest[which], (-(work.machine_seconds + work.hand_seconds), i))
        busy[which], hands = busy[which] + work.machine_seconds, hands + work.hand_seconds
        if calendar.dates[calendar.day_of(busy[which], hands)] > work.due:
            by_machine = calendar.dates[calendar.day_of(busy[which], 0.0)] > work.due
            heap = longest[which] if by_machine else min((h for h in longest.values() if h), key=lambda h: h[0])
            late = heappop(heap)[1]
            put_off.add(late)
            busy[_clock_of(promised[late], rates)] -= promised[late].machine_seconds
            hands -= promised[late].hand_seconds
    kept = [w for i, w in enumerate(promised) if i not in put_off]
    return [*kept, *(promised[i] for i in sorted(put_off)), *(w for w in by_due if w.due is UNPROMISED)]


def _best_of_all(works: Sequence[_Work], rates: Rates, calendar: _Calendar, bound: tuple[int, int, int]) -> list[_Work]:
    """Return the best of all orders, or nothing if none is better than the bound; what is worse already is not followed."""
    best: list[_Work] = []

    def follow(done: list[_Work], rest: list[_Work]) -> None:
        nonlocal best, bound
        if not rest:
            best, bound = done, _worth(done, rates, calendar)
            return
        for i, work in enumerate(rest):
            begun = [*done, work]
            if _worth(begun, rates, calendar) < bound:
                follow(begun, rest[:i] + rest[i + 1 :])

    follow([], list(works))
    return best


def _work(i: int, entry: Entry, promised: dict[str, date]) -> _Work:
    """Return what planning asks of an entry. promised: the days known so far, one object for all that are due on one."""
    piece = entry.piece
    assert piece.task is not None  # only made pieces are planned, and those have tasks
    tool, due, told = piece.task.tool, piece.order.due, piece.quote
    return _Work(
        entry=i,
        machine=tool.machine.id,
        cutter=tool.cutter.id,
        wood=piece.task.wood.id,
        due=promised.setdefault(due, date.fromisoformat(due)) if due else UNPROMISED,
        machine_seconds=(told.machine_seconds if told else 0.0) + entry.recut.machine_seconds,
        hand_seconds=(told.hand_seconds if told else 0.0) + entry.recut.hand_seconds,
        again=piece.order.recut > 0,
    )


def _by_cutter(works: Sequence[_Work]) -> list[_Work]:
    """All of one cutter together, the cutter with the earliest promise first; within it by promise, then wood."""
    first: dict[tuple[str, str], date] = {}
    for w in works:
        first[w.machine, w.cutter] = min(first.get((w.machine, w.cutter), UNPROMISED), w.due)
    return sorted(works, key=lambda w: (first[w.machine, w.cutter], w.machine, w.cutter, w.due, w.wood, w.entry))


def _pulled(ordered: Sequence[_Work], rates: Rates, calendar: _Calendar) -> list[_Work]:
    """Return an order with pieces of the cutter at hand drawn forward wherever that makes nothing later."""
    bound = _lateness(ordered, rates, calendar)
    done: list[_Work] = []
    rest = list(ordered)
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


def _change_before(order: Sequence[_Work]) -> Iterator[bool]:
    """Yield for each piece whether its machine's cutter must be exchanged for it."""
    cutters: dict[str, str] = {}
    for w in order:
        yield cutters.get(w.machine, w.cutter) != w.cutter
        cutters[w.machine] = w.cutter


def _clock_of(work: _Work, rates: Rates) -> str:
    """Return whose hours a piece's machine seconds are: its own machine's where they run side by side, else all machines'."""
    return work.machine if rates.side_by_side else ""


def _busy(order: Sequence[_Work], rates: Rates) -> tuple[tuple[float, ...], float]:
    """Return the seconds of each machine, or of all one after another, and those of the hands, when all is done."""
    busy, hands = dict[str, float](), 0.0
    for w, (machine, hands) in zip(order, _spent(order, rates), strict=True):  # noqa: B007  # the last counts
        busy[_clock_of(w, rates)] = machine
    return tuple(busy.values()), hands


def _spent(order: Sequence[_Work], rates: Rates) -> Iterator[tuple[float, float]]:
    """Yield the machine and hand seconds after each piece, set-up and cutter changes with the hands.

    The machine's are those of all machines one after another, or of the piece's own where they run side by side.
    """
    hands = rates.hands.week * 60.0
    busy: dict[str, float] = {}
    for w, change in zip(order, _change_before(order), strict=True):
        which = _clock_of(w, rates)
        machine = busy[which] = busy.get(which, 0.0) + w.machine_seconds
        hands += w.hand_seconds + (rates.hands.cutter_change * 60.0 if change else 0.0)
        yield machine, hands


def _lateness(order: Sequence[_Work], rates: Rates, calendar: _Calendar) -> tuple[int, int]:
    """Return how many promises are late, and by how many days in all."""
    late, days = 0, 0
    for w, spent in zip(order, _spent(order, rates), strict=True):
        if w.due is not UNPROMISED:
            over = max(0, (calendar.dates[calendar.day_of(*spent)] - w.due).days)
            late, days = late + (over > 0), days + over
    return late, days


def _begin_by(order: Sequence[_Work], rates: Rates) -> date | None:
    """Return the last day on which work may begin so that every promise holds; None if nothing is promised or none does.

    Who starts later is nowhere done sooner, so the day is found by halving.
    """
    first = min((w.due for w in order), default=UNPROMISED)
    if first is UNPROMISED:
        return None
    starts = [first - timedelta(days=n) for n in range(min(FARTHEST_DAY, first.toordinal()))]
    n = bisect_left(starts, True, key=lambda start: _lateness(order, rates, _Calendar(rates, start)) == (0, 0))
    return starts[n] if n < len(starts) else None


def _told(order: Sequence[_Work], rates: Rates, start: date | None) -> Plan:
    calendar = _Calendar(rates, start or MONDAY)
    busy, hands = _busy(order, rates)
    done = (_step(w, calendar.day_of(*s), calendar, start) for w, s in zip(order, _spent(order, rates), strict=True))
    steps = listed(done, len(order))
    days = _days(steps, busy, hands, calendar, start)
    return Plan(steps, days, _changes(order), _begin_by(order, rates))


def _step(work: _Work, day: int, calendar: _Calendar, start: date | None) -> Step:
    on = calendar.dates[day] if start else None
    late = max(0, (on - work.due).days) if on and work.due is not UNPROMISED else None
    return Step(work.entry, day, on, late)


def _days(
    steps: Sequence[Step], busy: Sequence[float], hand_seconds: float, calendar: _Calendar, start: date | None
) -> tuple[Day, ...]:
    """Return the working days up to the last piece, machines and hands each at work from the first hour on.

    busy: seconds of each machine, or of all one after another.
    """
    days = []
    done = Counter(s.day for s in steps)
    for n in range(max(done) + 1):
        before = (calendar.machine[n - 1], calendar.hands[n - 1]) if n else (0.0, 0.0)
        machine = sum(max(0.0, min(calendar.machine[n], seconds) - before[0]) for seconds in busy)
        hands = max(0.0, min(calendar.hands[n], hand_seconds) - before[1])
        on = calendar.dates[n] if start else None
        days.append(Day(n, on, machine, hands, done[n]))
    return tuple(days)
