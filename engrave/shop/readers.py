"""What may stand behind a key: a reader turns a table's value into ours, or says what is allowed.

Each reader has a stand-in value, so that reading goes on after a mistake and all of them are found at once.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any, Generic, TypeVar, get_args

from engrave.units import MM_PER_INCH, length_mm

T = TypeVar("T")
V = TypeVar("V", covariant=True)
L = TypeVar("L", bound=str)

LONGEST_LENGTH = 3000.0
"""mm: no lid and no shop's machine of this kind is longer; a larger figure is a slip of the unit."""


LONGEST_AMOUNT = 30
"""Characters of an amount or share at most; more are a slip, and a million of them take long to reckon with."""

MOST_MONEY = Decimal(10**12)
"""Of any currency: beyond it no shop's figure is meant, and `1e999` would fill the memory when written out."""


@dataclass(frozen=True, slots=True)
class Reader(Generic[V]):
    """Reads one value. allowed: what may be written, for people; blank: stands in after a mistake."""

    allowed: str
    blank: V
    read: Callable[[object], V]


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError
    return value


def _filled(value: object) -> str:
    text = _text(value).strip()
    if not text:
        raise ValueError
    return text


def _yes(value: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError
    return value


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError
    return float(value)


def _money(value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | float | str) or len(str(value)) > LONGEST_AMOUNT:
        raise ValueError
    try:
        amount = Decimal(str(value))
    except InvalidOperation as error:
        raise ValueError from error
    if not amount.is_finite() or not 0 <= amount <= MOST_MONEY or (amount and amount.adjusted() < -LONGEST_AMOUNT):
        raise ValueError
    return amount


def _colour(value: object) -> str:
    text = _text(value)
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text):
        raise ValueError
    return text.lower()


def length(low: float = 0.0, high: float = LONGEST_LENGTH, *, above: bool = False) -> Reader[float]:
    """Return a reader of lengths in mm between two bounds; `above`: the lower bound itself is not allowed."""

    def read(value: object) -> float:
        mm = length_mm(value)
        if not low <= mm <= high or (above and mm == low):
            raise ValueError
        return mm

    bounds = f"{'above' if above else 'from'} {low:g}{', up' if above else ''} to {high:g} mm"
    written = "as 92, '92 mm' or '3 5/8 in' (a fraction needs its unit)"
    return Reader(f"Allowed: a length {bounds}, {written}.", max(low, 1.0), read)


def number(low: float, high: float, *, above: bool = False, unit: str = "") -> Reader[float]:
    """Return a reader of plain numbers between two bounds."""

    def read(value: object) -> float:
        found = _number(value)
        if not low <= found <= high or (above and found == low):
            raise ValueError
        return found

    unit = f" {unit}" if unit else ""
    bounds = f"{'above' if above else 'from'} {low:g}{', up' if above else ''} to {high:g}{unit}"
    return Reader(f"Allowed: a number {bounds}.", high if above else max(low, min(1.0, high)), read)


def whole(low: int, high: int) -> Reader[int]:
    """Return a reader of whole numbers between two bounds."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise ValueError
        return value

    return Reader(f"Allowed: a whole number from {low} to {high}.", low, read)


def choice(*names: L) -> Reader[L]:
    """Return a reader of one word out of a few."""

    def read(value: object) -> L:
        if value not in names:
            raise ValueError
        return value

    return Reader(f"Allowed: {', '.join(names)}.", names[0], read)


def one_of(words: Any) -> Reader[Any]:
    """Return a reader of one of the words that a type (`Literal`) lists, so that they stand in one place."""
    return choice(*get_args(words))


def share(high: str = "1") -> Reader[Decimal]:
    """Return a reader of shares from 0 up to, not including, `high`, kept as decimals."""

    def read(value: object) -> Decimal:
        amount = _money(value)
        if amount >= Decimal(high):
            raise ValueError
        return amount

    return Reader(f"Allowed: a share from 0 to below {high}, as 0.05 for 5 %.", Decimal(0), read)


def list_of(item: Reader[T], least: int = 0, most: int = 10_000) -> Reader[tuple[T, ...]]:
    """Return a reader of lists; `least` and `most` count its items."""

    def read(value: object) -> tuple[T, ...]:
        if not isinstance(value, list) or not least <= len(value) <= most:
            raise ValueError
        return tuple(item.read(v) for v in value)

    count = f"{least}" if least == most else f"at least {least}" if least else "any number of"
    items = "item" if least == 1 else "items"
    return Reader(f"Allowed: a list of {count} {items}, each: {item.allowed.removeprefix('Allowed: ')}", (), read)


def one_or_list(item: Reader[T]) -> Reader[tuple[T, ...]]:
    """Return a reader of a list, or of a single value meant as a list of one."""
    many = list_of(item, least=1)

    def read(value: object) -> tuple[T, ...]:
        return many.read(value) if isinstance(value, list) else (item.read(value),)

    return Reader(many.allowed, (), read)


def pair(item: Reader[float]) -> Reader[tuple[float, float]]:
    """Return a reader of two numbers, as [width, height] or [x, y]."""

    def read(value: object) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            raise ValueError
        return (item.read(value[0]), item.read(value[1]))

    allowed = f"Allowed: two values in brackets, each: {item.allowed.removeprefix('Allowed: ')}"
    return Reader(allowed, (item.blank, item.blank), read)


def triple(item: Reader[float]) -> Reader[tuple[float, float, float]]:
    """Return a reader of three numbers, one each for x, y and z."""

    def read(value: object) -> tuple[float, float, float]:
        if not isinstance(value, list) or len(value) != 3:
            raise ValueError
        return (item.read(value[0]), item.read(value[1]), item.read(value[2]))

    allowed = f"Allowed: three values in brackets for x, y, z, each: {item.allowed.removeprefix('Allowed: ')}"
    return Reader(allowed, (item.blank, item.blank, item.blank), read)


def texts_by_name(value: object) -> dict[str, str]:
    """Read a table of texts by name; raises ValueError when a value is no text."""
    if not isinstance(value, dict) or not all(isinstance(v, str) for v in value.values()):
        raise ValueError
    return dict(value)


SPEED_UNITS: dict[str, float] = {
    "mm_s": 1.0, "mm_min": 1.0 / 60.0, "in_s": MM_PER_INCH, "in_min": MM_PER_INCH / 60.0, "m_min": 1000.0 / 60.0,
}  # fmt: skip
"""Endings of keys for speeds, and what turns their figures into mm/s."""

PUSH_UNITS: dict[str, float] = {"mm_s2": 1.0, "in_s2": MM_PER_INCH, "m_s2": 1000.0}
"""Endings of keys for accelerations, and what turns their figures into mm/s2."""

BY_UNIT = (SPEED_UNITS, PUSH_UNITS)
"""Families of endings that say the same in another unit."""

TEXT = Reader("Allowed: a text in quotes.", "", _text)
FILLED = Reader("Allowed: a text in quotes that is not empty.", "x", _filled)
YES = Reader("Allowed: true or false.", False, _yes)
MONEY = Reader("Allowed: an amount from 0 up, as 12.50 or '12.50'.", Decimal(0), _money)
COLOUR = Reader("Allowed: a colour as '#6b4a33'.", "#808080", _colour)
LENGTH = length()
SIZE = length(above=True)
PLACE = length(-LONGEST_LENGTH, LONGEST_LENGTH)
TEXTS_BY_NAME: Reader[dict[str, str]] = Reader("Allowed: a table of texts by name.", {}, texts_by_name)
NAME_LIST = one_or_list(FILLED)


def shown(value: Any) -> str:
    """Return a value as a table would show it, cut short, for messages."""
    text = str(value).lower() if isinstance(value, bool) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def joined(items: Sequence[str]) -> str:
    """Join words with commas and a last 'or'."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} or {items[-1]}"
