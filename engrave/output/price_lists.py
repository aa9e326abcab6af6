"""The price list as text, as CSV for a shop's page, and as a page of its own."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from engrave.output.numbers import money
from engrave.output.page import page_templates
from engrave.output.terminal.answers import columns

if TYPE_CHECKING:
    from engrave.listed_prices import ListedLid
    from engrave.shop import Shop

HEAD = ("lid", "a name", "a name and a message", "with words inside")
ASK = "on asking"
LIST_TITLE = "Lettering your lid"


def list_rows(listed: Sequence[ListedLid], shop: Shop) -> list[list[str]]:
    """Return a row a lid, amounts as the shop's country writes them; 'on asking' where the words do not just fit."""

    def told(amount: Decimal | None, there: bool = True) -> str:
        if not there:
            return ""
        return ASK if amount is None else money(amount, shop.rates.currency, shop.rates.locale)

    return [
        [
            one.lid.title,
            told(one.name),
            told(one.name_and_message, any("message" in a.fields for a in one.lid.areas if a.side != "inside")),
            told(one.inside, any(a.side == "inside" for a in one.lid.areas)),
        ]
        for one in listed
    ]


def list_says(shop: Shop) -> str:
    """Return the sentence below the list."""
    tax = "" if shop.rates.tax_shown or not shop.rates.tax else ", before tax"
    return (
        f"For one lid and words of usual length, as “Wilhelm” and “with love from all of us”{tax}. "
        "Longer words and several lids are quoted. Postage is not in it."
    )


def list_text(listed: Sequence[ListedLid], shop: Shop) -> str:
    """Return the list for a terminal."""
    return "\n".join([*columns([list(HEAD), *list_rows(listed, shop)]), "", list_says(shop)])


def list_csv(listed: Sequence[ListedLid], shop: Shop) -> str:
    """Return the list as CSV: ids and plain amounts, for a shop's own page."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["lid", "title", "currency", "name", "name_and_message", "with_inside"])
    for one in listed:
        amounts = [f"{v}" if v is not None else "" for v in (one.name, one.name_and_message, one.inside)]
        writer.writerow([one.lid.id, one.lid.title, shop.rates.currency, *amounts])
    return out.getvalue()


def list_html(listed: Sequence[ListedLid], shop: Shop) -> str:
    """Return the list as a page."""
    page = page_templates().get_template("price_list.html")
    return page.render(shop=shop.name, title=LIST_TITLE, head=HEAD, rows=list_rows(listed, shop), says=list_says(shop))
