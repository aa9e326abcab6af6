"""Money and quotes as people write them."""

from __future__ import annotations

from decimal import Decimal

from babel import Locale
from babel.numbers import format_percent

from engrave.pricing.coins import coins_told
from engrave.shop.models import Rates
from engrave.tasks import Task
from engrave.tasks.choosing import midway


def money(amount: Decimal, rates: Rates) -> str:
    """Return an amount as the shop's country writes it: '€12.50', '12,50 €'."""
    return coins_told(amount, rates.currency, Locale.parse(locale_of(rates)))


def locale_of(rates: Rates) -> str:
    """Return the shop's locale as the library wants it ('en_GB', whatever way it was written)."""
    return rates.locale.replace("-", "_")


def message(task: Task, quantity: int, each: Decimal, price: Decimal, rates: Rates, rush: Decimal | None = None) -> str:
    """Return the line that can be sent to the buyer as it stands; the words stand in it as they are set.

    rush: what of the price is for the rush.
    """
    words = " / ".join(" ".join(text.split()) for _, text in task.words.filled())
    on = f"on the {midway(task.lid.title)}"
    if task.area.side == "inside":
        on += ", inside"
    sums = money(price, rates)
    if quantity > 1:
        hurried = f" and {money(rush, rates)} for the rush" if rush else ""
        sums = f"{quantity} at {money(each, rates)}{hurried}, {sums} in all"
    elif rush:
        sums += f", {money(rush, rates)} of it for the rush"
    return f"Lettering “{words}” {on}: {sums}{_tax_told(rates)}."


def _tax_told(rates: Rates) -> str:
    if not rates.tax:
        return ""
    share = format_percent(rates.tax, locale=locale_of(rates), decimal_quantization=False)
    return f", {share} tax included" if rates.tax_shown else f", plus {share} tax"
