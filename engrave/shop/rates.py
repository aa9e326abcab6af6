"""Rates: what an hour, a letter, a spoiled lid and a fee cost, and the hands' minutes by what causes them."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from babel import Locale, UnknownLocaleError

from engrave.shop.models import Channel, Hands, Rates
from engrave.shop.readers import MONEY, YES, Reader, list_of, number, share, whole
from engrave.shop.tables import TomlEntry

MINUTES = number(0.0, 600.0, unit="minutes")
SHARE = share()
HOURS = list_of(number(0.0, 24.0, unit="hours"), least=7, most=7)
COUNT = whole(0, 10_000)
NO_MONEY = Decimal(0)
WEEKDAYS = 7


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


LOCALE = Reader("Allowed: a language and a country, as 'en_GB', 'en_US' or 'sv_SE'.", "en_GB", _locale)
CURRENCY = Reader("Allowed: three capital letters (ISO 4217), as 'EUR' or 'USD'.", "EUR", _currency)


def read_rates(entry: TomlEntry) -> Rates:
    """Return the shop's rates."""
    rates = Rates(
        currency=entry.take("currency", CURRENCY),
        locale=entry.take("locale", LOCALE),
        machine_hour=_machine_hours(entry),
        hands_hour=entry.take("hands_hour", MONEY),
        hands=_hands(entry),
        spoilage=entry.take("spoilage", SHARE),
        fee=entry.take("fee", SHARE),
        fixed_fee=entry.take("fixed_fee", MONEY),
        margin=entry.take("margin", SHARE),
        minimum=entry.take("minimum", MONEY),
        step=entry.take("step", MONEY),
        included_lines=entry.take_or("included_lines", COUNT, None),
        extra_line=entry.take_or("extra_line", MONEY, NO_MONEY),
        included_letters=entry.take_or("included_letters", COUNT, None),
        extra_letter=entry.take_or("extra_letter", MONEY, NO_MONEY),
        inside=entry.take_or("inside", MONEY, NO_MONEY),
        rush=entry.take_or("rush", MONEY, NO_MONEY),
        proof_changes_included=entry.take("proof_changes_included", COUNT),
        tax=entry.take("tax", SHARE),
        tax_shown=entry.take("tax_shown", YES),
        machine_hours=_seven(entry.take("machine_hours", HOURS)),
        hand_hours=_seven(entry.take("hand_hours", HOURS)),
        fixture_cost=entry.take("fixture_cost", MONEY),
        bit_cost=entry.take("bit_cost", MONEY),
        side_by_side=entry.take_or("side_by_side", YES, False),
        attended=_by_name(entry, "attended", PORTION),
        wear_hour=_by_name(entry, "wear_hour", MONEY),
        lids_a_week=entry.take_or("lids_a_week", COUNT, 0),
        cutter_changes_a_week=entry.take_or("cutter_changes_a_week", COUNT, 0),
        minimum_order=entry.take_or("minimum_order", MONEY, NO_MONEY),
        set_discounts=_discounts(entry),
        gift_message=entry.take_or("gift_message", MONEY, NO_MONEY),
        channels=_channels(entry),
    )
    taken = rates.fee * (1 + rates.tax) if rates.tax_shown else rates.fee
    if taken + rates.margin >= 1:
        of_tax = f" (taken of the price with {rates.tax} tax: {taken})" if rates.tax_shown and rates.tax else ""
        found = f"fee {rates.fee}{of_tax} and margin {rates.margin} together leave nothing for the cost"
        entry.wrong("margin", found, "Allowed: fee and margin, as shares of the price, together below 1.")
    entry.finish()
    return rates


def _portion(value: object) -> Decimal:
    amount = MONEY.read(value)
    if amount > 1:
        raise ValueError
    return amount


PORTION = Reader("Allowed: a share from 0 to 1, as 0.25 for a quarter.", Decimal(0), _portion)


def _by_name(entry: TomlEntry, key: str, reader: Reader[Decimal]) -> Mapping[str, Decimal]:
    inner = entry.sub(key)
    return {} if inner is None else {name: inner.take(name, reader) for name in inner.values}


def _discounts(entry: TomlEntry) -> tuple[tuple[int, Decimal], ...]:
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


def _channels(entry: TomlEntry) -> Mapping[str, Channel]:
    inner = entry.sub("channels")
    found: dict[str, Channel] = {}
    for name, channel in inner.subs() if inner else ():
        found[name] = Channel(channel.take("fee", SHARE), channel.take_or("fixed_fee", MONEY, NO_MONEY))
        channel.finish()
    return found


def _seven(hours: tuple[float, ...]) -> tuple[float, ...]:
    """Return hours by weekday, Monday first, also after a mistake."""
    return hours if len(hours) == WEEKDAYS else (8.0,) * WEEKDAYS


def _machine_hours(entry: TomlEntry) -> Mapping[str, Decimal]:
    inner = entry.sub("machine_hour")
    if inner is None:
        entry.wrong("machine_hour", "is missing", "Allowed: a table of amounts by machine, as [machine_hour].")
        return {}
    return {machine: inner.take(machine, MONEY) for machine in inner.values}


def _hands(entry: TomlEntry) -> Hands:
    inner = entry.sub("hands")
    if inner is None:
        entry.wrong("hands", "is missing", "Allowed: a table of minutes, as [hands].")
        return Hands(0, 0, 0, 0, 0, 0, 0, 0)
    names = ("week", "load", "cutter_change", "nest", "loose", "finish", "order", "proof_change")
    minutes = {name: inner.take(f"{name}_min", MINUTES) for name in names}
    inner.finish()
    return Hands(**minutes)
