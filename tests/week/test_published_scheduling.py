"""The plan against published results on one machine: worked examples of textbooks, and algorithms that are proved best.

One hour of machine a day, so that hours are days: a job that is through after C hours is done on day C.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.week import Plan, assemble, plan
from week.made import entry, rates

FIRST = date(2026, 11, 30)
HOUR_A_DAY = rates(machine_hours=(1.0,) * 7, hand_hours=(24.0,) * 7)

Job = tuple[int, int]
"""Hours, and the day by which it is promised, counted from 1."""


def _planned(jobs: Sequence[Job], cutters: str = "") -> Plan:
    week = [
        entry(
            str(i), hours, (FIRST + timedelta(days=due - 1)).isoformat(), cutters[i] if cutters else "c", of=HOUR_A_DAY
        )
        for i, (hours, due) in enumerate(jobs)
    ]
    return plan(assemble(week, HOUR_A_DAY), HOUR_A_DAY, FIRST)


def _late(found: Plan) -> list[int]:
    return [s.late or 0 for s in found.steps]


HEIZER: tuple[Job, ...] = ((6, 8), (2, 6), (8, 18), (3, 15), (9, 23))
STEVENSON: tuple[Job, ...] = ((2, 7), (8, 16), (4, 4), (10, 17), (5, 15), (12, 18))
NAHMIAS: tuple[Job, ...] = ((11, 61), (29, 45), (31, 31), (1, 33), (2, 32))


@pytest.mark.source("Heizer and Render, Operations Management: five architectural jobs (from memory)")
def test_five_jobs_in_an_architect_s_office() -> None:
    """By earliest due date (B, A, D, C, E) two are late; with C put off only C is."""
    found = _planned(HEIZER)
    assert ["ABCDE"[s.entry] for s in found.steps if not s.late] == list("BADE")
    assert [(("ABCDE"[s.entry]), s.day + 1, s.late) for s in found.late] == [("C", 28, 10)]


@pytest.mark.source("Stevenson, Operations Management: six jobs by earliest due date, tardiness 38 days (from memory)")
def test_six_jobs_with_a_tardiness_of_38_days() -> None:
    """Three are late at least, and then by 38 days in all at least: the textbook's order is the best there is."""
    found = _planned(STEVENSON)
    assert ["ABCDEF"[s.entry] for s in found.steps] == list("CAEBDF")
    assert [s.day + 1 for s in found.steps] == [4, 6, 11, 19, 29, 41]
    assert sum(_late(found)) == 38


@pytest.mark.source("Nahmias, Production and Operations Analysis: five jobs in a machining centre (from memory)")
def test_five_jobs_in_a_machining_centre() -> None:
    """By earliest due date four are late, by 33 days in all; only the first of those need be."""
    found = _planned(NAHMIAS)
    assert [s.entry + 1 for s in found.late] == [3]


def _most_on_time(jobs: Sequence[Job]) -> int:
    """How many jobs can be on time at most: by promise, the longest so far left out whenever one would be late."""
    kept: list[int] = []
    hours = 0
    for length, due in sorted(jobs, key=lambda job: job[1]):
        heapq.heappush(kept, -length)
        hours += length
        if hours > due:
            hours += heapq.heappop(kept)
    return len(kept)


@pytest.mark.source("Pinedo, Scheduling, example 3.3.3: two of five jobs late at least (from memory)")
def test_as_many_are_on_time_as_in_a_textbook() -> None:
    jobs = ((7, 9), (8, 17), (4, 18), (6, 19), (6, 21))
    assert len(jobs) - _most_on_time(jobs) == 2
    assert len(_planned(jobs).late) == 2


SOME = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 30)), min_size=1, max_size=12)


@pytest.mark.source(
    "J. M. Moore, An n job, one machine sequencing algorithm for minimizing the number of late jobs, 1968"
)
@settings(max_examples=60)
@given(jobs=SOME)
def test_as_many_are_on_time_as_can_be(jobs: list[Job]) -> None:
    """By Hodgson's shorter form of the algorithm, which is proved best where nothing must be set up."""
    assert sum(late == 0 for late in _late(_planned(jobs))) == _most_on_time(jobs)


@pytest.mark.source("J. R. Jackson, Scheduling a production line to minimize maximum tardiness, 1955")
@settings(max_examples=60)
@given(jobs=SOME)
def test_where_earliest_due_date_keeps_every_promise_so_does_the_plan(jobs: list[Job]) -> None:
    hours, worst = 0, 0
    for length, due in sorted(jobs, key=lambda job: job[1]):
        hours += length
        worst = max(worst, hours - due)
    assert (max(_late(_planned(jobs))) == 0) == (worst <= 0)


@pytest.mark.source(
    "Conway, Maxwell and Miller, Theory of Scheduling, 1967: without set-ups every order ends at the same time"
)
@settings(max_examples=30)
@given(jobs=SOME)
def test_all_is_done_when_the_hours_are_used_up(jobs: list[Job]) -> None:
    found = _planned(jobs)
    assert found.days[-1].day + 1 == sum(length for length, _ in jobs)


@pytest.mark.source(
    "Potts and Kovalyov, Scheduling with batching: A review, 2000: families whole, one set-up fewer than families (from memory)"
)
@settings(max_examples=30)
@given(cutters=st.text("abc", min_size=1, max_size=8))
def test_with_time_to_spare_a_cutter_goes_in_once(cutters: str) -> None:
    found = _planned([(1, 300)] * len(cutters), cutters)
    assert found.cutter_changes == len(set(cutters)) - 1
