"""A week of orders: every row answered, made in parallel, written so that nothing half-made or stale is ever found.

The first pass reads the whole table and decides whether the run can be made at all. The second makes it unit by unit (a
unit: pieces that have a say in one another), each in one process, which puts its files in place and down in the store
what the week needs to know of it; only that comes back. A unit of which nothing changed since the last run is left as it
is. At the end the pages are written from the store, in the table's order: so no file depends on how many processes there
were, and a run that is stopped keeps what it finished.
"""

from __future__ import annotations

import errno
import json
import os
import re
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any, Protocol

from engrave.approval import KEPT, KeptOrders, cut_otherwise, judge_order, proved_letterings
from engrave.engine import Engine
from engrave.errors import STOPPED, ForPeople
from engrave.findings import FindingCode
from engrave.fingerprint import surroundings, unit_key, with_rows
from engrave.headings import to_be_asked
from engrave.intake import OrdersError, read_orders
from engrave.making import Env, Piece, environment
from engrave.output.names import file_names, lid_names
from engrave.output.page import Card, Files, card, card_read, card_told, outlined, page_names, week_pages
from engrave.output.sheets import Proof, bench_names, bench_row, bench_sheets, order_proof
from engrave.output.svg import check_svg, lid_svg, outline_svg, proof_code
from engrave.output.terminal import week_summary
from engrave.output.week_folder import (
    ADVICE,
    FolderGone,
    Kept,
    WeekFolder,
    advice_bytes,
    advice_kept,
    digest_at,
    digest_of,
    kept_of,
    opened,
    read_json,
    record,
    record_of,
    told_of,
    unit_id,
)
from engrave.output.week_tables import csv_bits, entry, json_bits, planned
from engrave.output.writing import put_inside
from engrave.problems import Problem
from engrave.setting import Lettering
from engrave.shop.inputs import input_files
from engrave.signals import Interrupted
from engrave.stored import as_plain, read_as
from engrave.tasks import Task, define_all
from engrave.week import (
    Entry,
    Plan,
    Week,
    What,
    belonging,
    finish,
    make_unit,
    plan,
    recalled,
    remember,
    sum_up,
    units,
    week_advice,
    with_checks,
)
from engrave.workers import Crew, Fate, may_fork

Progress = Callable[[int, int], None]

MOST_SECONDS = 120.0
"""Seconds after which the process that makes a unit is ended: the last resort, far above what any words take. It is the
one exception to 'same bytes', and needs more than one process."""

EACH_FURTHER = 6.0
"""Seconds that a unit gets beyond that for each piece beyond twenty: an order may be of hundreds."""

RETRIED = frozenset({"failed", "took-too-long", "svg-not-in-form"})
"""Findings that are the program's own fault or a computer's bad moment: never kept, always tried again."""

AT_HAND = 256
"""Records of units kept read while the pages are written: rows of one unit mostly stand near each other."""


class Stopped(ForPeople):
    """The run ended midway: what is finished stands, and the rest can be run again. `written`: files in place."""

    status = STOPPED

    def __init__(self, why: str, written: Sequence[str]) -> None:
        self.written = tuple(written)
        stands = f"{len(self.written)} files are finished and stand:" if written else "Nothing was written."
        again = "Run the same command again for the rest."
        super().__init__("\n".join([f"Stopped: {why}.", stands, *self.written, again]))


@dataclass(frozen=True, slots=True)
class DrawnEntry:
    """One entry with what will be written of it; None where there is nothing to cut.

    proof: of the whole order, on the first of its pieces; proved: it stands on its order's proof. approved: what the
    buyer approved, where that is no longer what would be cut.
    """

    entry: Entry
    svg: str | None = None
    outline: str | None = None
    proof: Proof | None = None
    proved: bool = False
    approved: Lettering | None = None


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


@dataclass(frozen=True, slots=True)
class Stems:
    """How a piece's files are named, without folder and ending: its lid's and its outline's, and its proof's."""

    lid: str
    proof: str


@dataclass(frozen=True, slots=True)
class Unit:
    """Pieces that have a say in one another, and how they are to be written.

    members: their places in the table. ident: what the store knows it by; key: the digest of all it is made from.
    write: which pieces' files are written; codes: the proof codes of the lids that lie there of those that are not.
    """

    members: tuple[int, ...]
    whats: tuple[What, ...]
    stems: tuple[Stems, ...]
    ident: str
    key: str
    write: tuple[bool, ...]
    codes: Mapping[str, str]

    @property
    def key_in_rows(self) -> str:
        """The key where something that is said of the unit names the rows it stands in."""
        return with_rows(self.key, self.whats)


@dataclass(frozen=True, slots=True)
class Failed:
    """Why a unit's files could not be written, as the system said it. files: what was announced, by name."""

    number: int
    says: str
    where: str | None
    files: Mapping[str, str]


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
    engine: address of an engine on several machines that makes the units, 'dask://HOST:PORT', instead of processes here.
    Raises `ShopError`, `OrdersError`, `FolderError` and `EngineError` before anything is written, `Stopped` when the disk
    is full, the folder vanishes or the run is interrupted.
    """
    env = environment(shop_folder)
    file = read_orders(orders, env.shop.intake)
    whats = define_all(file.orders, env.shop, env.shelf.kinds(), env.shelf.refused, of_table=True)
    whats = _with_spoiled(whats, out)
    chosen = _chosen(whats, only, piece)
    store = KeptOrders((shop_folder or out) / KEPT)
    work = _units(whats, chosen, surroundings(shop_folder), _codes(out) if only else {}, store)
    names = {n for u in work for w, s, c in zip(u.whats, u.stems, u.write, strict=True) if c for n in _may_write(w, s)}
    held: list[WeekFolder] = []
    try:
        with opened(
            out, {*names, *page_names(len(whats)), *bench_names(len(whats))}, [orders, *input_files(shop_folder)]
        ) as folder:
            held.append(folder)
            run = _Run(folder, env, work, len(whats), progress)
            crew = _engine(engine, folder, shop_folder, store) if engine else None
            run.leave_unchanged(names)
            run.make_rest(shop_folder, jobs or _cores(), store, crew)
            asked = to_be_asked(file, orders, shop_folder)
            notes = env.shop.notes + tuple(env.shelf.notes) + file.problems + asked
            return run.told(notes, start)
    except (KeyboardInterrupt, Interrupted):
        raise Stopped("interrupted", _finished(held)) from None
    except OSError as error:
        raise Stopped(_why(error), _finished(held)) from error


def _engine(address: str, folder: WeekFolder, shop_folder: Path | None, store: KeptOrders) -> Makers:
    """Return the engine's workers, which have said that they can make this week. Raises EngineError if they cannot."""
    shop_folder = shop_folder.resolve() if shop_folder else None
    place = Place(folder.path.resolve(), folder.part, KeptOrders(store.folder.resolve()))
    engine: Engine[tuple[int, Unit], Answer] = Engine(
        address, partial(_ready, None, shop_folder, place), _limit, place.folder, shop_folder
    )
    engine.ask()
    return engine


def _finished(held: Iterable[WeekFolder]) -> tuple[str, ...]:
    for folder in held:
        folder.dropped()
    return tuple(name for folder in held for name in folder.finished())


def _why(error: OSError) -> str:
    """Return what the system says, with the file it says it of."""
    says = error.strerror or str(error)
    return f"{says} ({error.filename})" if isinstance(error.filename, str) else says


def _cores() -> int:
    return os.cpu_count() or 1


def _chosen(whats: Sequence[What], only: Sequence[str], piece: int | None) -> set[int]:
    """Return indices of the pieces to be written: all, those of the orders named, or one of them."""
    known = {what.order.id for what in whats}
    missing = [order for order in only if order not in known]
    if missing:
        raise OrdersError(f"--only names {', '.join(missing)}, but the table has no such order")
    found = {i for i, what in enumerate(whats) if not only or what.order.id in only}
    if piece is None:
        return found
    one = {i for i in found if whats[i].piece == piece}
    if len(only) != 1 or not one:
        pieces = f"the order has {len(found)}, from 1 on" if len(only) == 1 else "name one order with --only"
        raise OrdersError(f"--piece {piece}: there is no such piece; {pieces}")
    return one


def _with_spoiled(whats: Sequence[What], out: Path) -> tuple[What, ...]:
    """Return what is to be made, with the proof codes of lids that are to be cut again, as a week's folder lists them."""
    if not any(what.order.recut for what in whats):
        return tuple(whats)
    try:
        pieces = read_json(out / "week.json")["pieces"]
        codes = {(p["order"], p["piece"]): (p.get("recut") or {"was": p["proof_code"]})["was"] for p in pieces}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        codes = {}
    return tuple(
        replace(what, order=replace(what.order, recut_was=str(codes.get((what.order.id, what.piece)) or "")))
        if what.order.recut
        else what
        for what in whats
    )


def _units(
    whats: Sequence[What], chosen: set[int], around: str, codes: Mapping[str, str], store: KeptOrders
) -> list[Unit]:
    """Return the work of a table, in its order. store: what is kept under the codes that rows name is part of a unit."""
    stems = _stems(whats)
    work = []
    for members in belonging(whats):
        some = tuple(whats[i] for i in members)
        named = tuple(stems[i] for i in members)
        ident = unit_id([(what.order.id, what.piece) for what in some])
        kept = "".join(store.named_by([what.order for what in some]))
        key = unit_key(around + kept, some, [(s.lid, s.proof) for s in named])
        lying = {n: codes[n] for w, s in zip(some, named, strict=True) for n in _may_write(w, s) if n in codes}
        work.append(Unit(members, some, named, ident, key, tuple(i in chosen for i in members), lying))
    return work


def _stems(whats: Sequence[What]) -> list[Stems]:
    keys = [(what.order.id, what.piece) for what in whats]
    known = [(what.lid.id, what.wood.id) if isinstance(what, Task) else ("", "") for what in whats]
    lids = lid_names([(*key, *ids) for key, ids in zip(keys, known, strict=True)])
    return [Stems(lid, proof) for lid, proof in zip(lids, file_names([(order, 1) for order, _ in keys]), strict=True)]


# --- making a unit ----------------------------------------------------------------------------------------------


def draw_unit(whats: Sequence[What], env: Env, store: KeptOrders | None = None) -> list[DrawnEntry]:
    """Make pieces that have a say in one another and draw what will be written of each.

    store: where proved geometry is kept; None: nowhere. Raises OSError where it cannot be kept.
    """
    made_of = [Entry(Piece(what.order, what.piece)) for what in whats]
    proved = proved_letterings(whats, store)
    for together in units(whats):
        some = [whats[i] for i in together]
        try:
            made = make_unit(some, env, {k: proved[i] for k, i in enumerate(together) if i in proved})
        except Exception as error:  # what goes wrong beside a piece (its group, its remedies) holds these pieces only
            says = "This piece could not be worked out"
            made = tuple(_failed(Entry(Piece(what.order, what.piece)), says, error) for what in some)
        for i, one in zip(together, made, strict=True):
            made_of[i] = one
    judged, approved = _judged(made_of, env, store)
    entries = finish(judged, env.shop.rates)  # money and sizes of what will be cut, which may be what was proved
    agreed = {what.order.id for what in whats if what.order.approved.strip()}
    drawn = [
        replace(_as_before(_drawn(one, env), one.piece.order.id in agreed, env, store), approved=approved.get(i))
        for i, one in enumerate(entries)
    ]
    drawn = _proved(_checked(drawn, env), env)
    env.measures.save()
    return drawn


def _orders_of(entries: Sequence[Entry]) -> list[list[int]]:
    """Return the places of each order's pieces."""
    orders: dict[str, list[int]] = {}
    for i, one in enumerate(entries):
        orders.setdefault(one.piece.order.id, []).append(i)
    return list(orders.values())


def _judged(entries: Sequence[Entry], env: Env, store: KeptOrders | None) -> tuple[list[Entry], dict[int, Lettering]]:
    """Hold what each buyer approved against what would be cut; return too what was approved and is no longer that."""
    out, approved = list(entries), dict[int, Lettering]()
    for places in _orders_of(entries):
        try:
            told = judge_order([entries[i] for i in places], env, store)
        except OSError:
            raise
        except Exception as error:  # what was agreed of one order cannot be made out: the others go on
            for i in places:
                if not entries[i].piece.plain:
                    out[i] = _failed(entries[i], "What its buyer approved could not be worked out", error)
            continue
        approved |= {places[k]: lettering for k, lettering in told.shown.items()}
        for i, one in zip(places, told.entries, strict=True):
            out[i] = replace(one, code=None if one.piece.plain else told.code)
    return out, approved


def _drawn(entry: Entry, env: Env) -> DrawnEntry:
    if not entry.piece.is_made:
        return DrawnEntry(entry)
    try:
        svg = lid_svg(entry.piece, env.shop)
        outline = outline_svg(entry.piece, env.shop) if env.shop.defaults.outline_in_svg == "apart" else None
        wrong = [*check_svg(svg), *(check_svg(outline) if outline else ())]
        if wrong:
            return DrawnEntry(_held(entry, "svg-not-in-form", f"The SVG did not pass its own check: {wrong[0]}"))
        return DrawnEntry(entry, svg, outline)
    except Exception as error:  # one lid that cannot be drawn must not stop the week
        return DrawnEntry(_failed(entry, "The lid could not be drawn", error))


def _proved(drawn: Sequence[DrawnEntry], env: Env) -> list[DrawnEntry]:
    """Draw one proof for each order, with all of its pieces that could be laid, under its one code."""
    out = list(drawn)
    for places in _orders_of([d.entry for d in drawn]):
        laid = [i for i in places if drawn[i].entry.piece.is_laid]
        if not laid:
            continue
        pieces = [drawn[i].entry.piece for i in laid]
        agreed = all(piece.is_made for piece in pieces)
        try:
            proof = order_proof(pieces, drawn[laid[0]].entry.code if agreed else None, env.shop, env.shelf)
        except Exception as error:  # a proof that cannot be drawn holds its order, not the week
            for i in laid:
                out[i] = DrawnEntry(_failed(drawn[i].entry, "The proof could not be drawn", error))
            continue
        for i in laid:
            out[i] = replace(drawn[i], proof=proof if i == laid[0] else None, proved=True)
    return out


def _as_before(drawn: DrawnEntry, agreed: bool, env: Env, store: KeptOrders | None) -> DrawnEntry:
    """Ask for a look at a lid that is cut again and may come out otherwise than the one that was spoiled."""
    problem = cut_otherwise(drawn.entry, agreed, store)
    if problem is None:
        return drawn
    one = drawn.entry.with_problems(problem)
    return replace(drawn, entry=one, svg=lid_svg(one.piece, env.shop) if drawn.svg is not None else None)


def _checked(drawn: Sequence[DrawnEntry], env: Env) -> list[DrawnEntry]:
    """Accept what the shop has looked at; a lid's file, which says what is still to be looked at, is written anew."""
    out = []
    looked_at = [d.entry.piece if d.entry.piece.verdict == "look" else None for d in drawn]
    geometry = [proof_code(piece) if piece is not None else None for piece in looked_at]
    for one, found in zip(drawn, with_checks([d.entry for d in drawn], geometry), strict=True):
        same = one.svg is None or found.piece.problems == one.entry.piece.problems
        out.append(replace(one, entry=found, svg=one.svg if same else lid_svg(found.piece, env.shop)))
    return out


def _held(entry: Entry, code: FindingCode, says: str, what: str | None = None) -> Entry:
    told = f"{says}. The fault is ours; please report it with this row of the orders."
    return entry.with_problems(Problem(code, "hold", told, value=what))


def _failed(entry: Entry, says: str, error: Exception) -> Entry:
    """Hold a piece for a fault of ours; what a programmer needs of it stands in week.json, not in the sentence."""
    return _held(entry, "failed", says, f"{type(error).__name__}: {error}")


def _unmade(what: What, fate: Fate) -> DrawnEntry:
    one = Entry(Piece(what.order, what.piece))
    if fate == "died":
        return DrawnEntry(_held(one, "failed", "The process that made this piece died"))
    says = (
        f"This piece was not done after {MOST_SECONDS:g} seconds, which no words should take, and was given up. Shorter "
        "words, other letters or another typeface may be quicker"
    )
    return DrawnEntry(_held(one, "took-too-long", says))


# --- putting a unit in place ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Place:
    """Where a process puts what it makes. part: how names of temporary files begin; heard: told of files to come.

    store: where proved geometry is kept.
    """

    folder: Path
    part: str
    store: KeptOrders | None = None
    heard: Callable[[Mapping[str, str]], None] | None = None


Answer = Kept | Failed


class Makers(Protocol):
    """Whoever makes units: processes of this machine, or an engine's workers."""

    def answers(self, work: Iterable[tuple[int, Unit]]) -> Iterator[tuple[int, Answer | Fate]]:
        """Yield the number and the answer of each unit as it is made, or what became of it."""
        ...


def _ready(env: Env | None, shop_folder: Path | None, place: Place) -> Callable[[tuple[int, Unit]], Answer]:
    """Return what makes units in a worker. env: the parent's tables and typefaces; None where they must be read again."""
    known = env or environment(shop_folder)
    return lambda given: make_and_put(*given, known, place)


def make_and_put(number: int, unit: Unit, env: Env, place: Place) -> Answer:
    """Make a unit, put its record and its files in place, and return what the week remembers of it."""
    try:
        drawn = draw_unit(unit.whats, env, place.store)
    except OSError as error:  # what was proved could not be kept
        return _failed_writing(error, {})
    except Exception as error:  # what goes wrong between the pieces of a unit holds this unit only
        bare = [Entry(Piece(what.order, what.piece)) for what in unit.whats]
        drawn = [DrawnEntry(_failed(one, "This piece could not be worked out", error)) for one in bare]
    return put_unit(number, unit, drawn, env, place)


def _failed_writing(error: OSError, files: Mapping[str, str]) -> Failed:
    where = error.filename if isinstance(error.filename, str) else None
    return Failed(error.errno or errno.EIO, error.strerror or str(error), where, files)


def put_unit(number: int, unit: Unit, drawn: Sequence[DrawnEntry], env: Env, place: Place) -> Answer:
    """Put a unit's record in place, and then its files: so every file of ours is known, whatever ends the run."""
    names = [_names(d, s) for d, s in zip(drawn, unit.stems, strict=True)]
    drawn = [d if w else _not_written(d, n.svg, unit.codes) for d, n, w in zip(drawn, names, unit.write, strict=True)]
    written = [files for d, n, w in zip(drawn, names, unit.write, strict=True) if w for files in _files(d, n)]
    names = [n if w else _lying(n, place.folder) for n, w in zip(names, unit.write, strict=True)]
    lasting = all(unit.write) and not any(p.code in RETRIED for d in drawn for p in d.entry.piece.problems)
    files = {name: digest_of(data) for name, data in written}
    remembered = [remember(d.entry) for d in drawn]
    told = [_told(d, n, unit, env) for d, n in zip(drawn, names, strict=True)]
    key = unit.key_in_rows if _names_rows([remembered, told], unit.whats) else unit.key
    kept = Kept(key if lasting else "", files, remembered)
    if place.heard is not None:
        place.heard(files)
    try:
        put_inside(place.folder / record_of(unit.ident), record(kept, told), place.part)
        for name, data in written:
            (place.folder / name).parent.mkdir(exist_ok=True)
            put_inside(place.folder / name, data, place.part)
    except OSError as error:
        return _failed_writing(error, files)
    return kept


def _names_rows(told: Any, whats: Sequence[What]) -> bool:
    """Tell whether anything that is said of a unit names a row of the table that it stands in."""
    rows = "|".join({str(what.order.row) for what in whats})
    return re.search(rf"\brows? (?:\d+(?:, | and ))*(?:{rows})\b", json.dumps(told)) is not None


def _told(drawn: DrawnEntry, names: Files, unit: Unit, env: Env) -> dict[str, Any]:
    """Return what the week's own files say of a piece, as plain values."""
    one, order = drawn.entry, drawn.entry.piece.order
    siblings = sum(what.order.id == order.id for what in unit.whats)
    ident = f"p{sha256(repr((order.id, one.piece.piece)).encode()).hexdigest()[:10]}"
    told = entry(
        one.piece, one.remedies, names.svg, names.proof, names.outline, one.sign, one.recut, one.code, one.letters
    )
    return {
        "entry": {**told, "row": None},  # where it stands in the table and the plan is known when these are
        "card": card_told(card(ident, one, names, env.shop, siblings, drawn.approved)),
        "bench": bench_row(one.piece, env.shop, one.code) if one.piece.is_made else None,
    }


def _may_write(what: What, stems: Stems) -> tuple[str, ...]:
    """Return the files that a piece may come to; none for what is no lettering whatever happens."""
    if not isinstance(what, Task):
        return ()
    return (*(f"{place}/{stems.lid}.svg" for place in ("lids", "not_yet", "outlines")), *_proofs(stems))


def _proofs(stems: Stems) -> tuple[str, str]:
    """Return the names of a piece's proof as a picture and as a sheet to print."""
    return f"proofs/{stems.proof}.png", f"proofs/{stems.proof}.pdf"


def _names(drawn: DrawnEntry, stems: Stems) -> Files:
    """Return where a piece's files are to lie in the week's folder.

    Only what may be cut as it stands lies in lids/.
    """
    proof = _proofs(stems)[0] if drawn.proved else None
    if drawn.svg is None:
        return Files(proof=proof)
    place = "lids" if drawn.entry.piece.may_be_cut else "not_yet"
    outline = f"outlines/{stems.lid}.svg" if drawn.outline is not None else None
    return Files(f"{place}/{stems.lid}.svg", proof, outline)


def _lying(files: Files, folder: Path) -> Files:
    """Return those of a piece's files that are there: of a piece that this run leaves out."""
    lies = [name if name and (folder / name).is_file() else None for name in (files.svg, files.proof, files.outline)]
    return Files(*lies)


def _files(drawn: DrawnEntry, names: Files) -> list[tuple[str, str | bytes]]:
    every: list[tuple[str | None, str | bytes | None]] = [(names.svg, drawn.svg), (names.outline, drawn.outline)]
    if names.proof and drawn.proof:
        every += [(names.proof, drawn.proof.png), (f"{names.proof.removesuffix('.png')}.pdf", drawn.proof.pdf)]
    return [(name, data) for name, data in every if name is not None and data is not None]


def _not_written(drawn: DrawnEntry, svg: str | None, codes: Mapping[str, str]) -> DrawnEntry:
    """Mark a piece left out by --only: its files stay as they are, and the page says if they are of another time."""
    if svg is None or codes.get(svg) == drawn.entry.code:
        return drawn
    problem = Problem(
        "not-written",
        "look",
        "Its lid was not written this time, and what lies in the folder, if anything, is of an earlier run. "
        "Run the week without --only.",
    )
    return replace(drawn, entry=drawn.entry.with_problems(problem))


def _codes(out: Path) -> dict[str, str]:
    """Return the proof codes of the lids that lie in a week's folder, by file, as its week.json lists them."""
    try:
        told = read_json(out / "week.json")
        return {p["svg"]: p["proof_code"] for p in told["pieces"] if p["svg"] and (out / p["svg"]).is_file()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


# --- the whole week ---------------------------------------------------------------------------------------------


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
                    for n in _may_write(w, s)}  # fmt: skip
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
            crew = Crew(partial(_ready, self.env if may_fork() else None, shop_folder, place), jobs, _limit)
        for number, answer in crew.answers(enumerate(self.rest)):
            unit = self.rest[number]
            if isinstance(answer, str):
                answer = put_unit(number, unit, [_unmade(what, answer) for what in unit.whats], self.env, place)
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
        told = _Told(folder.path, self.work, planned(ahead))
        cards: list[Card] = []
        rows = told.entries(cards)
        folder.stage("week.json", json_bits(week, ahead, rows, rates.currency))
        folder.stage("week.csv", csv_bits([e.piece.order for e in week.entries], told.entries()))
        lists = []
        for name, sheet in bench_sheets(week, ahead, self.env.shop, told.bench):
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
                yield from (name for name in _may_write(what, stems) if name in self.folder.known.files)


def _limit(given: tuple[int, Unit]) -> float:
    """Return the seconds that a unit may take."""
    return MOST_SECONDS + EACH_FURTHER * max(0, len(given[1].members) - 20)


class _Told:
    """What the week's files say of each piece, read from the store as they are written, in the table's order.

    plan: what the week's plan says of those that are in it, by their place in the table.
    """

    def __init__(self, folder: Path, work: Sequence[Unit], plan: Mapping[int, Mapping[str, Any]]) -> None:
        self._folder, self._plan = folder, plan
        self._where = {i: (unit.ident, k) for unit in work for k, i in enumerate(unit.members)}
        self._rows = {i: what.order.row for unit in work for i, what in zip(unit.members, unit.whats, strict=True)}
        self._read: OrderedDict[str, list[dict[str, Any]]] = OrderedDict()

    def entries(self, cards: list[Card] | None = None) -> Iterator[dict[str, Any]]:
        """Yield the entries of week.json; cards: takes up each one's card, as much of it as all can be held."""
        for i in range(len(self._where)):
            told = self._of(i)
            if cards is not None:
                cards.append(outlined(card_read(told["card"])))
            moves = {"row": self._rows[i] or None, "plan": self._plan.get(i)}  # both hang on the rest of the table
            yield {**told["entry"], **moves}

    def cards(self) -> Iterator[Card]:
        """Yield the cards in full."""
        for i in range(len(self._where)):
            yield card_read(self._of(i)["card"])

    def bench(self, i: int) -> dict[str, Any]:
        """Return what the bench list says of a piece that is in the plan."""
        return dict(self._of(i)["bench"])

    def _of(self, i: int) -> dict[str, Any]:
        unit, number = self._where[i]
        if unit not in self._read:
            try:
                self._read[unit] = told_of(self._folder, unit)
            except ValueError as error:
                raise FolderGone(errno.EIO, f"{record_of(unit)} was changed while it was read") from error
            if len(self._read) > AT_HAND:
                self._read.popitem(last=False)
        return self._read[unit][number]
