"""Workers that die, hang or cannot start hold up nobody else."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from promises import promised

from engrave.batch import run_week, unit_drawn, unit_written
from engrave.workers import Crew

linux = pytest.mark.skipif(sys.platform != "linux", reason="what is called here reaches a worker only by forking")


def forked(test: Callable[..., None]) -> Callable[..., None]:
    """Mark a test whose stand-ins reach a worker only if it is forked from a process that has set no sheet."""
    return linux(pytest.mark.alone(test))


def _begin() -> Callable[[Any], Any]:
    return _work


def _work(thing: Any) -> Any:
    if thing == "die":
        os._exit(9)
    if thing == "hang":
        time.sleep(60)
    return thing * 2


def _dies() -> Callable[[Any], Any]:
    if os.getpid() != PARENT:
        os._exit(1)
    return _work


PARENT = os.getpid()


def _seconds(_thing: object) -> float:
    return 30.0


@pytest.mark.parametrize("jobs", [1, 3])
def test_everything_is_answered_once(jobs: int) -> None:
    assert sorted(Crew[int, int](_begin, jobs, _seconds).answers(range(20))) == [(i, 2 * i) for i in range(20)]


def test_only_what_kills_its_process_or_hangs_is_without_a_result() -> None:
    got = dict(Crew[Any, Any](_begin, 2, lambda _: 2.0).answers([1, "die", 2, "hang", 3]))
    assert got == {0: 2, 1: "died", 2: 4, 3: "took-too-long", 4: 6}


def test_work_is_taken_only_as_it_is_needed() -> None:
    taken = []
    crew = Crew[int, int](_begin, 2, _seconds).answers(taken.append(i) or i for i in range(50))
    next(crew)
    assert len(taken) < 8
    crew.close()


def test_who_has_much_at_hand_for_a_thing_is_given_it_first() -> None:
    """Four sorts come mixed, in a pattern that would give each worker all of them; each then sees about two."""
    work = [number % 4 for number in (0, 1, 2, 3, 1, 0, 3, 2) * 4]
    got = sorted(Crew[int, tuple[int, int]](_begin_told, 2, _seconds, lambda sort: {sort}).answers(work))
    assert [(number, sort) for number, (_, sort) in got] == list(enumerate(work))
    assert len({answer for _, answer in got}) <= 6


def _begin_told() -> Callable[[int], tuple[int, int]]:
    def told(sort: int) -> tuple[int, int]:
        time.sleep(0.02)
        return os.getpid(), sort

    return told


def test_what_suits_nobody_is_done_in_its_turn_all_the_same() -> None:
    """The second thing shares nothing with the many that follow: it is passed over sixteen times at the most."""
    work = ["usual", "odd", *["usual"] * 60]
    crew = Crew[str, str](_begin, 1, _seconds, lambda sort: {sort}).answers(work)
    assert [number for number, _ in crew].index(1) <= 17


def test_nobody_looks_ahead_past_what_is_not_known_yet() -> None:
    heard: list[Any] = []
    when: list[int] = []

    def work() -> Any:
        yield from (1, 2, 3, 4)
        yield None
        when.append(len(heard))
        yield 5

    for answer in Crew[int, int](_begin, 1, _seconds, lambda thing: {thing}).answers(work()):
        heard.append(answer)
    assert sorted(heard) == [(i, 2 * (i + 1)) for i in range(5)]
    assert when[0] >= 3


@forked
def test_where_no_process_can_start_the_work_is_done_here() -> None:
    assert sorted(Crew[int, int](_dies, 2, _seconds).answers([1, 2, 3])) == [(0, 2), (1, 4), (2, 6)]


@promised("with more than one process, a piece that is not done after 120 seconds is given up and on hold.")
@forked
def test_a_piece_that_takes_too_long_is_held_and_the_week_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = unit_written.draw_unit

    def slow(whats: Any, *rest: Any) -> Any:
        if whats[0].order.id == "A-1":
            time.sleep(60)
        return real(whats, *rest)

    monkeypatch.setattr(unit_written, "draw_unit", slow)
    monkeypatch.setattr(unit_drawn, "MOST_SECONDS", 8.0)
    table = tmp_path / "orders.csv"
    table.write_text(
        "order,name,lid,typeface,wood\nA-1,Ida,card-box,withy,maple\nA-2,Tom,card-box,withy,maple\n", "utf-8"
    )
    done = run_week(table, tmp_path / "out", jobs=2)
    told = [[p.code for p in e.piece.problems if p.level == "hold"] for e in done.week.entries]
    assert told == [["took-too-long"], []]


def test_who_is_free_waits_for_what_may_come_after_an_answer() -> None:
    """The last things are known only when others are done; who waits neither leaves nor is ended as late."""
    heard: list[Any] = []

    def work() -> Any:
        yield from (1, 2)
        while len(heard) < 2:
            yield None
        yield from (3, 4, 5)
        while len(heard) < 5:
            yield None

    for answer in Crew[Any, Any](_begin_slow, 2, lambda _: 1.5).answers(work()):
        heard.append(answer)
    assert sorted(heard) == [(i, 2 * (i + 1)) for i in range(5)]


def _begin_slow() -> Callable[[int], int]:
    def slow(thing: int) -> int:
        time.sleep(1.0 if thing == 2 else 0.0)
        return thing * 2

    return slow


@forked
def test_what_comes_later_is_done_here_where_no_process_can_start() -> None:
    heard: list[Any] = []

    def work() -> Any:
        yield 1
        while not heard:
            yield None
        yield 2

    for answer in Crew[Any, Any](_dies, 2, _seconds).answers(work()):
        heard.append(answer)
    assert heard == [(0, 2), (1, 4)]
