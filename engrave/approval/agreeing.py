"""Whether an order may be cut: what its buyer approved, held against what would be cut now.

The order's code stands on its proof and comes back in the column `approved`. What was kept under that code is cut, as
long as words, lid, wood, cutter and depth are as they were proved; anything else asks for a new proof.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from engrave.approval.facts import OrderFacts, differing, facts_of
from engrave.approval.kept_orders import KeptOrder, KeptOrders, code_of
from engrave.making import Env, Piece, remade
from engrave.output.svg import lid_svg, proof_code
from engrave.output.writing import MADE_WITH
from engrave.problems import NOT_APPROVED, Problem, held
from engrave.setting import Lettering
from engrave.signs import SIGNS
from engrave.tasks import Task
from engrave.week import Entry

CODE = re.compile(rf"[{SIGNS}]{{6,24}}")
"""What a code looks like, case and blanks apart."""


@dataclass(frozen=True, slots=True)
class OrderJudged:
    """An order's entries after its approval was looked at; its code, None where a piece is on hold.

    shown: for pieces whose approved geometry is another than today's, what was approved, by place in `entries`.
    """

    entries: tuple[Entry, ...]
    code: str | None
    shown: Mapping[int, Lettering]


def judge_order(entries: Sequence[Entry], env: Env, store: KeptOrders | None) -> OrderJudged:
    """Judge one order, given with all its pieces.

    store: where proved geometry is kept; None: nowhere, and only today's code is known. Raises OSError where what is
    proved cannot be kept.
    """
    lettered = [e.piece for e in entries if not e.piece.plain]
    found = [facts_of(piece) for piece in lettered]
    facts: OrderFacts = tuple(f for f in found if f is not None)
    code = None
    if lettered and len(facts) == len(lettered):
        code = _kept_code(lettered, facts, env, store)
    given = dict.fromkeys(_as_code(e.piece.order.approved) for e in entries if e.piece.order.approved.strip())
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
    return _against_kept(entries, facts if code else (), kept, code, env)


def _as_code(approved: str) -> str:
    """Return what stands in the column as codes are written: capitals, without blanks and dashes."""
    return re.sub(r"[\s\-‐-―]+", "", approved).upper()


def _kept_code(pieces: Sequence[Piece], facts: OrderFacts, env: Env, store: KeptOrders | None) -> str:
    if store is None:
        return code_of(facts)
    return store.keep(pieces, facts, [lid_svg(piece, env.shop) for piece in pieces], MADE_WITH)


def _is_earlier(approved: str, pieces: Sequence[Piece]) -> bool:
    """Tell whether a code is that of the order's only piece as earlier versions made it."""
    return len(pieces) == 1 and approved == proof_code(pieces[0])


def _unapproved(entries: Sequence[Entry], code: str | None, env: Env) -> OrderJudged:
    if env.shop.defaults.approval != "required" or code is None:
        return OrderJudged(tuple(entries), code, {})
    says = f"The buyer has not approved it yet: send the proof, and write {code} into the column approved when it comes back."
    waits = Problem(NOT_APPROVED, "note", says, "column approved", limit=code)
    return OrderJudged(tuple(e if e.piece.plain else _with(e, waits) for e in entries), code, {})


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
    return OrderJudged(tuple(e if e.piece.plain else _with(e, problem) for e in entries), code, {})


def _with(entry: Entry, problem: Problem) -> Entry:
    return replace(entry, piece=replace(entry.piece, problems=(*entry.piece.problems, problem)))


def _against_kept(
    entries: Sequence[Entry], facts: OrderFacts, kept: KeptOrder, code: str | None, env: Env
) -> OrderJudged:
    """Cut what was approved, or say what is no longer as it was."""
    places = [i for i, e in enumerate(entries) if not e.piece.plain]
    now = facts or _facts_asked([entries[i].piece for i in places])
    changed = differing(kept.facts, now) if now is not None else ("what can be cut",)
    if changed or len(kept.letterings) != len(places):
        what = " and ".join(filter(None, (", ".join(changed[:-1]), changed[-1]))) if changed else "the number of pieces"
        says = (
            f"The buyer approved {kept.code}, and since then {what} changed. Send the new proof{f', {code}' if code else ''}, "
            "or bring back what was approved."
        )
        problem = Problem("not-as-approved", "hold", says, "column approved", kept.code, code)
        shown = dict(zip(places, kept.letterings, strict=False))
        return replace(_held(entries, code, problem), shown=shown)
    out = list(entries)
    for i, lettering in zip(places, kept.letterings, strict=True):
        out[i] = _as_kept(entries[i], lettering, kept, env)
    return OrderJudged(tuple(out), kept.code, {})


def _facts_asked(pieces: Sequence[Piece]) -> OrderFacts | None:
    """Return the facts of pieces that cannot be cut as they are made today, without their geometry; None if not even so."""
    found = []
    for piece in pieces:
        if piece.task is None:
            return None
        shown = replace(piece, problems=tuple(p for p in piece.problems if p.level != "hold"))
        one = facts_of(shown)
        if one is None:
            return None
        found.append(one)
    return tuple(found)


def _as_kept(entry: Entry, lettering: Lettering, kept: KeptOrder, env: Env) -> Entry:
    """Return an entry with the approved geometry, checked anew for room, cutter and wood, timed and priced."""
    piece = entry.piece
    assert isinstance(piece.task, Task)  # only pieces with a task have facts
    again = remade(piece.task, lettering, env)
    if held(again.problems):
        return replace(entry, piece=again)
    says = (
        f"Cut as approved under {kept.code}: today's tables and typefaces would set it otherwise, by what changed since "
        f"({_since(kept)})."
    )
    noted = Problem("cut-as-approved", "note", says, "column approved", kept.code)
    return replace(entry, piece=replace(again, problems=(*again.problems, noted)), remedies=())


def _since(kept: KeptOrder) -> str:
    return (
        f"then made with {kept.made_with}" if kept.made_with != MADE_WITH else "a typeface's file, a table or a library"
    )
