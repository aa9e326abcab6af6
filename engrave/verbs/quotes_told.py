"""What the engraving adds to the price: of one text, of a table, of every lid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from engrave.headings import to_be_asked
from engrave.listed_prices import ListedLid
from engrave.making import Env, Piece, environment
from engrave.output.price_lists import list_csv, list_html
from engrave.output.svg import proof_code
from engrave.pricing import Ladder, Quote, ladder, quote, with_order_minimum
from engrave.problems import held
from engrave.verbs.orders_made import make_orders
from engrave.verbs.result_files import LIST_ENDINGS, ending, put_result
from engrave.verbs.words_tried import Tried
from engrave.week import Entry, Week, assemble, make_unit, units, with_checks


@dataclass(frozen=True, slots=True)
class QuoteTold:
    """A quote for one text: its parts, what other quantities would cost, and a line to send to the buyer."""

    entries: tuple[Entry, ...]
    quotes: tuple[Quote, ...]
    ladders: tuple[Ladder, ...]


def quote_words(tried: Tried, env: Env, *, rush: bool = False, changes: int = 0, gift: bool = False) -> QuoteTold:
    """Quote one text by part, with a ladder of quantities; `changes` counts the buyer's changes to the proof."""
    made = [e.piece for e in tried.entries if e.piece.estimate is not None and not held(e.piece.problems)]
    quotes = with_order_minimum(
        [_quote(p, env, rush, changes, opens=i == 0, gift=gift) for i, p in enumerate(made)], env.shop.rates
    )
    ladders = tuple(
        ladder(p.task, p.lettering, p.estimate, env.shop.rates, opens=i == 0)
        for i, p in enumerate(made)
        if p.task and p.lettering and p.estimate
    )
    return QuoteTold(tried.entries, quotes, ladders)


def _quote(piece: Piece, env: Env, rush: bool, changes: int, opens: bool, gift: bool) -> Quote:
    assert piece.task is not None
    assert piece.lettering is not None
    assert piece.estimate is not None
    return quote(
        piece.task,
        piece.lettering,
        piece.estimate,
        env.shop.rates,
        rush=rush,
        proof_changes=changes,
        opens=opens,
        gift=gift,
    )


def write_price_list(listed: Sequence[ListedLid], file: Path, env: Env) -> Path:
    """Write the price list as the file's name asks: '.csv' for a shop's own page, '.html' as a page, '.pdf' for
    the counter.

    Raises AskedWrong for another ending, or where the file cannot be written.
    """
    asked = ending(file, LIST_ENDINGS)
    if asked == ".pdf":
        from engrave.output.sheets.price_sheet import (
            prices_as_pdf,
        )  # the typesetter is loaded where a sheet is asked for

        put_result(file, prices_as_pdf(listed, env.shop), env)
        return file
    make = list_csv if asked == ".csv" else list_html
    put_result(file, make(listed, env.shop), env)
    return file


def quote_week(orders: Path, env: Env | None = None, shop_folder: Path | None = None) -> Week:
    """Make a whole table in one process without writing anything: its totals and every piece's quote.

    shop_folder: the shop's own tables, for what is told of columns that nobody has explained yet.
    """
    env = env or environment()
    whats, file = make_orders(orders, env)
    entries: list[Entry | None] = [None] * len(whats)
    for unit in units(whats):
        for i, entry in zip(unit, make_unit([whats[i] for i in unit], env), strict=True):
            entries[i] = entry
    env.measures.save()
    made = [e for e in entries if e is not None]
    checked = with_checks(made, [proof_code(e.piece) for e in made])
    return assemble(checked, env.shop.rates, (*file.problems, *to_be_asked(file, orders, shop_folder)))
