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
from array import array
from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from hashlib import sha256
from itertools import chain, islice
from pathlib import Path
from typing import Any

from engrave.approval import KEPT, KeptOrders
from engrave.batch.advice_apart import advised_apart
from engrave.batch.given_out import AdviceAsked, Advised, Given, Makers, left_at_hand, ready_maker, seconds_for
from engrave.batch.lists_apart import list_set_apart
from engrave.batch.loaded_before import load_for_all
from engrave.batch.unit_drawn import unmade_entry
from engrave.batch.unit_written import Answer, Failed, Place, make_and_put, put_unit
from engrave.batch.week_told import ToldWeek
from engrave.batch.work_units import MayWrite, Unit, chosen_pieces, codes_lying, table_units, with_spoiled
from engrave.engine import Engine
from engrave.errors import STOPPED, ForPeople
from engrave.fingerprint import surroundings
from engrave.headings import to_be_asked
from engrave.intake import read_orders
from engrave.making import Env, environment, tasks_of
from engrave.on_disk import FEW_THINGS, DiskMap, Places, long_list, places_to_fill
from engrave.output.page import Card, page_names, ready_page, week_pages
from engrave.output.sheets import LIDS_A_LIST, BenchSheet, bench_names, bench_pdf, bench_sheets
from engrave.output.terminal import week_summary
from engrave.output.week_folder import (
    ADVICE,
    Kept,
    WeekFolder,
    advice_bytes,
    advice_kept,
    digest_at,
    kept_of,
    opened,
)
from engrave.output.week_tables import Planned, csv_bits, json_bits
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
    still_asked,
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
    written: Sequence[str]
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
    begun: list[WeekFolder] = []
    try:
        file = read_orders(orders, env.shop.intake)
        asked = to_be_asked(file, orders, shop_folder)
        notes = env.shop.notes + tuple(env.shelf.notes) + file.problems + asked
        whats = with_spoiled(tasks_of(file.orders, env, of_table=True), out, env.shop.parts())
        chosen, pieces = chosen_pieces(whats, only, piece), len(whats)
        store = KeptOrders((shop_folder or out) / KEPT)
        units = table_units(whats, chosen, surroundings(shop_folder), codes_lying(out) if only else {}, store)
        work = long_list(units, env.shop.parts())
        del file, whats, units  # of a long table nothing more is held in memory than where it lies
        names = MayWrite(work)
        with opened(out, _Names(names, pieces), [orders, *input_files(shop_folder)]) as folder:
            begun.append(folder)
            run = _Run(folder, env, shop_folder, work, progress, places_to_fill(pieces, env.shop.parts()))
            crew = _engine(engine, folder, shop_folder, store) if engine else None
            run.leave_unchanged(names)
            run.make_rest(jobs or _cores(), store, crew)
            return run.told(notes, start)
    except (KeyboardInterrupt, Interrupted):
        raise Stopped("interrupted", _finished(begun)) from None
    except OSError as error:
        raise Stopped(_system_says(error), _finished(begun)) from error


def _engine(address: str, folder: WeekFolder, shop_folder: Path | None, store: KeptOrders) -> Makers:
    """Return the engine's workers, which have said that they can make this week. Raises EngineError if they cannot."""
    shop_folder = shop_folder.resolve() if shop_folder else None
    place = Place(folder.path.resolve(), folder.part, KeptOrders(store.folder.resolve()))
    engine: Engine[Given, Answer | Advised] = Engine(
        address, partial(ready_maker, None, shop_folder, place), seconds_for, place.folder, shop_folder
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


@dataclass(frozen=True, slots=True)
class _Names:
    """All files that a run may come to: those of its pieces, its pages and its bench lists."""

    of_pieces: MayWrite
    pieces: int

    def __iter__(self) -> Iterator[str]:
        yield from self.of_pieces
        yield from page_names(self.pieces)
        yield from bench_names(self.pieces)


@dataclass(slots=True)
class _Run:
    """A run in the folder that it holds. entries: what the week remembers of each piece, as it becomes known.

    stands: the files, with their digests, that an earlier run made of what has not changed. rest: the units that must be
    made, by their place in the work.
    """

    folder: WeekFolder
    env: Env
    shop_folder: Path | None
    work: Sequence[Unit]
    progress: Progress | None
    entries: Places[Entry]
    stands: DiskMap = field(default_factory=DiskMap)
    made: int = 0
    advice: AdviceAsked = field(default_factory=AdviceAsked)
    rest: array[int] = field(default_factory=lambda: array("q"))

    def leave_unchanged(self, names: MayWrite) -> None:
        """Take up what an earlier run made of what has not changed, and begin with the rest. names: see `WeekFolder`."""
        self.rest.extend(number for number, unit in enumerate(self.work) if not self._is_as_before(unit))
        left_out = MayWrite(self.work, made=False)
        stays = {name for number in self.rest for name in left_out.of(self.work[number])}
        self.folder.begin(names, _Either(self.stands, stays))
        self._show()

    def _is_as_before(self, unit: Unit) -> bool:
        kept = kept_of(self.folder.path, unit.ident)
        if kept is None or kept.key not in (unit.key, unit.key_in_rows):
            # what is kept without a key failed and is tried each time: mostly in vain, and the advice stands
            self.advice.anew |= kept is None or bool(kept.key)
            return False
        if any(digest_at(self.folder.path / name) != digest for name, digest in kept.files.items()):
            return False
        try:
            self._take(unit, kept)
        except (ValueError, TypeError, KeyError):
            return False
        self.stands.update((name, frozenset({digest})) for name, digest in kept.files.items())
        return True

    def _take(self, unit: Unit, kept: Kept) -> None:
        pairs = list(zip(unit.members, unit.whats, kept.pieces, strict=True))
        for i, entry in [(i, recalled(what, told)) for i, what, told in pairs]:
            self.entries[i] = entry
            self.advice.add(i, entry)

    def _show(self) -> None:
        if self.progress:
            self.progress(self.entries.filled, len(self.entries))

    def make_rest(self, jobs: int, store: KeptOrders, crew: Makers | None) -> None:
        """Make what must be made, over as many processes as asked, or by a crew that is at hand.

        Raises OSError if a file cannot be written.
        """
        place = Place(self.folder.path, self.folder.part, store)
        jobs = min(jobs, len(self.rest))
        if crew is None and jobs <= 1:
            here = replace(place, heard=self.folder.announced)
            for number, unit in self._units():
                self._answered(unit, make_and_put(number, unit, self.env, here))
            return
        if crew is None:
            forked = may_fork()
            if forked:
                load_for_all((unit for _, unit in self._units()), self.env)
            begin = partial(ready_maker, self.env if forked else None, self.shop_folder, place)
            crew = Crew[Given, Answer | Advised](begin, jobs, seconds_for, left_at_hand)
        work = self.advice.given_after(self._units(), lambda: self.entries.filled == len(self.entries))
        for number, answer in crew.answers(work):
            ready_page()  # while others work
            if number >= len(self.rest) or isinstance(answer, Advised):  # lids to advise on come behind all units
                self.advice.heard(answer)
                continue
            unit = self.work[self.rest[number]]
            if isinstance(answer, str):
                answer = put_unit(number, unit, [unmade_entry(what, answer) for what in unit.whats], self.env, place)
            self._answered(unit, answer)

    def _units(self) -> Iterator[tuple[int, Unit]]:
        return ((number, self.work[place]) for number, place in enumerate(self.rest))

    def _answered(self, unit: Unit, answer: Answer) -> None:
        self.folder.announced(answer.files)
        if isinstance(answer, Failed):
            raise OSError(answer.number, answer.says, answer.where)
        self._take(unit, Kept(answer.key, answer.files, as_plain(answer.pieces)))
        self.made += len(unit.members)
        self._show()

    def told(self, notes: tuple[Problem, ...], start: date | None) -> Done:
        """Take away what is no longer made, and write the week's own files from what the store says of each piece."""
        folder, rates, pieces = self.folder, self.env.shop.rates, len(self.entries)
        week = sum_up(self.entries, rates, (*notes, *self._advice()))
        ahead = plan(week, rates, start)
        left_out = {name for name in MayWrite(self.work, made=False) if name in folder.known.files}
        stays = _Either(self.stands, folder.new, left_out, page_names(pieces))
        gone = folder.take_away(stays, (unit.ident for unit in self.work))
        folder.sync()
        of_pieces = len(folder.new)
        told = ToldWeek(folder.path, self.work, pieces, Planned(ahead, pieces))
        cards: Places[Card] = places_to_fill(pieces)
        rows = told.entries(cards)
        folder.stage("week.json", json_bits(week, ahead, rows, rates.currency))
        folder.stage("week.csv", csv_bits(lambda: (e.piece.order for e in week.entries), told.entries()))
        lists = []
        for name, pdf in self._bench_lists(bench_sheets(week, ahead, self.env.shop, told.bench)):
            folder.stage(name, [pdf])
            lists.append(name)
            del pdf  # before the next is made
        for name, bits in week_pages(week, self.env.shop, cards, told.cards(), ahead, lists):
            folder.stage(name, bits)
        folder.commit()
        known = ((name, folder.known.files.get(name, frozenset())) for name in sorted(left_out))
        folder.end(chain(known, self.stands.items()))
        summary = week_summary(week, ahead, folder.path, self.env.shop, gone, folder.moved)
        written = long_list(chain(islice(folder.new, of_pieces), lists, page_names(pieces), ("week.csv", "week.json")))
        return Done(folder.path, week, ahead, written, gone, tuple(folder.moved), self.made, summary)

    def _bench_lists(self, sheets: Iterator[tuple[str, BenchSheet]]) -> Iterator[tuple[str, bytes]]:
        """Yield the name and the PDF of each bench list.

        Where there are several, each is set in a process of its own, as the typesetter keeps what it has set.
        """
        if len(self.entries) <= LIDS_A_LIST:
            yield from ((name, bench_pdf(sheet, self.env.shelf)) for name, sheet in sheets)
            return
        for name, sheet in sheets:
            yield name, list_set_apart(sheet, self.shop_folder, self.env.shelf)
            del sheet  # before the next is made

    def _advice(self) -> tuple[Problem, ...]:
        """Return the notes on what would save time, as an earlier run left them where nothing that they are of changed.

        Raises OSError if they cannot be kept.
        """
        key = self._advice_key()
        try:
            kept = advice_kept(self.folder.path, key)
            return tuple(read_as(Problem, note) for note in kept) if kept is not None else self._new_advice(key)
        except (KeyError, TypeError, ValueError):
            return self._new_advice(key)

    def _advice_key(self) -> str:
        """Return the digest of what the advice comes from: all that is made, and the seconds it takes."""
        digest = sha256()
        for unit in self.work:
            digest.update(json.dumps([unit.key, *unit.members]).encode())
        for entry in self.entries:
            piece = entry.piece
            digest.update(f" {piece.estimate.seconds if piece.is_made and piece.estimate else None}".encode())
        return digest.hexdigest()

    def _new_advice(self, key: str) -> tuple[Problem, ...]:
        if self.advice.fails:
            return ()
        try:
            costly, known = self.advice.sorts.costly(), self.advice.known
            if len(self.entries) <= FEW_THINGS or not still_asked(costly, known):
                notes = week_advice(costly, self.env, known)
            else:
                notes = advised_apart(costly, self.shop_folder, known)
        except Exception:  # a week without advice is a week; without its page it is none
            return ()
        put_inside(self.folder.path / ADVICE, advice_bytes(key, as_plain(notes)), self.folder.part)
        return notes


class _Either(Container[str]):
    """Names that are in any of several places."""

    def __init__(self, *places: Container[str]) -> None:
        self._places = places

    def __contains__(self, name: object) -> bool:
        return any(name in place for place in self._places)
