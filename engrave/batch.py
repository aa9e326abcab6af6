"""A week of orders: every row answered, made in parallel, written so that nothing half-made or stale is ever found.

Work is handed out by units (pieces that must be made together), the results are put back in the table's order, and
only then written: so the files do not depend on how many processes there were. Only this process writes.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from engrave.intake import OrdersError, read_orders
from engrave.making import Env, Piece, environment
from engrave.output.names import file_names
from engrave.output.page import Files, week_page
from engrave.output.sheets import proof_png
from engrave.output.svg import check_svg, lid_svg, outline_svg, proof_code
from engrave.output.terminal import week_summary
from engrave.output.week_tables import entry, week_csv, week_json
from engrave.output.writing import begin, put, take_away
from engrave.problems import Problem
from engrave.tasks import define_all
from engrave.week import Entry, Plan, Week, What, assemble, make_unit, plan, units

Progress = Callable[[int, int], None]


class Stopped(Exception):
    """The run ended midway: what is finished stands, and the rest can be run again. `written`: files in place."""

    def __init__(self, why: str, written: Sequence[str]) -> None:
        self.written = tuple(written)
        lines = [f"Stopped: {why}.", f"{len(self.written)} files are finished and stand:", *self.written]
        super().__init__("\n".join([*lines, "Run the same command again for the rest."]))


@dataclass(frozen=True, slots=True)
class Drawn:
    """One entry with what will be written of it; None where there is nothing to cut. code: the proof code."""

    entry: Entry
    svg: str | None = None
    outline: str | None = None
    proof: bytes | None = None
    code: str | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """A finished week: its pieces, its plan, what was written and taken away, and the same told for people."""

    week: Week
    plan: Plan
    written: tuple[str, ...]
    taken_away: tuple[str, ...]
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
    matching pieces share. start: first working day of the plan. Raises `ShopError` and `OrdersError` before anything
    is written, `Stopped` when the disk is full or the run is interrupted.
    """
    env = environment(shop_folder)
    file = read_orders(orders, env.shop.intake)
    whats = define_all(file.orders, env.shop, env.shelf.kinds(), env.shelf.refused)
    chosen = _chosen(whats, only)

    try:
        drawn = _draw_all(whats, env, shop_folder, jobs or _cores(), progress)
    except KeyboardInterrupt:
        raise Stopped("interrupted before anything was written", ()) from None
    stems = file_names([(d.entry.piece.order.id, d.entry.piece.piece) for d in drawn])
    codes = _codes(out) if only else {}
    drawn = [d if i in chosen else _not_written(d, stems[i], codes) for i, d in enumerate(drawn)]
    week = assemble([d.entry for d in drawn], env.shop.rates, env.shop.notes + tuple(env.shelf.notes) + file.problems)
    ahead = plan(week, env.shop.rates, start)

    files = {name: data for i in sorted(chosen) for name, data in _files(drawn[i], stems[i])}
    keep = {name for i, d in enumerate(drawn) if i not in chosen for name, _ in _files(d, stems[i])}
    names = [_names(d, stem) for d, stem in zip(drawn, stems, strict=True)]
    pages = _pages(week, ahead, names, env)
    written, gone = _write(out, files, keep, pages)
    return Done(week, ahead, written, gone, json.loads(pages[-1][1]), week_summary(week, ahead, out, env.shop))


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


_env: Env | None = None
"""Tables and typefaces of a worker process, read once when it starts."""


def _begin_worker(shop_folder: Path | None) -> None:
    global _env
    _env = environment(shop_folder)


def _in_worker(whats: Sequence[What]) -> list[Drawn]:
    assert _env is not None  # set by _begin_worker before any work comes
    return draw_unit(whats, _env)


def draw_unit(whats: Sequence[What], env: Env) -> list[Drawn]:
    """Make pieces that belong together and draw what will be written of each."""
    try:
        entries = make_unit(whats, env)
    except Exception as error:  # whatever goes wrong beside a piece (its group, its remedies) holds these pieces only
        says = f"This piece could not be worked out: {type(error).__name__}: {error}"
        entries = tuple(_held(Entry(Piece(what.order, what.piece)), "failed", says) for what in whats)
    return [_drawn(entry, env) for entry in entries]


def _drawn(entry: Entry, env: Env) -> Drawn:
    if not entry.piece.is_made:
        return Drawn(entry)
    try:
        svg = lid_svg(entry.piece, env.shop)
        outline = outline_svg(entry.piece, env.shop) if env.shop.defaults.outline_in_svg == "apart" else None
        wrong = [*check_svg(svg), *(check_svg(outline) if outline else ())]
        if wrong:
            return Drawn(_held(entry, "svg-not-in-form", f"The SVG did not pass its own check: {wrong[0]}"))
        code = proof_code(entry.piece)
        entry = _compared(entry, code)
        return Drawn(entry, svg, outline, proof_png(entry.piece, env.shelf, env.shop.name), code)
    except Exception as error:  # one lid that cannot be drawn must not stop the week
        return Drawn(_held(entry, "failed", f"The lid could not be drawn: {type(error).__name__}: {error}"))


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


def _with_problem(entry: Entry, problem: Problem) -> Entry:
    return replace(entry, piece=replace(entry.piece, problems=(*entry.piece.problems, problem)))


def _held(entry: Entry, code: str, says: str) -> Entry:
    problem = Problem(code, "hold", f"{says}. The fault is ours; please report it with this row of the orders.")
    return _with_problem(entry, problem)


def _draw_all(
    whats: Sequence[What], env: Env, shop_folder: Path | None, jobs: int, progress: Progress | None
) -> list[Drawn]:
    """Make every unit, in this process or in several, and return the results in the table's order."""
    work = units(whats)
    results: list[Drawn | None] = [None] * len(whats)
    done = 0
    with _mapped(min(jobs, len(work)), env, shop_folder) as mapped:
        for unit, drawn in zip(work, mapped([[whats[i] for i in unit] for unit in work]), strict=True):
            for i, one in zip(unit, drawn, strict=True):
                results[i] = one
            done += len(unit)
            if progress:
                progress(done, len(whats))
    return [d for d in results if d is not None]


Mapped = Callable[[Sequence[Sequence[What]]], Iterator[list[Drawn]]]


@contextmanager
def _mapped(jobs: int, env: Env, shop_folder: Path | None) -> Iterator[Mapped]:
    """Yield a function that makes units and gives results in the same order, over as many processes as asked."""
    if jobs <= 1:
        yield lambda work: iter([draw_unit(unit, env) for unit in work])
        return
    with ProcessPoolExecutor(jobs, initializer=_begin_worker, initargs=(shop_folder,)) as pool:
        try:
            yield lambda work: _answers(pool, work, shop_folder)
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


def _answers(
    pool: ProcessPoolExecutor, work: Sequence[Sequence[What]], shop_folder: Path | None
) -> Iterator[list[Drawn]]:
    """Yield the results in the order of the work. If a process dies, the rest are made each in one of its own, so
    that only the unit that kills its process is held."""
    asked = [pool.submit(_in_worker, unit) for unit in work]
    for unit, future in zip(work, asked, strict=True):
        try:
            yield future.result()
        except BrokenProcessPool:
            yield _apart(unit, shop_folder)


def _apart(unit: Sequence[What], shop_folder: Path | None) -> list[Drawn]:
    with ProcessPoolExecutor(1, initializer=_begin_worker, initargs=(shop_folder,)) as pool:
        try:
            return pool.submit(_in_worker, unit).result()
        except BrokenProcessPool:
            held = [Entry(Piece(what.order, what.piece)) for what in unit]
            return [Drawn(_held(entry, "failed", "The process that made this piece died")) for entry in held]


# --- writing ----------------------------------------------------------------------------------------------------


def _names(drawn: Drawn, stem: str) -> Files:
    """Return where a piece's files lie in the week's folder, as week.json names them."""
    return Files(f"lids/{stem}.svg", f"proofs/{stem}.png") if drawn.svg is not None else Files()


def _files(drawn: Drawn, stem: str) -> list[tuple[str, str | bytes]]:
    every = (
        (f"lids/{stem}.svg", drawn.svg),
        (f"outlines/{stem}.svg", drawn.outline),
        (f"proofs/{stem}.png", drawn.proof),
    )
    return [(name, data) for name, data in every if data is not None]


def _not_written(drawn: Drawn, stem: str, codes: Mapping[str, str]) -> Drawn:
    """Mark a piece left out by --only: its files stay as they are, and the page says if they are of another time."""
    if drawn.svg is None or codes.get(f"lids/{stem}.svg") == drawn.code:
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
        told = json.loads((out / "week.json").read_text("utf-8"))
        return {p["svg"]: p["proof_code"] for p in told["pieces"] if p["svg"] and (out / p["svg"]).is_file()}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def _pages(week: Week, ahead: Plan, names: Sequence[Files], env: Env) -> list[tuple[str, str]]:
    """Return the week's own files; week.json last, because it lists what lies in the folder."""
    told = [entry(e.piece, e.remedies, n.svg, n.proof) for e, n in zip(week.entries, names, strict=True)]
    return [
        ("week.html", week_page(week, env.shop, names, ahead)),
        ("week.csv", week_csv(week, told)),
        ("week.json", week_json(week, told, env.shop.rates.currency)),
    ]


def _write(
    out: Path, files: dict[str, str | bytes], keep: set[str], pages: list[tuple[str, str]]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Put every file in place, take away what is no longer made, and list the lot in week.json at the end."""
    written: list[str] = []
    gone: tuple[str, ...] = ()
    try:
        begin(out, [*files, *keep])
        for name, data in files.items():
            put(out / name, data)
            written.append(name)
        gone = take_away(out, {*files, *keep})
        for name, text in pages:
            put(out / name, text)
            written.append(name)
    except KeyboardInterrupt:
        raise Stopped("interrupted", written) from None
    except OSError as error:
        raise Stopped(error.strerror or str(error), written) from error
    return tuple(written), gone
