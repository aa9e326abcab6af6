"""Numbers as people read them, and as files hold them. Rounding happens here and nowhere before."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from babel import Locale, UnknownLocaleError
from babel.numbers import format_decimal, get_decimal_symbol

from engrave.pricing.coins import coins_told
from engrave.units import MM_PER_INCH

if TYPE_CHECKING:
    from engrave.shop import Shop

FILE_DECIMALS = 4
"""Decimals of mm in a file: a tenth of a micrometre, finer than any machine's step and than our own arithmetic asks."""


def plain(value: float, decimals: int = FILE_DECIMALS) -> str:
    """Return a number with at most so many decimals, no trailing zeros, never '-0' and never an exponent."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def rounded(value: float | None, decimals: int) -> float | None:
    """Return the value rounded for a file, without a negative zero; None stays None."""
    if value is None:
        return None
    return round(float(value), decimals) + 0.0


def length_told(mm: float, units: str, language: str = "en") -> str:
    """Return a length as the shop writes it: '92 mm', or to the nearest sixteenth '3 5/8 in'; fine ones as decimals.

    language: of the sheet; '21,4 mm' in German.
    """
    if units == "mm":
        return f"{in_language(plain(mm, 1 if mm >= 2 else 2), language)} mm"
    sixteenths = round(mm / MM_PER_INCH * 16)
    if sixteenths < 4:
        return f"{in_language(plain(mm / MM_PER_INCH, 3), language)} in"
    return _inches(sixteenths, 16)


def bench_length(mm: float, units: str, decimals: int = 2) -> str:
    """Return a length for the bench: '0.35 mm' to so many decimals, or to the nearest 64th '21/64 in', fine ones '0.014 in'.

    Below an eighth of an inch a 64th is coarser than what is set on a machine or read off a calliper.
    """
    if units == "mm":
        return f"{plain(mm, decimals)} mm"
    inches = mm / MM_PER_INCH
    if inches < 0.125:
        return f"{plain(inches, 4 if inches < 0.01 else 3)} in"
    return _inches(round(inches * 64), 64)


_QUOTED = r"(?<!\w)'[^']*'(?!\w)|‘[^’]*’|“[^”]*”|\"[^\"]*\"|\([a-z_]+ [\d.]+ mm\)"
"""Words of other people, and what is to be written into a column, as it stands."""

_FIGURE = r"\d[\d,]*(?:\.\d+)?"
_LENGTHS = rf"(?<![\w.,])(?:(?P<other>{_FIGURE})(?P<between> x | × | to | or ))?(?P<one>{_FIGURE}) mm(?P<per>/s)?(?!\w)"


def in_shop_units(says: str, shop: Shop) -> str:
    """Return a sentence with its lengths as the shop measures: mm as they stand, or inches in decimals, speeds in in/min.

    Decimals, for a sentence compares lengths that may differ by less than a 64th. Quoted words, names of the shop's
    tables ('end mill 1 mm') and what is to be typed into a column stay as they are.
    """
    if shop.proof.units == "mm" or " mm" not in says:
        return says
    tables: tuple[Mapping[str, Any], ...] = (shop.cutters, shop.machines, shop.lids, shop.woods)
    named = sorted({re.escape(one.title) for table in tables for one in table.values() if "mm" in one.title})
    as_it_stands = "|".join([_QUOTED, *(f"(?i:{title})" for title in named)])
    return re.sub(f"{as_it_stands}|{_LENGTHS}", _in_inches, says)


def _in_inches(found: re.Match[str]) -> str:
    if not found["one"]:
        return found[0]
    unit, of_a_mm = ("in/min", 60.0 / MM_PER_INCH) if found["per"] else ("in", 1.0 / MM_PER_INCH)
    values = [float(found[name].replace(",", "")) * of_a_mm for name in ("other", "one") if found[name]]
    decimals = 0 if found["per"] else 4 if 0.0 < min(values) < 0.01 else 3
    return f"{(found['between'] or '').join(plain(value, decimals) for value in values)} {unit}"


def _inches(parts: int, of: int) -> str:
    """Return so many parts of an inch, of which it has so many, as a rule is read: '3 5/8 in'."""
    whole, rest = divmod(parts, of)
    told = (str(whole) if whole else "", f"{Fraction(rest, of)}" if rest else "")
    return f"{' '.join(filter(None, told))} in"


def in_language(number: str, language: str) -> str:
    """Return a plain number with the decimal sign of a language; with a point in one that is not known."""
    try:
        return number.replace(".", get_decimal_symbol(Locale.parse(language.replace("-", "_"))))
    except (UnknownLocaleError, ValueError):
        return number


def unparted(text: str) -> str:
    """Return a text whose lengths keep their unit on the same line."""
    return re.sub(r"(?<=\d) (?=(?:mm|in)\b)", "\u00a0", text)


def between(low: float, high: float) -> str:
    """Return a range of seconds in the unit that suits its upper end: '40 to 55 s', '3.8 to 4.6 min'."""
    if high < 100:
        return f"{round(low)} to {round(high)} s"
    if high < 6000:
        return f"{low / 60:.1f} to {high / 60:.1f} min"
    return f"{low / 3600:.1f} to {high / 3600:.1f} h"


def cupped(widths: tuple[float, float] | None, units: str = "mm") -> str:
    """Return what follows a stroke's width where it differs with the lid's cupping, '' where it does not."""
    if not widths:
        return ""
    if units == "mm":
        return f" ({widths[0]:.2f} to {widths[1]:.2f} mm as the lid cups)"
    low, high = (bench_length(width, units).removesuffix(" in") for width in widths)
    return f" ({low} to {high} in as the lid cups)"


def money(amount: Decimal, currency: str, locale: str) -> str:
    """Return an amount as the shop's country writes it; an unknown locale gives '12.50 EUR'."""
    try:
        return coins_told(amount, currency, Locale.parse(locale.replace("-", "_")))
    except (UnknownLocaleError, ValueError):
        return f"{amount} {currency}"


def day(value: date, locale: str) -> str:
    """Return a date as the shop's country writes it, with its weekday; without full stops, as it stands in sentences."""
    from babel.dates import format_date  # with the time zones of the world, which no price asks for

    try:
        told = format_date(value, format="EEE d MMM", locale=Locale.parse(locale.replace("-", "_")))
        return str(told).replace(".", "")
    except (UnknownLocaleError, ValueError):
        return value.isoformat()


def due_told(due: str, shop: Shop) -> str:
    """Return a promised day as the shop's country writes it; what is no date, as it came; '' for none."""
    try:
        return day(date.fromisoformat(due), shop.rates.locale)
    except ValueError:
        return due


def count(number: int, one: str, many: str | None = None) -> str:
    """Return '1 lid', '2 lids', '1,200 lids'."""
    return f"{format_decimal(number, locale='en')} {one if number == 1 else many or one + 's'}"
