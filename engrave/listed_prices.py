"""The price list for the shop's own page: every lid with a name, with a name and a message, and with words inside."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from engrave.intake import Order, Words
from engrave.making import Env, Piece, make_any, tasks_of
from engrave.problems import held
from engrave.shop import Lid

SAMPLE_WORDS = Words(name="Wilhelm", message="with love from all of us")
"""Words of a usual length: seven letters and a capital; five short words (our choice, and said on the list)."""


@dataclass(frozen=True, slots=True)
class ListedLid:
    """A lid with its prices as the buyer is told them; None where such words do not go on it as they stand.

    inside: what words inside come to beside a name on the lid; None for a lid without such an area.
    """

    lid: Lid
    name: Decimal | None
    name_and_message: Decimal | None
    inside: Decimal | None


def price_list(env: Env) -> tuple[ListedLid, ...]:
    """Return the list for all lids of the shop, each in its own wood, typeface and cutter, or the shop's."""
    return tuple(_listed(lid, env) for lid in env.shop.lids.values())


def _listed(lid: Lid, env: Env) -> ListedLid:
    has_inside = any(area.side == "inside" for area in lid.areas)
    both = _made(lid, SAMPLE_WORDS, env)
    outside = [p for p in both if p.task is None or p.task.area.side != "inside"]
    within = [p for p in both if p.task is not None and p.task.area.side == "inside"]
    return ListedLid(
        lid=lid,
        name=_price(_made(lid, Words(name=SAMPLE_WORDS.name), env)),
        name_and_message=None if within and not _carries_message(outside) else _price(outside),
        inside=_price(both) if has_inside and within else None,
    )


def _carries_message(pieces: list[Piece]) -> bool:
    return any(piece.task is not None and piece.task.words.message for piece in pieces)


def _made(lid: Lid, words: Words, env: Env) -> list[Piece]:
    order = Order("list", 1, 0, words, words, lid=lid.id)
    whats = tasks_of([order], env)
    return [make_any(what, env) for what in whats]


def _price(pieces: list[Piece]) -> Decimal | None:
    """Return what all pieces cost together; None if one of them is on hold."""
    quotes = [piece.quote for piece in pieces if piece.quote is not None and not held(piece.problems)]
    if len(quotes) < len(pieces) or not quotes:
        return None
    return sum((quote.price for quote in quotes), Decimal(0))
