"""A week of orders: every row answered, made in parallel, written so that nothing half-made or stale is ever found.

Work is handed out by units (pieces that must be made together), the results are put back in the table's order, and
only then written: so the files do not depend on how many processes there were. Only this process writes.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from engrave.headings import to_be_asked
from engrave.intake import OrdersError, read_orders
from engrave.making import Env, Piece, environment
from engrave.output.names import file_names, lid_names
from engrave.output.page import Files, week_page
from engrave.output.sheets import Proof, bench_sheet, order_proof
from engrave.output.svg import check_svg, lid_svg, outline_svg, proof_code
from engrave.output.terminal import week_summary
from engrave.output.week_folder import BENCH, WeekFolder, digest_of, opened, read_json
from engrave.output.week_tables import entry, week_csv, week_json
from engrave.problems import Problem
from engrave.shop.inputs import input_files
from engrave.signals import Interrupted
from engrave.tasks import Task, define_all
from engrave.week import Entry, Plan, Week, What, assemble, make_unit, plan, units, with_checks
from engrave.workers import Crew, Fate, may_fork

Progress = Callable[[int, int], None]

MOST_SECONDS = 120.0
"""Seconds after which the process that makes a unit is ended: the last resort, far above what any words take. It is the
one exception to 'same bytes', and needs more than one process."""


class Stopped(Exception):
    """The run ended midway: what is finished stands, and the rest can be run again. `written`: files in place."""

    def __init__(self, why: str, written: Sequence[str]) -> None:
        self.written = tuple(written)
        stands = f"{len(self.written)} files are finished and stand:" if written else "Nothing was written."
        again = "Run the same command again for the rest."
        super().__init__("\n".join([f"Stopped: {why}.", stands, *self.written, again]))


@dataclass(frozen=True, slots=True)
class DrawnEntry:
    """One entry with what will be written of it; None where there is nothing to cut. code: the proof code."""

    entry: Entry
    svg: str | None = None
    outline: str | None = None
    proof: Proof | None = None
    code: str | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """A finished week: its pieces, its plan, and the same told for people.

    written, taken_away: files of the folder; changed_by_hand: those that were moved into the folder of that name.
    """

    week: Week
    plan: Plan
    written: tuple[str, ...]
    taken_away: tuple[str, ...]
    changed_by_hand: tuple[str, ...]
    report: dict[str, Any]
    summary: str


def run_week(
    orders: Path,
    out: Path,
    *,
    shop_folder: Path | None = None,
    jobs: int | None = None,
    only: Sequence[str] = (),
    start: date | None = None,
    progress: Progress | None = None,
) -> Done:
    """Letter a table of orders into the folder `out`; see the module's page for what is promised.

    only: ids of orders whose lids are written; the others are still worked out, for the page and the sizes that
    matching pieces share. start: first working day of the plan. Raises `ShopError`, `OrdersError` and `FolderError`
    before anything is written, `Stopped` when the disk is full, the folder vanishes or the run is interrupted.
    """
    env = environment(shop_folder)
    file = read_orders(orders, env.shop.intake)
    whats = define_all(file.orders, env.shop, env.shelf.kinds(), env.shelf.refused, of_table=True)
    chosen = _chosen(whats, only)
    stems = _stems(whats)
    names = {name for i in chosen for name in _may_write(whats[i], stems[i])}
    held: list[WeekFolder] = []
    try:
        with opened(out, names, [orders, *input_files(shop_folder)]) as folder:
            held.append(folder)
            drawn = _checked(_draw_all(whats, env, shop_folder, jobs or _cores(), progress), env)
            codes = _codes(out) if only else {}
            files = [_names(d, s) for d, s in zip(drawn, stems, strict=True)]
            drawn = [d if i in chosen else _not_written(d, files[i].svg, codes) for i, d in enumerate(drawn)]
            asked = to_be_asked(file, orders, shop_folder)
            notes = env.shop.notes + tuple(env.shelf.notes) + file.problems + asked
            week = assemble([d.entry for d in drawn], env.shop.rates, notes)
            ahead = plan(week, env.shop.rates, start)
            return _write(folder, week, ahead, drawn, files, chosen, env)
    except (KeyboardInterrupt, Interrupted):
        raise Stopped("interrupted", _finished(held)) from None
    except OSError as error:
        raise Stopped(_why(error), _finished(held)) from error


def _cores() -> int:
    return os.cpu_count() or 1


def _chosen(whats: Sequence[What], only: Sequence[str]) -> set[int]:
    """Return indices of the pieces to be written: all, or those of the orders named."""
    known = {what.order.id for what in whats}
    missing = [order for order in only if order not in known]
    if missing:
        raise OrdersError(f"--only names {', '.join(missing)}, but the table has no such order")
    return {i for i, what in enumerate(whats) if not only or what.order.id in only}


# --- making -----------------------------------------------------------------------------------------------------


Draw = Callable[[Sequence[What]], list[DrawnEntry]]


def _ready(env: Env | None, shop_folder: Path | None) -> Draw:
    """Return what makes units in a worker. env: the parent's tables and typefaces; None where they must be read again."""
    known = env or environment(shop_folder)
    return lambda whats: draw_unit(whats, known)


def draw_unit(whats: Sequence[What], env: Env) -> list[DrawnEntry]:
    """Make pieces that belong together and draw what will be written of each."""
    try:
        entries = make_unit(whats, env)
    except Exception as error:  # whatever goes wrong beside a piece (its group, its remedies) holds these pieces only
        says = f"This piece could not be worked out: {type(error).__name__}: {error}"
        entries = tuple(_held(Entry(Piece(what.order, what.piece)), "failed", says) for what in whats)
    drawn = [_drawn(entry, env) for entry in entries]
    env.measures.save()
    return drawn


def _drawn(entry: Entry, env: Env) -> DrawnEntry:
    if not entry.piece.is_laid:
        return DrawnEntry(entry)
    try:
        if not entry.piece.is_made:
            return DrawnEntry(entry, proof=order_proof([entry.piece], None, env.shop, env.shelf))
        code = proof_code(entry.piece)
        entry = _compared(entry, code)
        svg = lid_svg(entry.piece, env.shop)
        outline = outline_svg(entry.piece, env.shop) if env.shop.defaults.outline_in_svg == "apart" else None
        wrong = [*check_svg(svg), *(check_svg(outline) if outline else ())]
        if wrong:
            return DrawnEntry(_held(entry, "svg-not-in-form", f"The SVG did not pass its own check: {wrong[0]}"))
        return DrawnEntry(entry, svg, outline, order_proof([entry.piece], code, env.shop, env.shelf), code)
    except Exception as error:  # one lid that cannot be drawn must not stop the week
        return DrawnEntry(_held(entry, "failed", f"The lid could not be drawn: {type(error).__name__}: {error}"))


def _compared(entry: Entry, code: str | None) -> Entry:
    """Ask for a look if the buyer approved another picture than the one that would now be cut."""
    approved = entry.piece.order.approved.strip().upper()
    if not approved or approved == code:
        return entry
    says = (
        f"The buyer approved proof {approved}, but what would be cut now is {code}: the words, the lid, the wood, the tool or "
        "a table has changed since. Send the new proof, or bring back what was approved."
    )
    return _with_problem(entry, Problem("not-as-approved", "look", says, "column approved", approved, code))


def _checked(drawn: Sequence[DrawnEntry], env: Env) -> list[DrawnEntry]:
    """Accept what the shop has looked at; a lid's file, which says what is still to be looked at, is written anew."""
    out = []
    for one, found in zip(drawn, with_checks([d.entry for d in drawn], [d.code for d in drawn]), strict=True):
        same = one.svg is None or found.piece.problems == one.entry.piece.problems
        out.append(replace(one, entry=found, svg=one.svg if same else lid_svg(found.piece, env.shop)))
    return out


def _with_problem(entry: Entry, problem: Problem) -> Entry:
    return replace(entry, piece=replace(entry.piece, problems=(*entry.piece.problems, problem)))


def _held(entry: Entry, code: str, says: str) -> Entry:
    problem = Problem(code, "hold", f"{says}. The fault is ours; please report it with this row of the orders.")
    return _with_problem(entry, problem)


def _draw_all(
    whats: Sequence[What], env: Env, shop_folder: Path | None, jobs: int, progress: Progress | None
) -> list[DrawnEntry]:
    """Make every unit, in this process or in several, and return the results in the table's order."""
    work = units(whats)
    results: list[DrawnEntry | None] = [None] * len(whats)
    done = 0
    for number, drawn in _made([[whats[i] for i in unit] for unit in work], env, shop_folder, jobs):
        for i, one in zip(work[number], drawn, strict=True):
            results[i] = one
        done += len(drawn)
        if progress:
            progress(done, len(whats))
    return [d for d in results if d is not None]


def _made(
    work: Sequence[Sequence[What]], env: Env, shop_folder: Path | None, jobs: int
) -> Iterator[tuple[int, list[DrawnEntry]]]:
    """Yield the number of each unit with what was made of it, as they are done, over as many processes as asked."""
    if min(jobs, len(work)) <= 1:
        yield from ((number, draw_unit(unit, env)) for number, unit in enumerate(work))
        return
    forked = may_fork()  # then a worker has the parent's tables as they are
    crew = Crew[Sequence[What], "list[DrawnEntry]"](
        partial(_ready, env if forked else None, shop_folder), min(jobs, len(work)), MOST_SECONDS
    )
    for number, answer in crew.answers(work):
        yield number, answer if isinstance(answer, list) else [_unmade(what, answer) for what in work[number]]


def _unmade(what: What, fate: Fate) -> DrawnEntry:
    entry = Entry(Piece(what.order, what.piece))
    if fate == "died":
        return DrawnEntry(_held(entry, "failed", "The process that made this piece died"))
    says = (
        f"This piece was not done after {MOST_SECONDS:g} seconds, which no words should take, and was given up. Shorter "
        "words, other letters or another typeface may be quicker"
    )
    return DrawnEntry(_held(entry, "took-too-long", says))


# --- writing ----------------------------------------------------------------------------------------------------


def _finished(held: Iterable[WeekFolder]) -> tuple[str, ...]:
    return tuple(name for folder in held for name in folder.finished())


def _why(error: OSError) -> str:
    """Return what the system says, with the file it says it of."""
    says = error.strerror or str(error)
    return f"{says} ({error.filename})" if isinstance(error.filename, str) else says


@dataclass(frozen=True, slots=True)
class Stems:
    """How a piece's files are named, without folder and ending: its lid's and its outline's, and its proof's."""

    lid: str
    proof: str


def _stems(whats: Sequence[What]) -> list[Stems]:
    keys = [(what.order.id, what.piece) for what in whats]
    known = [(what.lid.id, what.wood.id) if isinstance(what, Task) else ("", "") for what in whats]
    lids = lid_names([(*key, *ids) for key, ids in zip(keys, known, strict=True)])
    return [Stems(lid, proof) for lid, proof in zip(lids, file_names(keys), strict=True)]


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
    proof = _proofs(stems)[0] if drawn.proof is not None else None
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
    if svg is None or codes.get(svg) == drawn.code:
        return drawn
    problem = Problem(
        "not-written",
        "look",
        "Its lid was not written this time, and what lies in the folder, if anything, is of an earlier run. "
        "Run the week without --only.",
    )
    return replace(drawn, entry=_with_problem(drawn.entry, problem))


def _codes(out: Path) -> dict[str, str]:
    """Return the proof codes of the lids that lie in a week's folder, by file, as its week.json lists them."""
    try:
        told = read_json(out / "week.json")
        return {p["svg"]: p["proof_code"] for p in told["pieces"] if p["svg"] and (out / p["svg"]).is_file()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _pages(week: Week, ahead: Plan, names: Sequence[Files], env: Env) -> list[tuple[str, str]]:
    """Return the week's own files; week.json last, because it lists what lies in the folder."""
    told = [
        entry(e.piece, e.remedies, n.svg, n.proof, n.outline, e.sign) for e, n in zip(week.entries, names, strict=True)
    ]
    return [
        ("week.html", week_page(week, env.shop, names, ahead)),
        ("week.csv", week_csv(week, told)),
        ("week.json", week_json(week, told, env.shop.rates.currency)),
    ]


def _write(
    folder: WeekFolder,
    week: Week,
    ahead: Plan,
    drawn: Sequence[DrawnEntry],
    names: Sequence[Files],
    chosen: Collection[int],
    env: Env,
) -> Done:
    """Put every file in place, take away what is no longer made, and list the lot in week.json at the end."""
    files: dict[str, str | bytes] = {name: data for i in sorted(chosen) for name, data in _files(drawn[i], names[i])}
    files[BENCH] = bench_sheet(week, ahead, env.shop)
    keep = {name for i, d in enumerate(drawn) if i not in chosen for name, _ in _files(d, names[i])}
    names = [n if i in chosen else _lying(n, folder.path) for i, n in enumerate(names)]
    pages = _pages(week, ahead, names, env)
    every = {**files, **dict(pages)}
    folder.begin({name: digest_of(data) for name, data in every.items()}, keep)
    for name, data in files.items():
        folder.put(name, data)
    gone = folder.take_away({*files, *keep})
    folder.sync()
    for name, text in pages:
        folder.put(name, text)
    folder.end(keep)
    summary = week_summary(week, ahead, folder.path, env.shop, gone, folder.moved)
    return Done(week, ahead, tuple(every), gone, tuple(folder.moved), json.loads(pages[-1][1]), summary)
