"""The week's plan on weeks made by hand."""

from __future__ import annotations

import gc
import tracemalloc
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.output.week_tables import Planned
from engrave.shop.models import Rates
from engrave.week import Entry, Plan, Step, Week, assemble, plan
from engrave.week.steps import OrderOfWork
from week.made import entry, rates

MONDAY = date(2026, 11, 30)
FRIDAY = MONDAY + timedelta(days=4)
WORKDAYS = (8.0,) * 5 + (0.0, 0.0)


def _planned(entries: Sequence[Entry], start: date | None = None, of: Rates | None = None) -> Plan:
    return plan(assemble(entries, of or rates()), of or rates(), start)


def _order(found: Plan) -> list[int]:
    return [s.entry for s in found.steps]


def test_a_week_laid_out_by_hand() -> None:
    """Five lids of 3 h at 8 h a day: 3 and 6 h on the first day, 9 to 15 h by the end of the second."""
    found = _planned([entry(f"o{i}", 3.0) for i in range(5)], MONDAY)
    assert [s.day for s in found.steps] == [0, 0, 1, 1, 1]
    assert [d.machine_seconds / 3600 for d in found.days] == [8.0, 7.0]
    assert [d.pieces for d in found.days] == [2, 3]
    assert [d.on for d in found.days] == [MONDAY, MONDAY + timedelta(days=1)]
    assert found.begin_by is None


def test_hands_may_be_what_holds_the_week_up() -> None:
    of = rates(hands=replace(rates().hands, finish=120.0, week=60.0), hand_hours=(4.0,) * 7)
    found = _planned([entry(f"o{i}", 0.5, of=of) for i in range(3)], MONDAY, of)
    assert [s.day for s in found.steps] == [0, 1, 1]  # 1 h set-up and 2, 4, 6 h by hand, at 4 h a day
    assert [d.hand_seconds / 3600 for d in found.days] == [4.0, 3.0]
    assert [d.machine_seconds / 3600 for d in found.days] == [1.5, 0.0]


def test_no_work_on_days_off() -> None:
    of = rates(machine_hours=WORKDAYS, hand_hours=WORKDAYS)
    found = _planned([entry("a", 8.0), entry("b", 8.0)], FRIDAY, of)
    assert [s.on for s in found.steps] == [FRIDAY, FRIDAY + timedelta(days=3)]
    assert [d.day for d in found.days] == [0, 1]  # working days are counted, not those between


def test_promised_days_go_first_and_lateness_is_told() -> None:
    week = [entry("later", 8.0, "2026-12-04"), entry("soon", 8.0, "2026-11-30"), entry("never", 8.0)]
    found = _planned(week, MONDAY)
    assert _order(found) == [1, 0, 2]
    assert [s.late for s in found.steps] == [0, 0, None]
    assert found.late == ()
    late = _planned(week, date(2026, 12, 2))
    assert [s.late for s in late.steps] == [2, 0, None]
    assert [s.entry for s in late.late] == [1]


def test_one_cutter_after_another_where_promises_allow() -> None:
    week = [entry(f"o{i}", 1.0, cutter="fine" if i % 2 else "wide") for i in range(8)]
    found = _planned(week, MONDAY)
    assert found.cutter_changes == 1
    assert _order(found) == [1, 3, 5, 7, 0, 2, 4, 6]


def test_a_promise_breaks_a_group_only_as_far_as_it_must() -> None:
    """Strictly by promise, cutters change three times; all of 'a' first, and 'b1' is late; two changes suffice."""
    week = [
        entry("a1", 6.0, "2026-11-30", "a"),
        entry("b1", 6.0, "2026-12-01", "b"),
        entry("a2", 8.0, "2026-12-02", "a"),
        entry("b2", 2.0, "2026-12-03", "b"),
    ]
    found = _planned(week, MONDAY)
    assert found.late == ()
    assert found.cutter_changes == 2
    assert _order(found) == [0, 1, 3, 2]


def test_a_change_is_counted_for_each_machine_by_itself() -> None:
    router, laser = (entry(f"{m}{i}", 1.0) for i, m in enumerate("rl"))
    task = laser.piece.task
    assert task is not None
    tool = replace(task.tool, machine=replace(task.tool.machine, id="other"), cutter=replace(task.tool.cutter, id="b"))
    laser = replace(laser, piece=replace(laser.piece, task=replace(task, tool=tool)))
    assert _planned([router, laser], MONDAY).cutter_changes == 0


def test_what_is_on_hold_is_not_planned() -> None:
    assert _order(_planned([entry("a", held=True), entry("b")], MONDAY)) == [1]
    assert _planned([entry("a", held=True)], MONDAY).steps == ()


def test_without_hours_there_is_no_plan() -> None:
    of = rates(machine_hours=(0.0,) * 7)
    assert _planned([entry("a")], MONDAY, of).days == ()


def test_begin_by_looks_at_the_calendar_not_at_a_count_of_days() -> None:
    """16 h of work at 8 h a weekday, promised for Monday 7 December: Friday and that Monday suffice."""
    of = rates(machine_hours=WORKDAYS, hand_hours=WORKDAYS)
    found = _planned([entry("a", 8.0, "2026-12-07"), entry("b", 8.0, "2026-12-07")], None, of)
    assert found.begin_by == FRIDAY
    assert all(s.on is None and s.late is None for s in found.steps)
    assert _planned([entry("a", 8.0, "2026-12-07"), entry("b", 8.0, "2026-12-07")], FRIDAY, of).late == ()
    assert _planned([entry("a", 8.0, "2026-12-06")], None, of).begin_by == FRIDAY  # a Sunday's promise: Friday


JOBS = st.lists(
    st.tuples(st.integers(1, 9), st.integers(0, 6), st.sampled_from("ab")), min_size=1, max_size=6
)  # hours, days until due, cutter


def _worth(jobs: Sequence[tuple[int, int, str]], order: Sequence[int]) -> tuple[int, int]:
    """Late jobs and days late in all, in days of 8 hours, reckoned here by counting hours."""
    hours, late = 0, []
    for i in order:
        hours += jobs[i][0]
        late.append(max(0, (hours + 7) // 8 - 1 - jobs[i][1]))
    return sum(days > 0 for days in late), sum(late)


def _told(found: Plan) -> tuple[int, int]:
    return len(found.late), sum(s.late or 0 for s in found.steps)


def _promised(jobs: Sequence[tuple[int, int, str]]) -> list[Entry]:
    return [entry(f"o{i}", h, (MONDAY + timedelta(days=d)).isoformat(), c) for i, (h, d, c) in enumerate(jobs)]


@pytest.mark.source("J. R. Jackson, Scheduling a production line to minimize maximum tardiness, 1955")
@settings(max_examples=60)
@given(jobs=JOBS)
def test_no_order_has_fewer_late_promises_or_as_many_and_fewer_days_late(jobs: list[tuple[int, int, str]]) -> None:
    """Held against every order there is, reckoned in another way."""
    found = _planned(_promised(jobs), MONDAY)
    least = min(_worth(jobs, order) for order in permutations(range(len(jobs))))
    assert _told(found) == least == _worth(jobs, _order(found))


@pytest.mark.parametrize(
    ("hours", "due", "late"),
    [
        # M. L. Pinedo, 'Scheduling: Theory, Algorithms, and Systems', example 3.3.3 (from memory): two jobs are late.
        ((7, 8, 4, 6, 6), (9, 17, 18, 19, 21), 2),
        # J. M. Moore, Management Science 15 (1968): any jobs that all fit have none late, whatever their order.
        ((1, 2, 3), (1, 3, 6), 0),
    ],
)
def test_fewest_late_jobs_as_published(hours: Sequence[int], due: Sequence[int], late: int) -> None:
    """A unit of the published examples is a day of 8 hours here; a job done at time t is done on day t - 1."""
    week = [
        entry(f"o{i}", 8.0 * h, (MONDAY + timedelta(days=d - 1)).isoformat())
        for i, (h, d) in enumerate(zip(hours, due, strict=True))
    ]
    assert len(_planned(week, MONDAY).late) == late


@settings(max_examples=15, deadline=None)
@given(jobs=st.lists(st.tuples(st.integers(1, 9), st.integers(0, 9), st.sampled_from("ab")), min_size=9, max_size=30))
def test_a_larger_week_is_never_worse_than_by_promised_day(jobs: list[tuple[int, int, str]]) -> None:
    found = _planned(_promised(jobs), MONDAY)
    by_due = sorted(range(len(jobs)), key=lambda i: jobs[i][1])
    assert _told(found) <= _worth(jobs, by_due)
    assert sorted(_order(found)) == list(range(len(jobs)))


def test_two_machines_side_by_side_end_the_week_sooner() -> None:
    router, laser = (_on(entry(f"{m}{i}", 8.0), m) for i, m in enumerate(("router", "laser")))
    one = _planned([router, laser], MONDAY)
    both = _planned([router, laser], MONDAY, rates(side_by_side=True))
    assert [len(one.days), len(both.days)] == [2, 1]
    assert both.days[0].machine_seconds == one.days[0].machine_seconds + one.days[1].machine_seconds


@pytest.mark.source("J. M. Moore, Management Science 15 (1968), a machine at a time")
@pytest.mark.parametrize("seed", range(6))
def test_as_few_promises_are_late_side_by_side_as_each_machine_must_be(seed: int) -> None:
    """With hands enough the machines have nothing to do with one another; 42 were late in 30 weeks, where 19 must be."""
    random = Random(seed)
    jobs = [(random.randint(1, 4), random.randint(0, 9), random.choice(["router", "laser"])) for _ in range(40)]
    promised = zip(_promised([(hours, day, "c") for hours, day, _ in jobs]), jobs, strict=True)
    found = _planned([_on(one, machine) for one, (_, _, machine) in promised], MONDAY, rates(side_by_side=True))
    must = [_least_late([(h, d) for h, d, m in jobs if m == machine]) for machine in ("router", "laser")]
    assert len(found.late) == sum(must)


def _least_late(jobs: Sequence[tuple[int, int]]) -> int:
    """Return how many jobs (hours, days until due) one machine must have late: in every state the least hours that it takes."""
    least = {0: 0}  # jobs in time -> hours
    for hours, day in sorted(jobs, key=lambda job: job[1]):
        for many, spent in sorted(least.items(), reverse=True):
            if spent + hours <= 8 * (day + 1):
                least[many + 1] = min(least.get(many + 1, spent + hours), spent + hours)
    return len(jobs) - max(least)


def _on(one: Entry, machine: str) -> Entry:
    task = one.piece.task
    assert task is not None
    tool = replace(task.tool, machine=replace(task.tool.machine, id=machine))
    return replace(one, piece=replace(one.piece, task=replace(task, tool=tool)))


@settings(max_examples=30)
@given(jobs=JOBS, off=st.sampled_from([WORKDAYS, (8.0,) * 7, (4.0, 0.0, 8.0, 0.0, 8.0, 2.0, 0.0)]))
def test_begin_by_is_the_last_day_that_holds(jobs: list[tuple[int, int, str]], off: tuple[float, ...]) -> None:
    of = rates(machine_hours=off, hands=replace(rates().hands, cutter_change=30.0, week=60.0))
    week = [entry(f"o{i}", h, (MONDAY + timedelta(days=d)).isoformat(), c) for i, (h, d, c) in enumerate(jobs)]
    begin = _planned(week, None, of).begin_by
    assert begin is not None
    assert _planned(week, begin, of).late == ()
    assert _planned(week, begin + timedelta(days=1), of).late != ()


@settings(max_examples=40)
@given(jobs=JOBS)
def test_the_days_hold_all_the_work_and_no_more_than_the_shop_s_hours(jobs: list[tuple[int, int, str]]) -> None:
    of = rates(hands=replace(rates().hands, finish=30.0, cutter_change=12.0, week=20.0), hand_hours=(5.0,) * 7)
    week = assemble([entry(f"o{i}", h, "", c, of=of) for i, (h, _, c) in enumerate(jobs)], of)
    found = plan(week, of, MONDAY)
    assert sum(d.machine_seconds for d in found.days) == pytest.approx(week.totals.machine_seconds)
    shared = sum(s for _, s in week.shared)
    assert sum(d.hand_seconds for d in found.days) == pytest.approx(week.totals.hand_seconds + shared)
    assert all(d.machine_seconds <= 8 * 3600 + 1e-6 and d.hand_seconds <= 5 * 3600 + 1e-6 for d in found.days)
    assert sum(d.pieces for d in found.days) == len(jobs)


@pytest.mark.parametrize("due", ["9999-12-31", "0001-01-01", "2100-12-31"])
@pytest.mark.parametrize("start", [None, date.max, date.min, date(9999, 12, 30)])
def test_the_calendar_s_own_ends_stop_no_week(due: str, start: date | None) -> None:
    """A day by which tables mean none, beside a promise; a first day that leaves no time."""
    found = _planned([entry("a", 3.0, due), entry("b", 30.0, "2026-12-04"), entry("c", 3.0)], start)
    assert len(found.steps) in (0, 3)
    assert start is date.max or found.steps


def test_a_start_on_the_last_day_there_is_gives_no_plan_where_nobody_works() -> None:
    of = rates(machine_hours=(0.0,) * 4 + (8.0,) + (0.0,) * 2, hand_hours=(8.0,) * 4 + (0.0,) * 3)
    assert date.max.weekday() == 4
    off = rates(machine_hours=(8.0,) * 4 + (0.0,) * 3, hand_hours=(8.0,) * 4 + (0.0,) * 3)
    assert _planned([entry("a", 3.0)], date.max, off) == Plan((), (), 0, None)
    assert _planned([entry("a", 3.0)], date.max, of).steps


class _Many(Sequence[Entry]):
    """A long week of which hardly anything is in memory, as one that lies on disk."""

    def __init__(self, count: int) -> None:
        self._one, self._count = entry("o", 0.001), count

    def __len__(self) -> int:
        return self._count

    def __getitem__(self, i: Any) -> Any:
        if i >= self._count:
            raise IndexError(i)
        due = f"2026-12-{1 + i % 28:02d}"
        return replace(
            self._one, piece=replace(self._one.piece, order=replace(self._one.piece.order, id=f"o{i}", due=due))
        )


def _bytes_of_plan(count: int) -> tuple[int, int]:
    """Return the bytes that the plan of so many pieces takes, and those that planning took at the most."""
    week = Week(_Many(count), (), assemble([], rates()).totals, ())
    tracemalloc.start()
    found = Planned(plan(week, rates(), MONDAY), count)
    gc.collect()  # circles that wait to be looked for are not held by the plan
    held, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert found.of(count - 1) is not None
    return held, most


def test_the_plan_of_a_long_week_takes_little_memory() -> None:
    few, many = _bytes_of_plan(2_500), _bytes_of_plan(12_500)
    assert (many[0] - few[0]) / 10_000 < 60  # bytes a piece: as objects 470
    assert (many[1] - few[1]) / 10_000 < 400


@given(
    st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 400), st.none() | st.dates(), st.none() | st.integers(0)))
)
def test_steps_held_as_figures_are_the_same_steps(told: list[tuple[int, int, date | None, int | None]]) -> None:
    steps = tuple(Step(e, d, on, None if late is None else late % 10_000) for e, d, on, late in told)
    found = OrderOfWork(steps)
    assert (tuple(found), len(found), found[1:3]) == (steps, len(steps), steps[1:3])
    assert found == OrderOfWork(steps) and found != OrderOfWork([*steps, Step(1, 2, None, None)])
