"""Frozen dataclasses as plain values and back, for what is kept between two runs: exact, and the same bytes every time."""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")

LATER_FIELDS = frozenset({"weight", "joined"})
"""Fields that came after the first proofs were kept: those are read as they were, with the field's own default."""


def as_plain(value: Any) -> Any:
    """Return dataclasses as mappings, tuples as lists and decimals as strings, all the way down."""
    kind: Any = type(value)
    if kind in PLAIN_KINDS:
        return value
    if kind is tuple or kind is list:
        return [inner if type(inner) in PLAIN_KINDS else as_plain(inner) for inner in value]
    if names := _names(kind):
        return {name: as_plain(getattr(value, name)) for name in names}
    if isinstance(value, Mapping):
        return {str(key): as_plain(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [inner if type(inner) in PLAIN_KINDS else as_plain(inner) for inner in value]
    return str(value) if isinstance(value, Decimal | str) else value


PLAIN_KINDS = frozenset({float, int, bool, str, type(None)})
"""Kinds of which a value is plain as it is: nearly all of a lettering are coordinates."""


@cache
def _names(kind: Any) -> tuple[str, ...]:
    """Return the names of a dataclass's fields, () for any other kind."""
    return tuple(f.name for f in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else ()


def read_as(kind: type[T], plain: Any) -> T:
    """Return what `as_plain` made of a value of this dataclass. Raises ValueError, TypeError or KeyError if it is not."""
    read: T = _read(kind, plain)
    return read


def _read(kind: Any, plain: Any) -> Any:
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return _one_of(inner, plain)
    if origin is tuple:
        if len(inner) == 2 and inner[1] is ...:
            return tuple(_read(inner[0], one) for one in plain)
        return tuple(_read(of, one) for of, one in zip(inner, plain, strict=True))
    if origin is Literal:
        if plain not in inner:
            raise ValueError(f"{plain!r} is none of {inner}")
        return plain
    if dataclasses.is_dataclass(kind):
        return _dataclass(kind, plain)
    if kind is Decimal:
        return Decimal(plain)
    if kind is float and isinstance(plain, int) and not isinstance(plain, bool):
        return float(plain)
    if not isinstance(plain, kind):
        raise TypeError(f"{plain!r} is no {kind}")
    return plain


def _dataclass(kind: Any, plain: Any) -> Any:
    hints = _hints(kind)
    there = [f for f in dataclasses.fields(kind) if f.name in plain or not _came_later(f)]
    return kind(**{f.name: _read(hints[f.name], plain[f.name]) for f in there})


def _came_later(of: dataclasses.Field[Any]) -> bool:
    """Tell whether what was kept before this field was thought of can be read without it."""
    return of.name in LATER_FIELDS and of.default is not dataclasses.MISSING


def _one_of(kinds: tuple[Any, ...], plain: Any) -> Any:
    for kind in kinds:
        if kind is type(None):
            if plain is None:
                return None
            continue
        try:
            return _read(kind, plain)
        except (TypeError, ValueError, KeyError):
            continue
    raise TypeError(f"{plain!r} is none of {kinds}")


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)
