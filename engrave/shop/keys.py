"""A table's keys, each declared once: a field of the class that a table becomes names its reader, unit and range.

    @dataclass(frozen=True, slots=True, kw_only=True)
    class Wood:
        id: str = entry_name()
        title: str = key(FILLED)                                            a key that must be given
        latin: str = key(TEXT, "")                                          one that may be left out
        gravity: float = key(number(0.05, 1.5), 0.0, called="specific_gravity")
        janka_n: float = taken(_hardness)                                   what several keys say together

`read_table` walks the fields in their order, so mistakes come in the order of the class. What keys say of one another is
checked after it, by a plain function beside the class.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from typing import Final, TypeVar

from engrave.shop.readers import Reader
from engrave.shop.tables import TomlEntry

T = TypeVar("T")
M = TypeVar("M")
Take = Callable[[TomlEntry, str], T]
"""Returns a field's value from a table; the text is the field's name."""

TAKE: Final = "take"
"""Where in a field's metadata it stands how the field is taken from a table: a function of the table, the field's name
and the class."""

CALLED: Final = "called"
"""Where in a field's metadata its key's name stands, if it is not the field's."""


def key(reader: Reader[T], otherwise: T = dataclasses.MISSING, *, called: str = "", missing: str = "") -> T:  # type: ignore[assignment]
    """Declare a field that is one key of the table.

    otherwise: its value where the key is not given; without it the key must be given. called: the key's name, where it is
    not the field's. missing: what to say instead of what is allowed where a needed key is not given; '{0}' is the class.
    """

    def take(entry: TomlEntry, name: str, kind: type) -> T:
        if otherwise is dataclasses.MISSING:
            return entry.take(called or name, reader, missing.format(kind))
        return entry.take_or(called or name, reader, otherwise)

    return dataclasses.field(default=otherwise, metadata={TAKE: take, CALLED: called})


def taken(take: Take[T], empty: Callable[[], T] | None = None) -> T:
    """Declare a field that a function takes from the table, as a speed in any unit or a table within.

    empty: makes the field's value where the class is made without a table.
    """
    how = {TAKE: lambda entry, name, _: take(entry, name)}
    return dataclasses.field(default_factory=empty, metadata=how) if empty else dataclasses.field(metadata=how)


def entry_name() -> str:
    """Declare the field that holds the name of the table itself, as [maple]."""
    return taken(lambda entry, _: entry.id)


def part(kind: type[M], shown: str) -> M:
    """Declare a field that is a table of its own within this one and must be given. shown: what it holds, for people."""

    def take(entry: TomlEntry, name: str) -> M:
        inner = entry.sub(name)
        if inner is None:
            entry.wrong(name, "is missing", f"Allowed: {shown}, as [{name}].")
            return read_keys(kind, TomlEntry(entry.sheet, (name,), {}, [], {}))
        return read_table(kind, inner)

    return taken(take)


def by_name(reader: Reader[T], needed: str = "") -> Mapping[str, T]:
    """Declare a field that is a table of names of the shop's own choice, all of one kind of value.

    needed: what it holds, for people, where the table must be given; without it the table may be left out.
    """

    def take(entry: TomlEntry, name: str) -> Mapping[str, T]:
        inner = entry.sub(name)
        if inner is None:
            if needed:
                entry.wrong(name, "is missing", f"Allowed: {needed}, as [{name}].")
            return {}
        return {each: inner.take(each, reader) for each in inner.values}

    return taken(take, None if needed else dict)


def read_keys(kind: type[M], entry: TomlEntry, **given: object) -> M:
    """Return a table's keys as an instance of the class that declares them. given: fields that are known already."""
    fields = [f for f in dataclasses.fields(kind) if TAKE in f.metadata and f.name not in given]  # type: ignore[arg-type]
    return kind(**given, **{f.name: f.metadata[TAKE](entry, f.name, kind) for f in fields})


def read_table(kind: type[M], entry: TomlEntry, **given: object) -> M:
    """Return a whole table as an instance of its class; keys that no field declares are told as mistakes."""
    found = read_keys(kind, entry, **given)
    entry.finish()
    return found


def look_over(kind: type, entry: TomlEntry) -> None:
    """Read keys that a class declares and nobody has asked for, where they are given: for their mistakes alone."""
    for field in (f for f in dataclasses.fields(kind) if CALLED in f.metadata):
        name = field.metadata[CALLED] or field.name
        if name in entry and name not in entry.known:
            field.metadata[TAKE](entry, field.name, kind)
        entry.known.append(name)
