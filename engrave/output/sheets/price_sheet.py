"""The price list on paper, for the counter and for markets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from engrave.output.price_lists import HEAD, LIST_TITLE, list_rows, list_says
from engrave.output.sheets.sheet_layout import common_paper
from engrave.output.typesetting import own_typesetter

if TYPE_CHECKING:
    from engrave.listed_prices import ListedLid
    from engrave.shop import Shop


def prices_as_pdf(listed: Sequence[ListedLid], shop: Shop) -> bytes:
    """Return the price list as PDF, on A4 or, where the shop works in inches, on letter paper."""
    width, height = common_paper(shop.proof.units)
    data = {
        "title": LIST_TITLE,
        "shop": shop.name,
        "page": {"width": width, "height": height},
        "head": HEAD,
        "rows": list_rows(listed, shop),
        "says": list_says(shop),
    }
    (pdf,) = own_typesetter().pages("price_list.typ", data, {})
    return pdf
