"""What a batch says when it is done: the counts, what is on hold, where to look, and the week's cautions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from engrave.findings import SAVERS
from engrave.output.bench_cautions import ABOVE_ALL, cautions
from engrave.output.numbers import count, day, in_shop_units, money
from engrave.output.page import again_told, cutter_changes, promises
from engrave.output.week_folder import BY_HAND
from engrave.shop.models import Shop
from engrave.units import duration
from engrave.week.totals import lids_of, progress

if TYPE_CHECKING:
    from engrave.week import Entry, Plan, Week

PIECES_SHOWN = 12
"""Pieces named one by one; the page names them all."""


def week_summary(
    week: Week, ahead: Plan, out: Path, shop: Shop, gone: Sequence[str] = (), moved: Sequence[str] = ()
) -> str:
    """Return the week in a few lines for a terminal. gone, moved: see `folder_lines`."""
    t = week.totals
    found = lids_of(e.piece for e in week.entries)
    shared = sum(s for _, s in week.shared)
    lines = [
        f"{count(found.total(), 'lid')} from {count(t.orders, 'order')}: {found['ready']} ready, "
        f"{found['look']} to look at, {found['hold']} on hold{_waiting(found['waiting'])}.",
        f"Machine {duration(t.machine_seconds)}; hands {duration(t.hand_seconds)} and {duration(shared)} for the week; "
        f"price {money(t.price, shop.rates.currency, shop.rates.locale)}.",
        *(
            [f"Cut again: {count(t.recut.lids, 'lid')}, {again_told(t.recut, shop)}."]
            if t.recut.machine_seconds
            else []
        ),
        *_plan(ahead, week, shop),
        *_unfinished(week),
        *(f"{p.level.capitalize()}: {in_shop_units(p.says, shop)}" for p in week.notes if p.code not in SAVERS),
    ]
    for verdict, title in (("hold", "On hold:"), ("look", "To look at:")):
        told = Counter(_named(e, verdict, shop) for e in week.entries if e.piece.verdict == verdict)
        named = [says + (f" ({times} pieces)" if times > 1 else "") for says, times in told.items()]
        if named:
            lines += ["", title, *named[:PIECES_SHOWN]]
            if len(named) > PIECES_SHOWN:
                lines.append(f"  and {len(named) - PIECES_SHOWN} more, on the page")
    savers = sum(p.code in SAVERS for p in week.notes)
    if savers:
        lines += ["", f"How time could be saved: {count(savers, 'note')} on the page."]
    if cautions(e.piece for e in week.entries):
        lines += [
            "",
            f"Before you cut: {ABOVE_ALL} Cautions for these lids stand at the head of bench.pdf and on the page.",
        ]
    lines += folder_lines(gone, moved)
    page, bench = (_shown(out / name) for name in ("week.html", "bench.pdf"))
    return "\n".join([*lines, "", f"All of it: {page}; for the bench, on paper: {bench}"])


def _shown(path: Path) -> str:
    """Return a path as text that any screen takes: a folder's name may hold bytes that are no letters."""
    return str(path).encode("utf-8", "backslashreplace").decode()


def _waiting(many: int) -> str:
    return f", {many} waiting for the buyer's yes" if many else ""


def folder_lines(gone: Sequence[str], moved: Sequence[str]) -> list[str]:
    """Return what became of an earlier run's files. gone: no longer made and taken away; moved: changed by hand, and
    moved into a folder of that name so that nothing is lost."""
    told = []
    if gone:
        told += ["", f"Taken away, because no longer made: {_some(gone)}."]
    if moved:
        told += ["", f"Changed by hand since the last run, and moved into {BY_HAND}/: {_some(moved)}."]
    return told


def _some(names: Sequence[str]) -> str:
    more = f" and {len(names) - PIECES_SHOWN} more" if len(names) > PIECES_SHOWN else ""
    return ", ".join(names[:PIECES_SHOWN]) + more


def _named(entry: Entry, verdict: str, shop: Shop) -> str:
    """Return what is wrong with a piece in a line, and the first thing that helps in another."""
    piece = entry.piece
    says = next((p.says for p in piece.problems if p.level == verdict), "")
    words = " ".join(piece.order.words.name.split()) or " ".join(piece.order.words.message.split())
    words = words if len(words) <= 30 else words[:29] + "…"
    helps = f"\n    would help: {entry.remedies[0].says}." if entry.remedies else ""
    sign = (
        f"\n    right as it is: write {entry.sign} into the column checked." if entry.sign and verdict == "look" else ""
    )
    told = f"{in_shop_units(f'{says}{helps}', shop)}{sign}"
    return f"  {piece.order.id} {words}: {told}" if words else f"  {piece.order.id}: {told}"


def _plan(ahead: Plan, week: Week, shop: Shop) -> list[str]:
    if not ahead.steps:
        return []
    last = ahead.days[-1]
    when = day(last.on, shop.rates.locale) if last.on else f"day {last.day + 1}"
    told = [f"The last lid is done on {when}, with {cutter_changes(ahead)}."]
    kept = promises(ahead, week, shop)
    return [*told, kept + (" The page says which." if ahead.late else "")] if kept else told


def _unfinished(week: Week) -> list[str]:
    """Return how far orders of several lids are, of which some are on hold."""
    some = [(order, made, of) for order, (made, of) in progress(week).items() if of > 1 and made < of]
    told = [f"{order} ({made} of {of} pieces ready)" for order, made, of in some[:PIECES_SHOWN]]
    more = [f"{len(some) - PIECES_SHOWN} more"] if len(some) > PIECES_SHOWN else []
    return [f"Orders with a lid on hold: {', '.join([*told, *more])}."] if some else []
