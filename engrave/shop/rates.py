"""Rates: what an hour, a letter, a spoiled lid and a fee cost, and the hands' minutes by what causes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from babel import Locale, UnknownLocaleError

from engrave.shop.keys import by_name, key, part, read_table, taken
from engrave.shop.readers import MONEY, YES, Reader, list_of, number, share, whole
from engrave.shop.tables import TomlEntry

MINUTES = number(0.0, 600.0, unit="minutes")
SHARE = share()
COUNT = whole(0, 10_000)
NO_MONEY = Decimal(0)
WEEKDAYS = 7
HOURS = list_of(number(0.0, 24.0, unit="hours"), least=WEEKDAYS, most=WEEKDAYS)


def _currency(value: object) -> str:
    if not isinstance(value, str) or len(value) != 3 or not value.isalpha() or not value.isupper():
        raise ValueError
    return value


def _locale(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError
    try:
        Locale.parse(value.replace("-", "_"))
    except UnknownLocaleError as error:
        raise ValueError from error
    return value


def _portion(value: object) -> Decimal:
    amount = MONEY.read(value)
    if amount > 1:
        raise ValueError
    return amount


LOCALE = Reader("Allowed: a language and a country, as 'en_GB', 'en_US' or 'sv_SE'.", "en_GB", _locale)
CURRENCY = Reader("Allowed: three capital letters (ISO 4217), as 'EUR' or 'USD'.", "EUR", _currency)
PORTION = Reader("Allowed: a share from 0 to 1, as 0.25 for a quarter.", Decimal(0), _portion)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """Minutes of hand work, each by what causes it. `nest` and `loose` are for loading and zeroing one lid."""

    week: float = key(MINUTES, called="week_min")
    load: float = key(MINUTES, called="load_min")
    cutter_change: float = key(MINUTES, called="cutter_change_min")
    nest: float = key(MINUTES, called="nest_min")
    loose: float = key(MINUTES, called="loose_min")
    finish: float = key(MINUTES, called="finish_min")
    order: float = key(MINUTES, called="order_min")
    proof_change: float = key(MINUTES, called="proof_change_min")


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """Another place where the shop sells: what it takes of the price as a share, and of every sale besides."""

    fee: Decimal = key(SHARE)
    fixed_fee: Decimal = key(MONEY, NO_MONEY)


def _hours(entry: TomlEntry, name: str) -> tuple[float, ...]:
    """Return hours by weekday, Monday first, also after a mistake."""
    hours = entry.take(name, HOURS)
    return hours if len(hours) == WEEKDAYS else (8.0,) * WEEKDAYS


def _discounts(entry: TomlEntry, _: str) -> tuple[tuple[int, Decimal], ...]:
    """Return (lids alike from which, share off), fewest lids first."""
    inner = entry.sub("set_discount")
    if inner is None:
        return ()
    found = []
    for number_of in inner.values:
        if number_of.isdigit() and int(number_of) > 1:
            found.append((int(number_of), inner.take(number_of, SHARE)))
        else:
            inner.wrong(number_of, "is no number of lids", "Allowed: a whole number above 1, as 10 = 0.05.")
    return tuple(sorted(found))


def _channels(entry: TomlEntry, name: str) -> Mapping[str, Channel]:
    inner = entry.sub(name)
    return {each: read_table(Channel, channel) for each, channel in inner.subs()} if inner else {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What time and trouble cost. Rates per hour in `currency`; shares as fractions of the price.

    spoilage: share of lids spoiled. minimum: least price of a lettered piece. step: prices are rounded up to it.
    included_lines, included_letters: in the base price by the shop's own rule; extra_line, extra_letter above it.
    side_by_side: machines run at the same time, because somebody is at each. attended: share of a machine's minutes that
    hands stand beside it, by machine or its kind. wear_hour: what an hour of cutting wears, by cutter or its kind.
    lids_a_week: over so many lids the week's set-up and its cutter changes are spread in a quote; 0: in no quote.
    minimum: least price of a piece; minimum_order: of all of an order's. set_discounts: (lids alike from which, share
    off). channels: other places where the shop sells, by name. inside, rush: added once a piece or order. tax: share,
    shown when tax_shown. machine_hours, hand_hours: hours a day by weekday, Monday first.
    """

    currency: str = key(CURRENCY)
    locale: str = key(LOCALE)
    machine_hour: Mapping[str, Decimal] = by_name(MONEY, needed="a table of amounts by machine")
    hands_hour: Decimal = key(MONEY)
    hands: Hands = part(Hands, "a table of minutes")
    spoilage: Decimal = key(SHARE)
    fee: Decimal = key(SHARE)
    fixed_fee: Decimal = key(MONEY)
    margin: Decimal = key(SHARE)
    minimum: Decimal = key(MONEY)
    step: Decimal = key(MONEY)
    included_lines: int | None = key(COUNT, None)
    extra_line: Decimal = key(MONEY, NO_MONEY)
    included_letters: int | None = key(COUNT, None)
    extra_letter: Decimal = key(MONEY, NO_MONEY)
    inside: Decimal = key(MONEY, NO_MONEY)
    rush: Decimal = key(MONEY, NO_MONEY)
    proof_changes_included: int = key(COUNT)
    tax: Decimal = key(SHARE)
    tax_shown: bool = key(YES)
    machine_hours: tuple[float, ...] = taken(_hours)
    hand_hours: tuple[float, ...] = taken(_hours)
    fixture_cost: Decimal = key(MONEY)
    bit_cost: Decimal = key(MONEY)
    side_by_side: bool = key(YES, False)
    attended: Mapping[str, Decimal] = by_name(PORTION)
    wear_hour: Mapping[str, Decimal] = by_name(MONEY)
    lids_a_week: int = key(COUNT, 0)
    cutter_changes_a_week: int = key(COUNT, 0)
    minimum_order: Decimal = key(MONEY, NO_MONEY)
    set_discounts: tuple[tuple[int, Decimal], ...] = taken(_discounts, tuple)
    gift_message: Decimal = key(MONEY, NO_MONEY)
    channels: Mapping[str, Channel] = taken(_channels, dict)


def read_rates(entry: TomlEntry) -> Rates:
    """Return the shop's rates."""
    rates = read_table(Rates, entry)
    taken_of_price = rates.fee * (1 + rates.tax) if rates.tax_shown else rates.fee
    if taken_of_price + rates.margin >= 1:
        of_tax = (
            f" (taken of the price with {rates.tax} tax: {taken_of_price})" if rates.tax_shown and rates.tax else ""
        )
        found = f"fee {rates.fee}{of_tax} and margin {rates.margin} together leave nothing for the cost"
        entry.wrong("margin", found, "Allowed: fee and margin, as shares of the price, together below 1.")
    return rates
