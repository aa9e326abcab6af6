"""A week of orders: every row answered, made in parallel, written so that nothing half-made or stale is ever found.

The first pass reads the whole table and decides whether the run can be made at all. The second makes it unit by unit (a
unit: pieces that have a say in one another), each in one process, which puts its files in place and down in the store
what the week needs to know of it; only that comes back. A unit of which nothing changed since the last run is left as it
is. At the end the pages are written from the store, in the table's order: so no file depends on how many processes there
were, and a run that is stopped keeps what it finished.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from engrave.approval import KEPT, KeptOrders
from engrave.batch.unit_drawn import seconds_allowed, unmade_entry
from engrave.batch.unit_written import Answer, Failed, Makers, Place, make_and_put, put_unit, ready_maker
from engrave.batch.week_told import ToldWeek
from engrave.batch.work_units import Unit, chosen_pieces, codes_lying, may_write, table_units, with_spoiled
from engrave.engine import Engine
from engrave.errors import STOPPED, ForPeople
from engrave.fingerprint import surroundings
from engrave.headings import to_be_asked
from engrave.intake import read_orders
from engrave.making import Env, environment, tasks_of
from engrave.output.page import Card, page_names, week_pages
from engrave.output.sheets import bench_names, bench_sheets
from engrave.output.terminal import week_summary
from engrave.output.week_folder import (
    ADVICE,
    Kept,
    WeekFolder,
    advice_bytes,
    advice_kept,
    digest_at,
    digest_of,
    kept_of,
    opened,
)
from engrave.output.week_tables import csv_bits, json_bits, planned
from engrave.output.writing import put_inside
from engrave.problems import Problem
from engrave.shop.inputs import input_files
from engrave.signals import Interrupted
from engrave.stored import as_plain, read_as
from engrave.week import (
    Entry,
    Plan,
    Week,
    plan,
    recalled,
    sum_up,
    week_advice,
)
from engrave.workers import Crew, may_fork

Progress = Callable[[int, int], None]


class Stopped(ForPeople):
    """The run ended midway: what is finished stands, and the rest can be run again. `written`: files in place."""

    status = STOPPED

    def __init__(self, why: str, written: Sequence[str]) -> None:
        self.written = tuple(written)
        stands = f"{len(self.written)} files are finished and stand:" if written else "Nothing was written."
        again = "Run the same command again for the rest."
        super().__init__("\n".join([f"Stopped: {why}.", stands, *self.written, again]))


@dataclass(frozen=True, slots=True)
class Done:
    """A finished week: what it remembers of its pieces, its plan, and the same told for people.

    written, taken_away: files of the folder; changed_by_hand: those that were moved into the folder of that name.
    made: how many pieces were made anew; the others were as the last run left them.
    """

    folder: Path
    week: Week
    plan: Plan
    written: tuple[str, ...]
    taken_away: tuple[str, ...]
    changed_by_hand: tuple[str, ...]
    made: int
    summary: str

    @property
    def report(self) -> dict[str, Any]:
        """What week.json says, read from there."""
        told: dict[str, Any] = json.loads((self.folder / "week.json").read_text("utf-8"))
        return told


def run_week(
    orders: Path,
    out: Path,
    *,
    shop_folder: Path | None = None,
    jobs: int | None = None,
    only: Sequence[str] = (),
    piece: int | None = None,
    start: date | None = None,
    progress: Progress | None = None,
    engine: str | None = None,
) -> Done:
    """Letter a table of orders into the folder `out`; see the module's page for what is promised.

    only: ids of orders whose lids are written; the others are still worked out, for the page and the sizes that
    matching pieces share. piece: with one order in `only`, the one of its pieces. start: first working day of the plan.
    engine: address of an engine on several computers that makes the units, 'dask://HOST:PORT', instead of processes here.
    Raises `ShopError`, `OrdersError`, `FolderError` and `EngineError` before anything is written, `Stopped` when the disk
    is full, the folder vanishes or the run is interrupted.
    """
    env = environment(shop_folder)
    file = read_orders(orders, env.shop.intake)
    whats = tasks_of(file.orders, env, of_table=True)
    whats = with_spoiled(whats, out)
    chosen = chosen_pieces(whats, only, piece)
    store = KeptOrders((shop_folder or out) / KEPT)
    work = table_units(whats, chosen, surroundings(shop_folder), codes_lying(out) if only else {}, store)
    names = {n for u in work for w, s, c in zip(u.whats, u.stems, u.write, strict=True) if c for n in may_write(w, s)}
    begun: list[WeekFolder] = []
    try:
        with opened(
            out, {*names, *page_names(len(whats)), *bench_names(len(whats))}, [orders, *input_files(shop_folder)]
        ) as folder:
            begun.append(folder)
            run = _Run(folder, env, work, len(whats), progress)
            crew = _engine(engine, folder, shop_folder, store) if engine else None
            run.leave_unchanged(names)
            run.make_rest(shop_folder, jobs or _cores(), store, crew)
            asked = to_be_asked(file, orders, shop_folder)
            notes = env.shop.notes + tuple(env.shelf.notes) + file.problems + asked
            return run.told(notes, start)
    except (KeyboardInterrupt, Interrupted):
        raise Stopped("interrupted", _finished(begun)) from None
    except OSError as error:
        raise Stopped(_system_says(error), _finished(begun)) from error


def _engine(address: str, folder: WeekFolder, shop_folder: Path | None, store: KeptOrders) -> Makers:
    """Return the engine's workers, which have said that they can make this week. Raises EngineError if they cannot."""
    shop_folder = shop_folder.resolve() if shop_folder else None
    place = Place(folder.path.resolve(), folder.part, KeptOrders(store.folder.resolve()))
    engine: Engine[tuple[int, Unit], Answer] = Engine(
        address, partial(ready_maker, None, shop_folder, place), seconds_allowed, place.folder, shop_folder
    )
    engine.ask()
    return engine


def _finished(begun: Sequence[WeekFolder]) -> tuple[str, ...]:
    """Return the files that stand in what was begun: a folder, or none yet."""
    for folder in begun:
        folder.dropped()
    return tuple(name for folder in begun for name in folder.finished())


def _system_says(error: OSError) -> str:
    """Return what the system says, with the file it says it of."""
    says = error.strerror or str(error)
    return f"{says} ({error.filename})" if isinstance(error.filename, str) else says


def _cores() -> int:
    return os.cpu_count() or 1


@dataclass(slots=True)
class _Run:
    """A run in the folder that it holds. entries: what the week remembers of each piece, as it becomes known."""

    folder: WeekFolder
    env: Env
    work: Sequence[Unit]
    pieces: int
    progress: Progress | None
    entries: dict[int, Entry] = field(default_factory=dict)
    stands: dict[str, str] = field(default_factory=dict)
    made: int = 0
    rest: list[Unit] = field(default_factory=list)

    def leave_unchanged(self, names: set[str]) -> None:
        """Take up what an earlier run made of what has not changed, and begin with the rest. names: see `WeekFolder`."""
        self.rest = [unit for unit in self.work if not self._is_as_before(unit)]
        left_out = {n for u in self.rest for w, s, c in zip(u.whats, u.stems, u.write, strict=True) if not c
                    for n in may_write(w, s)}  # fmt: skip
        self.folder.begin(names - set(self.stands), {*self.stands, *left_out})
        self._show()

    def _is_as_before(self, unit: Unit) -> bool:
        kept = kept_of(self.folder.path, unit.ident)
        if kept is None or kept.key not in (unit.key, unit.key_in_rows):
            return False
        if any(digest_at(self.folder.path / name) != digest for name, digest in kept.files.items()):
            return False
        try:
            self._take(unit, kept)
        except (ValueError, TypeError, KeyError):
            return False
        self.stands.update(kept.files)
        return True

    def _take(self, unit: Unit, kept: Kept) -> None:
        pairs = list(zip(unit.members, unit.whats, kept.pieces, strict=True))
        self.entries.update({i: recalled(what, told) for i, what, told in pairs})

    def _show(self) -> None:
        if self.progress:
            self.progress(len(self.entries), self.pieces)

    def make_rest(self, shop_folder: Path | None, jobs: int, store: KeptOrders, crew: Makers | None) -> None:
        """Make what must be made, over as many processes as asked, or by a crew that is at hand.

        Raises OSError if a file cannot be written.
        """
        place = Place(self.folder.path, self.folder.part, store)
        jobs = min(jobs, len(self.rest))
        if crew is None and jobs <= 1:
            here = replace(place, heard=self.folder.new.update)
            for number, unit in enumerate(self.rest):
                self._answered(unit, make_and_put(number, unit, self.env, here))
            return
        if crew is None:
            crew = Crew(
                partial(ready_maker, self.env if may_fork() else None, shop_folder, place), jobs, seconds_allowed
            )
        for number, answer in crew.answers(enumerate(self.rest)):
            unit = self.rest[number]
            if isinstance(answer, str):
                answer = put_unit(number, unit, [unmade_entry(what, answer) for what in unit.whats], self.env, place)
            self._answered(unit, answer)

    def _answered(self, unit: Unit, answer: Answer) -> None:
        self.folder.new.update(answer.files)
        if isinstance(answer, Failed):
            raise OSError(answer.number, answer.says, answer.where)
        self._take(unit, Kept(answer.key, answer.files, as_plain(answer.pieces)))
        self.made += len(unit.members)
        self._show()

    def told(self, notes: tuple[Problem, ...], start: date | None) -> Done:
        """Take away what is no longer made, and write the week's own files from what the store says of each piece."""
        folder, rates = self.folder, self.env.shop.rates
        entries = [self.entries[i] for i in range(self.pieces)]
        week = sum_up(entries, rates, (*notes, *self._advice(entries)))
        ahead = plan(week, rates, start)
        listed = {name for unit in self.work for name in self._left_out(unit)}
        gone = folder.take_away(
            {*self.stands, *folder.new, *listed, *page_names(self.pieces)}, [unit.ident for unit in self.work]
        )
        folder.sync()
        written = tuple(folder.new)
        told = ToldWeek(folder.path, self.work, planned(ahead))
        cards: list[Card] = []
        rows = told.entries(cards)
        folder.stage("week.json", json_bits(week, ahead, rows, rates.currency))
        folder.stage("week.csv", csv_bits([e.piece.order for e in week.entries], told.entries()))
        lists = []
        for name, sheet in bench_sheets(week, ahead, self.env.shop, self.env.shelf, told.bench):
            folder.stage(name, [sheet])
            lists.append(name)
        for name, bits in week_pages(week, self.env.shop, cards, told.cards(), ahead, lists):
            folder.stage(name, bits)
        folder.commit()
        known = {name: folder.known.files.get(name, frozenset()) for name in listed}
        folder.end({**known, **{name: (digest,) for name, digest in self.stands.items()}})
        summary = week_summary(week, ahead, folder.path, self.env.shop, gone, folder.moved)
        pages = (*lists, *page_names(self.pieces), "week.csv", "week.json")
        return Done(folder.path, week, ahead, (*written, *pages), gone, tuple(folder.moved), self.made, summary)

    def _advice(self, entries: Sequence[Entry]) -> tuple[Problem, ...]:
        """Return the notes on what would save time, as an earlier run left them where nothing that they are of changed.

        Raises OSError if they cannot be kept.
        """
        seconds = [e.piece.estimate.seconds if e.piece.is_made and e.piece.estimate else None for e in entries]
        key = digest_of(json.dumps([[unit.key, *unit.members] for unit in self.work] + [seconds]))
        try:
            kept = advice_kept(self.folder.path, key)
            return (
                tuple(read_as(Problem, note) for note in kept) if kept is not None else self._new_advice(key, entries)
            )
        except (KeyError, TypeError, ValueError):
            return self._new_advice(key, entries)

    def _new_advice(self, key: str, entries: Sequence[Entry]) -> tuple[Problem, ...]:
        try:
            notes = week_advice(entries, self.env)
        except Exception:  # a week without advice is a week; without its page it is none
            return ()
        put_inside(self.folder.path / ADVICE, advice_bytes(key, as_plain(notes)), self.folder.part)
        return notes

    def _left_out(self, unit: Unit) -> Iterator[str]:
        """Yield the files of pieces that this run was told to leave out, as far as they are ours."""
        for what, stems, write in zip(unit.whats, unit.stems, unit.write, strict=True):
            if not write:
                yield from (name for name in may_write(what, stems) if name in self.folder.known.files)
