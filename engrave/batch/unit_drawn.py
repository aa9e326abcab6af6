"""One unit made and drawn: its pieces through all stages, judged, and each lid, outline and proof as it will be written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from engrave.approval import KeptOrders, cut_otherwise, judge_order, proved_letterings
from engrave.batch.work_units import Unit
from engrave.findings import FindingCode
from engrave.making import Env, Piece
from engrave.output.sheets import Proof, order_proof
from engrave.output.svg import check_svg, lid_svg, outline_svg, proof_code
from engrave.problems import Problem
from engrave.setting import Lettering
from engrave.week import (
    Entry,
    What,
    finish,
    make_unit,
    units,
    with_checks,
)
from engrave.workers import Fate

MOST_SECONDS = 120.0
"""Seconds after which the process that makes a unit is ended: the last resort, far above what any words take. It is the
one exception to 'same bytes', and needs more than one process."""

EACH_FURTHER = 6.0
"""Seconds that a unit gets beyond that for each piece beyond twenty: an order may be of hundreds."""


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
            made = tuple(failed_entry(Entry(Piece(what.order, what.piece)), says, error) for what in some)
        for i, one in zip(together, made, strict=True):
            made_of[i] = one
    judged = _judged(made_of, env, store)
    # money and sizes of what will be cut, which may be what was proved
    entries = finish(judged.entries, env.shop.rates)
    agreed = {what.order.id for what in whats if what.order.approved.strip()}
    drawn = [
        replace(
            _as_before(_drawn(one, env, judged.drawn.get(i)), one.piece.order.id in agreed, env, store),
            approved=judged.shown.get(i),
        )
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


@dataclass(frozen=True, slots=True)
class _UnitJudged:
    """A unit's entries after what their buyers approved was looked at; shown, drawn: see `OrderJudged`."""

    entries: list[Entry]
    shown: dict[int, Lettering]
    drawn: dict[int, tuple[Piece, str]]


def _judged(entries: Sequence[Entry], env: Env, store: KeptOrders | None) -> _UnitJudged:
    """Hold what each buyer approved against what would be cut."""
    found = _UnitJudged(list(entries), {}, {})
    for places in _orders_of(entries):
        try:
            told = judge_order([entries[i] for i in places], env, store)
        except OSError:
            raise
        except Exception as error:  # what was agreed of one order cannot be made out: the others go on
            for i in places:
                if not entries[i].piece.plain:
                    found.entries[i] = failed_entry(
                        entries[i], "What its buyer approved could not be worked out", error
                    )
            continue
        found.shown.update({places[k]: lettering for k, lettering in told.shown.items()})
        found.drawn.update({places[k]: file for k, file in told.drawn.items()})
        for i, one in zip(places, told.entries, strict=True):
            found.entries[i] = replace(one, code=None if one.piece.plain else told.code)
    return found


def _drawn(entry: Entry, env: Env, kept: tuple[Piece, str] | None) -> DrawnEntry:
    """Draw a lid, and check its file. kept: a piece that was drawn to be kept, and its file: that of the same lid is this."""
    if not entry.piece.is_made:
        return DrawnEntry(entry)
    try:
        svg = kept[1] if kept and _same_lid(kept[0], entry.piece) else lid_svg(entry.piece, env.shop)
        outline = outline_svg(entry.piece, env.shop) if env.shop.defaults.outline_in_svg == "apart" else None
        wrong = [*check_svg(svg), *(check_svg(outline) if outline else ())]
        if wrong:
            return DrawnEntry(_held(entry, "svg-not-in-form", f"The SVG did not pass its own check: {wrong[0]}"))
        return DrawnEntry(entry, svg, outline)
    except Exception as error:  # one lid that cannot be drawn must not stop the week
        return DrawnEntry(failed_entry(entry, "The lid could not be drawn", error))


def _same_lid(one: Piece, other: Piece) -> bool:
    """Tell whether two pieces differ by time and money at the most, which no lid's file tells."""
    return replace(one, estimate=None, quote=None) == replace(other, estimate=None, quote=None)


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
                out[i] = DrawnEntry(failed_entry(drawn[i].entry, "The proof could not be drawn", error))
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


def failed_entry(entry: Entry, says: str, error: Exception) -> Entry:
    """Hold a piece for a fault of ours; what a programmer needs of it stands in week.json, not in the sentence."""
    return _held(entry, "failed", says, f"{type(error).__name__}: {error}")


def unmade_entry(what: What, fate: Fate) -> DrawnEntry:
    """Hold a piece whose process died or was ended."""
    one = Entry(Piece(what.order, what.piece))
    if fate == "died":
        return DrawnEntry(_held(one, "failed", "The process that made this piece died"))
    says = (
        f"This piece was not done after {MOST_SECONDS:g} seconds, which no words should take, and was given up. Shorter "
        "words, other letters or another typeface may be quicker"
    )
    return DrawnEntry(_held(one, "took-too-long", says))


def seconds_allowed(given: tuple[int, Unit]) -> float:
    """Return the seconds that a unit may take."""
    return MOST_SECONDS + EACH_FURTHER * max(0, len(given[1].members) - 20)
