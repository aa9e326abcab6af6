"""Whether an order may be cut: what its buyer approved, held against what would be cut now.

The order's code stands on its proof and comes back in the column `approved`. What was kept under that code is cut, as
long as words, lid, wood, cutter and depth are as they were proved; anything else asks for a new proof.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from engrave.approval.facts import OrderFacts, asked_of, differing, facts_of, order_digest
from engrave.approval.kept_orders import CODE, KeptOrder, KeptOrders, as_code, code_of
from engrave.intake.order import Order
from engrave.making import Env, Piece, remade
from engrave.output import svg
from engrave.output.writing import MADE_WITH
from engrave.problems import NOT_APPROVED, Problem, held
from engrave.setting import Lettering
from engrave.tasks import Plain, Task
from engrave.week import Entry, What


@dataclass(frozen=True, slots=True)
class OrderJudged:
    """An order's entries after its approval was looked at; its code, None where a piece is on hold.

    shown: for pieces whose approved geometry is another than today's, what was approved, by place in `entries`.
    drawn: files of lids that were drawn to be kept, by place, each with the piece that it was drawn of.
    """

    entries: tuple[Entry, ...]
    code: str | None
    shown: Mapping[int, Lettering]
    drawn: Mapping[int, tuple[Piece, str]] = field(default_factory=dict)


def proved_letterings(whats: Sequence[What], store: KeptOrders | None) -> dict[int, Lettering | None]:
    """Return what was proved of pieces that are to be cut so again, by place in `whats`: approved, or cut and spoiled.

    whats: whole orders. None for pieces that their approval will hold, whatever they come to: those bind nobody.
    """
    found: dict[int, Lettering | None] = {}
    orders: dict[str, list[int]] = {}
    for i, what in enumerate(whats):
        orders.setdefault(what.order.id, []).append(i)
    for members in orders.values():
        given = _given(whats[i].order for i in members)
        places = [i for i in members if not isinstance(whats[i], Plain)]
        asked = [what for i in places if isinstance(what := whats[i], Task)]
        whole = len(asked) == len(places)
        kept = _kept_of(asked, given, store)
        changed = kept is not None and bool(_changed(kept, asked))
        if given and (not whole or len(given) > 1 or not CODE.fullmatch(given[0]) or changed):
            found |= dict.fromkeys(places)
        elif kept is not None and whole and not changed:
            found |= dict(zip(places, kept.letterings, strict=True))
    return found


def _given(orders: Iterable[Order]) -> tuple[str, ...]:
    """Return what the rows of an order name as approved, each once."""
    return tuple(dict.fromkeys(as_code(order.approved) for order in orders if order.approved.strip()))


def _kept_of(asked: Sequence[Task], given: Sequence[str], store: KeptOrders | None) -> KeptOrder | None:
    """Return what is kept under the one code that an order names: of the buyer's yes, or of a lid that was spoiled."""
    codes = set(given) or {task.order.recut_was for task in asked if task.order.recut_was}
    if store is None or len(codes) != 1:
        return None
    (code,) = codes
    return store.find(code) if CODE.fullmatch(code) else None


def _changed(kept: KeptOrder, asked: Sequence[Task]) -> tuple[str, ...]:
    """Return in words what of the agreed things is no longer as it was kept."""
    return differing(kept.facts, [asked_of(task) for task in asked])


def judge_order(entries: Sequence[Entry], env: Env, store: KeptOrders | None) -> OrderJudged:
    """Judge one order, given with all its pieces.

    store: where proved geometry is kept; None: nowhere, and only today's code is known. Raises OSError where what is
    proved cannot be kept.
    """
    entries = _as_spoiled(entries, env, store)
    places = [i for i, e in enumerate(entries) if not e.piece.plain]
    lettered = [entries[i].piece for i in places]
    found = [facts_of(piece) for piece in lettered]
    facts: OrderFacts = tuple(f for f in found if f is not None)
    code = None
    if lettered and len(facts) == len(lettered):
        code = store.code_for(order_digest(facts)) if store is not None else code_of(facts)
    told = _judged(entries, lettered, code, env, store)
    if store is not None and code is not None and told.code == code:  # a code that nobody is told keeps nothing
        files: list[str] = []

        def drawn() -> Sequence[str]:
            files.extend(svg.lid_svg(piece, env.shop) for piece in lettered)
            return files

        store.keep(lettered, facts, drawn, MADE_WITH)
        told = replace(told, drawn=dict(zip(places, zip(lettered, files, strict=False), strict=False)))
    return told


def _judged(
    entries: Sequence[Entry], lettered: Sequence[Piece], code: str | None, env: Env, store: KeptOrders | None
) -> OrderJudged:
    """Judge an order that would be cut today under this code; None where anything of it is held."""
    given = _given(e.piece.order for e in entries)
    if not given:
        return _unapproved(entries, code, env)
    if len(given) > 1:
        says = f"The rows of this order name different proofs ({', '.join(given)}). Write one code into all of them."
        return _held(entries, code, Problem("approved-differs", "hold", says, "column approved"))
    (approved,) = given
    if code is not None and (approved == code or _is_earlier(approved, lettered)):
        return OrderJudged(tuple(entries), code, {})
    kept = store.find(approved) if store is not None and CODE.fullmatch(approved) else None
    if kept is None:
        return _held(entries, code, _unknown(approved, code))
    return _against_kept(entries, kept, code, env)


def _is_earlier(approved: str, pieces: Sequence[Piece]) -> bool:
    """Tell whether a code is that of the order's only piece as earlier versions made it."""
    return len(pieces) == 1 and approved == svg.proof_code(pieces[0])


def _unapproved(entries: Sequence[Entry], code: str | None, env: Env) -> OrderJudged:
    if env.shop.defaults.approval != "required" or code is None:
        return OrderJudged(tuple(entries), code, {})
    says = f"The buyer has not approved it yet: send the proof, and write {code} into the column approved when it comes back."
    waits = Problem(NOT_APPROVED, "note", says, "column approved", limit=code)
    return OrderJudged(tuple(e if e.piece.plain else e.with_problems(waits) for e in entries), code, {})


def _unknown(approved: str, code: str | None) -> Problem:
    now = f" What would be cut now is {code}." if code else ""
    if CODE.fullmatch(approved):
        says = f"No proof is kept under {approved}.{now} Make the proof again and send it, or correct the code."
        return Problem("approved-unknown", "hold", says, "column approved", approved, code)
    says = (
        f"‘{approved}’ does not say what the buyer approved: here belongs the code that stands on the proof, as 4F8G6M."
        f"{now}"
    )
    return Problem("approved-no-code", "hold", says, "column approved", approved, code)


def _held(entries: Sequence[Entry], code: str | None, problem: Problem) -> OrderJudged:
    return OrderJudged(tuple(e if e.piece.plain else e.with_problems(problem) for e in entries), code, {})


def _against_kept(entries: Sequence[Entry], kept: KeptOrder, code: str | None, env: Env) -> OrderJudged:
    """Cut what was approved, or say what is no longer as it was."""
    places = [i for i, e in enumerate(entries) if not e.piece.plain]
    asked = [task for i in places if (task := entries[i].piece.task) is not None]
    changed = _changed(kept, asked) if len(asked) == len(places) else ("what can be cut",)
    if changed:
        what = " and ".join(filter(None, (", ".join(changed[:-1]), changed[-1])))
        says = (
            f"The buyer approved {kept.code}, and since then {what} changed. Send the new proof{f', {code}' if code else ''}, "
            "or bring back what was approved."
        )
        problem = Problem("not-as-approved", "hold", says, "column approved", kept.code, code)
        shown = dict(zip(places, kept.letterings, strict=False))
        return replace(_held(entries, code, problem), shown=shown)
    out = list(entries)
    says = f"Cut as approved under {kept.code}: {_otherwise(kept)}"
    noted = Problem("cut-as-approved", "note", says, "column approved", kept.code)
    for i, lettering in zip(places, kept.letterings, strict=True):
        out[i] = _as_kept(entries[i], lettering, noted, env)
    return OrderJudged(tuple(out), kept.code, {})


def _as_spoiled(entries: Sequence[Entry], env: Env, store: KeptOrders | None) -> tuple[Entry, ...]:
    """Return an order of which lids are cut again with the geometry that was cut, where all that was agreed is as it was.

    What the buyer approved goes before it: that is judged later.
    """
    lettered = [i for i, e in enumerate(entries) if not e.piece.plain]
    asked = [task for i in lettered if (task := entries[i].piece.task) is not None]
    if any(e.piece.order.approved.strip() for e in entries) or len(asked) < len(lettered):
        return tuple(entries)
    kept = _kept_of(asked, (), store)
    if kept is None or _changed(kept, asked):
        return tuple(entries)
    out = list(entries)
    says = f"Cut again as it was cut under {kept.code}: {_otherwise(kept)}"
    noted = Problem("cut-as-before", "note", says, "column recut", kept.code)
    for i, lettering in zip(lettered, kept.letterings, strict=True):
        if out[i].piece.lettering != lettering or not out[i].piece.is_made:
            out[i] = _as_kept(out[i], lettering, noted, env)
    return tuple(out)


def _as_kept(entry: Entry, lettering: Lettering, noted: Problem, env: Env) -> Entry:
    """Return an entry with geometry that was proved, checked anew for room, cutter and wood, timed and priced."""
    piece = entry.piece
    assert isinstance(piece.task, Task)  # only pieces with a task can be as they were
    again = remade(piece.task, lettering, env)
    if held(again.problems):
        return replace(entry, piece=again)
    return replace(entry, piece=replace(again, problems=(*again.problems, noted)), remedies=())


def _otherwise(kept: KeptOrder) -> str:
    return f"today's tables and typefaces would set it otherwise, by what changed since ({_since(kept)})."


def _since(kept: KeptOrder) -> str:
    return (
        f"then made with {kept.made_with}" if kept.made_with != MADE_WITH else "a typeface's file, a table or a library"
    )
