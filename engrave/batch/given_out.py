"""What workers are given: the units of a week, and when all are given out the lids on which its advice is asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Set
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from engrave.batch.unit_drawn import seconds_allowed
from engrave.batch.unit_written import Answer, Place, make_and_put
from engrave.batch.work_units import Unit
from engrave.making import Env, environment
from engrave.tasks import Task
from engrave.week import Entry, KnownSavers, LidSorts, SaversAsked, savers_of, still_asked
from engrave.workers import Fate

ADVICE_SECONDS = 120.0
"""Seconds after which a process is ended that is over the advice on one lid; it mostly takes one or two."""

Given = tuple[int, Unit] | SaversAsked


@dataclass(frozen=True, slots=True)
class Advised:
    """What would save time on a lid; None: it could not be worked out."""

    known: KnownSavers | None


class Makers(Protocol):
    """Whoever makes units and works out advice: processes of this machine, or an engine's workers."""

    def answers(self, work: Iterable[Given | None]) -> Iterator[tuple[int, Answer | Advised | Fate]]:
        """Yield the number and the answer of each thing as it is done, or what became of it. None: wait for an answer."""
        ...


def ready_maker(env: Env | None, shop_folder: Path | None, place: Place) -> Callable[[Given], Answer | Advised]:
    """Return what works in a worker. env: the parent's tables and typefaces; None where they must be read again."""
    known = env or environment(shop_folder)

    def work(given: Given) -> Answer | Advised:
        return _advised(given, known) if isinstance(given, SaversAsked) else make_and_put(*given, known, place)

    return work


def _advised(asked: SaversAsked, env: Env) -> Advised:
    try:
        found = savers_of(asked, env)
    except Exception:  # a week without advice is a week
        return Advised(None)
    env.measures.save()
    return Advised(found)


def seconds_for(given: Given) -> float:
    """Return the seconds that a worker may take over something."""
    return ADVICE_SECONDS if isinstance(given, SaversAsked) else seconds_allowed(given)


def left_at_hand(given: Given) -> Set[tuple[str, str]]:
    """Return what a worker keeps of a thing it did: its lids with their room and light, and its typefaces' letters."""
    whats = (given.task,) if isinstance(given, SaversAsked) else given[1].whats
    tasks = [what for what in whats if isinstance(what, Task)]
    return {("lid", task.lid.id) for task in tasks} | {("typeface", one) for task in tasks for _, one in task.typefaces}


@dataclass(slots=True)
class AdviceAsked:
    """A week's advice while the week is made: which lids it is of, as far as is known, and what is known of them.

    anew: something of the week changed since the last run, so that its advice will not stand. fails: a part of it could
    not be worked out.
    """

    sorts: LidSorts = field(default_factory=LidSorts)
    known: KnownSavers = field(default_factory=dict)
    anew: bool = False
    fails: bool = False

    def add(self, place: int, entry: Entry) -> None:
        """Take up a piece that became known, by its place in the table."""
        self.sorts.add(place, entry)

    def heard(self, answer: object) -> None:
        """Take up what a worker answered, or what became of it over that."""
        if isinstance(answer, Advised) and answer.known is not None:
            self.known.update(answer.known)
        else:
            self.fails = True

    def given_after(self, units: Iterable[tuple[int, Unit]], all_made: Callable[[], bool]) -> Iterator[Given | None]:
        """Yield the units, and then each lid whose advice is asked, as soon as it is known: others may come before it.

        What is asked before all is known is asked in vain if other lids turn out to take more time: it cost what was free.
        """
        yield from units
        yield None  # lids are chosen when the last units are given out, not when these are looked ahead to
        given: set[object] = set()
        while self.anew and not self.fails:
            asked = next(
                (one for one in still_asked(self.sorts.costly(), self.known) if given.isdisjoint(one.lids)), None
            )
            if asked is None and all_made():
                return
            yield asked
            given.update(asked.lids if asked is not None else ())
