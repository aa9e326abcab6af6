"""Amounts with the digits that a currency has in cash: no forint is told in fillér, which nobody can pay."""

from __future__ import annotations

from copy import copy
from decimal import Decimal

from babel import Locale
from babel.core import get_global
from babel.numbers import NumberPattern, format_currency

CASH_DIGITS = 2
"""Where the digits for cash stand in a row of the currency table: digits, rounding, digits and rounding for cash."""


def cash_digits(currency: str) -> int:
    """Return the decimals that are handed over, as the currency table has them: 2 of a euro, none of a yen or a forint.

    Unicode CLDR, supplemental currency data: the digits for cash, which for some currencies are fewer than in books.
    """
    fractions = get_global("currency_fractions")
    return int(fractions.get(currency, fractions["DEFAULT"])[CASH_DIGITS])


def coins_told(amount: Decimal, currency: str, locale: Locale) -> str:
    """Return an amount as a country writes it: '€12.50', '12,50 €', '3 500 Ft'."""
    pattern: NumberPattern = copy(locale.currency_formats["standard"])
    digits = cash_digits(currency)
    pattern.frac_prec = (digits, digits)
    return str(format_currency(amount, currency, pattern, locale, currency_digits=False))
