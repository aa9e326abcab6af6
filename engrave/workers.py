"""Work over several processes, none of which outlives this one or holds up the others.

Each worker is given one thing at a time, so that when a process dies, or takes far too long, it is known over what.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence, Set
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from multiprocessing.connection import wait
from typing import Any, Generic, Literal, TypeVar

T = TypeVar("T")
R = TypeVar("R")

Fate = Literal["died", "took-too-long"]
"""What became of work that has no result: its process died over it (twice), or was ended because it took too long."""

WATCH = 0.5
"""Seconds between a worker's looks at whether its parent is still there, where that does not tell by itself."""

ENDING_SLACK = 20.0
"""Seconds after the limit at which a worker ends itself, if nobody is left to end it."""

GIVEN_OUT = 2
"""How often a thing is given out over which a process dies: a system short of memory may have chosen it by chance."""

THINGS_AHEAD = 16
"""Things among which the one is chosen that suits a worker best, and how often the first of them may be passed over: two
workers then prepare fewer lids and letters twice, and a long week's things are still taken in turn."""

LOADING = 120.0
"""Seconds that a worker gets to load what it needs."""

PARTING = 10.0
"""Seconds that a worker without work gets to put away what it learned."""

ENDING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
"""Signals that end a run."""


_threaded: list[str] = []


def never_fork_again(why: str) -> None:
    """Say that this process runs a library whose threads a forked one would lack, and wait for without end."""
    _threaded.append(why)


def may_fork() -> bool:
    """Tell whether workers may be forked: where the system does so, and no library's threads stand in the way."""
    return multiprocessing.get_start_method() == "fork" and not _threaded


def numbered(work: Iterable[T | None]) -> Iterator[tuple[int, T] | None]:
    """Number the things of a work. None among them: there is none just now, but may be after the next answer."""
    number = 0
    for thing in work:
        yield None if thing is None else (number, thing)
        number += thing is not None


class _Things(Generic[T]):
    """The work still to be given out, taken from its source only as it is needed; what comes back goes first.

    ended: nothing more comes of the source. at_hand: what a worker has at hand that did a thing.
    """

    def __init__(self, work: Iterable[T | None], at_hand: Callable[[T], Set[Hashable]] | None) -> None:
        self._source = numbered(work)
        self._back: deque[tuple[int, T]] = deque()
        self._ahead: list[tuple[int, T, Set[Hashable]]] = []
        self._passed_over = 0
        self._at_hand = at_hand
        self._given: dict[int, int] = {}
        self._none_now = False
        self.ended = False

    def take(self, has: set[Hashable], others_have: Set[Hashable]) -> tuple[int, T] | None:
        """Return the next thing for whoever has something at hand: one that shares much of it, and little of what others
        have; None: none just now. What it leaves at hand is added to what it has.
        """
        one = self._back.popleft() if self._back else self._best(has, others_have)
        if one is not None:
            self._given[one[0]] = self._given.get(one[0], 0) + 1
        return one

    def _best(self, has: set[Hashable], others_have: Set[Hashable]) -> tuple[int, T] | None:
        if not self._more_ahead():
            return None
        gains = [len(left & has) - len(left & (others_have - has)) for _, _, left in self._ahead]
        best = gains.index(max(gains)) if self._passed_over < THINGS_AHEAD else 0
        self._passed_over = self._passed_over + 1 if best else 0
        number, thing, left = self._ahead.pop(best)
        has |= left
        return number, thing

    def more(self) -> bool:
        return bool(self._back) or self._more_ahead()

    def _more_ahead(self) -> bool:
        """Look ahead as far as is of use, but not past a None while there is something ahead: what follows is known later."""
        far = THINGS_AHEAD if self._at_hand else 1
        for _ in range(2):  # a None that only ends the looking ahead may stand where nothing is ahead any more
            while len(self._ahead) < far and not (self._ahead and self._none_now):
                one = self._next()
                self._none_now = one is None
                if one is None:
                    break
                self._ahead.append((*one, self._at_hand(one[1]) if self._at_hand else frozenset()))
            if self._ahead:
                return True
        return False

    def _next(self) -> tuple[int, T] | None:
        for one in self._source:
            return one
        self.ended = True
        return None

    def back(self, number: int, thing: T) -> bool:
        """Put a thing back over which a process died; False if that was its last try."""
        if self._given[number] >= GIVEN_OUT:
            return False
        self._back.append((number, thing))
        return True


@dataclass(slots=True)
class _Worker(Generic[T]):
    """A process and what it was given; None while it loads, or waits for work. until: when it has taken too long.

    at_hand: what it keeps of the things it did, as the crew was told.
    """

    process: Any
    channel: Any
    until: float
    given: tuple[int, T] | None = None
    waits: bool = False
    at_hand: set[Hashable] = field(default_factory=set)

    def hear(self) -> tuple[Any] | None:
        """Return what it says, in a tuple; None if it is gone, or late with nothing to say."""
        try:
            return (self.channel.recv(),) if self.channel.poll() else None
        except (EOFError, OSError, pickle.UnpicklingError):
            return None


class Crew(Generic[T, R]):
    """Some worker processes. `begin` is called once in each: it loads what is needed, and returns the function that works.

    limit: seconds after which the process is ended that is over a thing. `begin` and the things must be picklable where
    processes are not forked. at_hand: what a process keeps of a thing it did, and a thing that shares of it comes sooner
    by: who has it at hand is given that thing first.
    """

    def __init__(
        self,
        begin: Callable[[], Callable[[T], R]],
        jobs: int,
        limit: Callable[[T], float],
        at_hand: Callable[[T], Set[Hashable]] | None = None,
    ) -> None:
        self._begin, self._jobs, self._limit, self._at_hand = begin, jobs, limit, at_hand
        self._crew: list[_Worker[T]] = []
        self._leaving: list[_Worker[T]] = []

    def answers(self, work: Iterable[T | None]) -> Iterator[tuple[int, R | Fate]]:
        """Yield (number, result) of each thing as it is done.

        work: None among the things says that there is none just now, but perhaps after the next answer: whoever is free
        waits for that. Ends every process, whatever ends the loop. Where no process can be started the work is done in
        this one.
        """
        things = _Things(work, self._at_hand)
        try:
            while things.more() or any(not worker.waits for worker in self._crew):
                for worker in [w for w in self._crew if w.waits]:
                    self._give(worker, things)
                while len(self._crew) < self._jobs and things.more():
                    self._hire()
                for worker in self._heard():
                    yield from self._after(worker, things)
                if not self._jobs:
                    break
            yield from self._here(things)
        finally:
            self._end()

    def _hire(self) -> None:
        forked = may_fork()
        context: Any = multiprocessing.get_context("fork" if forked else "spawn")
        ours, theirs = context.Pipe()
        others = [w.channel for w in (*self._crew, *self._leaving)] + [ours] if forked else []
        told = (self._begin, theirs, others)
        process = context.Process(target=_work, args=told, daemon=True)
        with _undisturbed():
            process.start()
        theirs.close()
        self._crew.append(_Worker(process, ours, time.monotonic() + LOADING))

    def _heard(self) -> list[_Worker[T]]:
        """Wait for the first that has something to say, or is late; return all such."""
        soonest = min((w.until for w in self._crew if not w.waits), default=0.0)
        said = set(wait([w.channel for w in self._crew], max(0.0, soonest - time.monotonic())))
        now = time.monotonic()
        return [w for w in self._crew if w.channel in said or (w.until <= now and not w.waits)]

    def _after(self, worker: _Worker[T], things: _Things[T]) -> Iterator[tuple[int, R | Fate]]:
        """Go on after a worker has spoken, died or not kept its time."""
        said = worker.hear()
        if said is None:
            yield from self._lost(worker, things)
            return
        done = worker.given
        self._give(worker, things)
        if done is not None:
            yield done[0], said[0]

    def _give(self, worker: _Worker[T], things: _Things[T]) -> None:
        """Give a worker the next thing; if there is none just now it waits, and if none comes any more it leaves."""
        others_have = {one for other in self._crew if other is not worker for one in other.at_hand}
        worker.given = things.take(worker.at_hand, others_have)
        worker.waits = worker.given is None and not things.ended
        if worker.waits:
            return
        if worker.given is None:
            self._send_away(worker)
            return
        seconds = self._limit(worker.given[1])
        worker.until = time.monotonic() + seconds
        with suppress(OSError):  # it died just now: heard of at the next look
            worker.channel.send((worker.given[1], seconds + ENDING_SLACK))

    def _send_away(self, worker: _Worker[T]) -> None:
        with suppress(OSError):  # it is gone already
            worker.channel.send(None)
        self._crew.remove(worker)
        self._leaving.append(worker)

    def _lost(self, worker: _Worker[T], things: _Things[T]) -> Iterator[tuple[int, R | Fate]]:
        late = worker.until <= time.monotonic()
        self._crew.remove(worker)
        _kill([worker])
        if worker.given is None:  # it could not even load: go on with those that could, or with none
            self._jobs = len(self._crew)
        elif late:
            yield worker.given[0], "took-too-long"
        elif not things.back(*worker.given):
            yield worker.given[0], "died"

    def _here(self, things: _Things[T]) -> Iterator[tuple[int, R | Fate]]:
        work = self._begin() if things.more() else None
        while work is not None and (one := things.take(set(), set())) is not None:
            yield one[0], work(one[1])

    def _end(self) -> None:
        """End the processes: those that have work at once, those that have none when they have put things away."""
        for worker in [w for w in self._crew if w.waits]:
            self._send_away(worker)
        _kill(self._crew)
        until = time.monotonic() + PARTING
        for worker in self._leaving:
            worker.process.join(max(0.0, until - time.monotonic()))
        _kill(self._leaving)
        self._crew, self._leaving = [], []


def _kill(crew: Sequence[_Worker[Any]]) -> None:
    for worker in crew:
        worker.process.kill()
    for worker in crew:
        worker.process.join()
        worker.channel.close()


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Keep signals waiting while a process is started: it must not take one before it knows what to do with it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, ENDING)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


# --- in the worker ----------------------------------------------------------------------------------------------


def _work(begin: Callable[[], Callable[[Any], Any]], channel: Any, others: Sequence[Any]) -> None:
    """Load, say so, and then answer whatever comes, until nothing more does or the parent is gone."""
    for other in others:
        other.close()
    _heed()
    threading.Thread(target=_watch, args=(os.getppid(),), daemon=True).start()
    with suppress(EOFError, BrokenPipeError, ConnectionResetError):  # the parent is gone, and with it all purpose
        work = begin()
        channel.send(None)
        while (given := channel.recv()) is not None:
            _alarm(given[1])
            channel.send(work(given[0]))
            _alarm(0.0)  # it may wait for more
        _alarm(PARTING)


def _heed() -> None:
    """Leave Ctrl-C, which a terminal sends to all, to the parent; let the other signals end this process."""
    for number in ENDING:
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, signal.SIG_IGN if number == signal.SIGINT else signal.SIG_DFL)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, ENDING)


def _alarm(seconds: float) -> None:
    """Have the system end this process after a time, even if a library is caught in a loop of its own; 0: no more."""
    if hasattr(signal, "setitimer"):
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.setitimer(signal.ITIMER_REAL, seconds)


def _watch(parent_id: int) -> None:
    """End this process as soon as its parent is no more, even in the middle of work."""
    parent = multiprocessing.parent_process()
    while os.name == "nt" or os.getppid() == parent_id:
        if parent is None:
            time.sleep(WATCH)
        elif wait([parent.sentinel], WATCH):
            break
    os._exit(1)
