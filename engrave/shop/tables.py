"""Tables as they stand in files: read, laid one over another, and taken apart key by key with every mistake kept.

Our own tables come first; a shop's folder is laid over them. An entry of the shop's with the same id replaces only
the keys that it gives, so a shop writes down its differences and nothing else. `like = "other-id"` starts an entry
from another one of the same table.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from engrave.limits import LIKE_CHAIN, TABLE_ENTRIES
from engrave.problems import Problem
from engrave.shop.mistakes import Mistake, close, listed
from engrave.shop.readers import BY_UNIT, SPEED_UNITS, Reader, shown
from engrave.shop.toml_text import TableUnread, read_toml

T = TypeVar("T")
D = TypeVar("D")
Where = tuple[str, ...]
Triple = tuple[float, float, float]

TAKEN_WHOLE = frozenset({"outline", "keep_out", "edge"})
"""Keys whose value is one thing although written as a table: a shop's circle replaces our rectangle, not its keys."""


_UNIT_ENDINGS = tuple(tuple(f"_{unit}" for unit in sorted(units, key=len, reverse=True)) for units in BY_UNIT)
"""Ends of keys by which one figure is told in another unit, the longest first: '_in_min' ends in '_min' as well."""

MOST_STRANGE = 20
"""Keys of one table told one by one that are not known there; the rest is counted."""


@dataclass(slots=True)
class TomlTable:
    """One kind of table, ours with the shop's over it. files: for each path of keys, the file that last gave it.

    likes: for each entry that started from another, that other one's name.
    """

    name: str
    values: dict[str, Any] = field(default_factory=dict)
    files: dict[Where, Path] = field(default_factory=dict)
    likes: dict[str, str] = field(default_factory=dict)

    def file_of(self, where: Where) -> Path:
        """Return the file in which a key, or the nearest table around it, was given."""
        for n in range(len(where), -1, -1):
            if where[:n] in self.files:
                return self.files[where[:n]]
        return Path(self.name)


@dataclass(slots=True)
class Reading:
    """One reading of all tables: the mistakes found so far, and how each file is called in front of people."""

    mistakes: list[Mistake] = field(default_factory=list)
    show: dict[Path, str] = field(default_factory=dict)
    notes: list[Problem] = field(default_factory=list)

    def entries(self, sheet: TomlTable) -> Iterator[TomlEntry]:
        """Yield the entries of a sheet; a key that stands outside any entry is a mistake."""
        for name, values in sheet.values.items():
            if isinstance(values, dict):
                yield TomlEntry(sheet, (name,), values, self.mistakes, self.show)
            else:
                file = sheet.file_of((name,))
                allowed = f"Allowed: keys below an entry's name, as [{name}-something]."
                found = "stands outside any entry"
                self.mistakes.append(Mistake(self.show.get(file, file.name), "", name, found, allowed))

    def only(self, sheet: TomlTable) -> TomlEntry:
        """Return a sheet that is one entry as a whole (rates, intake, defaults)."""
        return TomlEntry(sheet, (), sheet.values, self.mistakes, self.show)


def read_file(path: Path, mistakes: list[Mistake], shown_as: str) -> dict[str, Any]:
    """Return a file's tables; what keeps it from being read becomes a mistake and an empty table."""
    try:
        return read_toml(path)
    except TableUnread as why:
        mistakes.append(Mistake(shown_as, "", "", why.found, why.allowed))
        return {}


def few_enough(sheet: TomlTable, mistakes: list[Mistake], shown_as: str) -> bool:
    """Tell whether a table has no more entries than are read; too many are a mistake, and none of them is kept."""
    count = len(sheet.values)
    if TABLE_ENTRIES.passed(count):
        mistakes.append(Mistake(shown_as, "", "", f"holds {TABLE_ENTRIES.told(count)}", "Keep what the shop uses."))
        sheet.values.clear()
        return False
    return True


def overlay(sheet: TomlTable, over: Mapping[str, Any], file: Path) -> None:
    """Lay a file's tables over what the sheet holds, key by key."""
    sheet.files.setdefault((), file)
    _lay(sheet, sheet.values, over, file, ())


def _lay(sheet: TomlTable, under: dict[str, Any], over: Mapping[str, Any], file: Path, path: Where) -> None:
    for key, value in over.items():
        here = (*path, key)
        without_twins(under, key, over)
        known = under.get(key)
        if isinstance(value, dict) and isinstance(known, dict) and key not in TAKEN_WHOLE:
            _lay(sheet, known, value, file, here)
            if len(here) == 1:
                sheet.files[here] = file
        else:
            under[key] = copy.deepcopy(value)
            if isinstance(known, dict | list):  # else nothing below it has a file of its own
                for below in [w for w in sheet.files if w[: len(here)] == here]:
                    del sheet.files[below]
            sheet.files[here] = file


def without_twins(known: dict[str, Any], key: str, new: Mapping[str, Any]) -> None:
    """Drop keys that say the same as a new one in another unit ('feed_mm_min' for 'feed_mm_s').

    What the new table says twice itself stays, and is found when it is read.
    """
    for endings in _UNIT_ENDINGS:
        if key.endswith(endings):
            stem = key.removesuffix(next(ending for ending in endings if key.endswith(ending)))
            for twin in [stem + ending for ending in endings]:
                if twin != key and twin not in new:
                    known.pop(twin, None)


def resolve_like(sheet: TomlTable, mistakes: list[Mistake], show: Mapping[Path, str]) -> None:
    """Replace each entry that says `like = "other"` by the other one with this entry's keys laid over it."""
    chains = {name: _chain(sheet, name) for name in sheet.values}
    for name in sorted(chains, key=lambda n: len(chains[n])):  # an entry comes after the one that it is like
        entry = sheet.values[name]
        if not isinstance(entry, dict) or "like" not in entry:
            continue
        why = _not_like(sheet, name, chains[name])
        if why:
            names = [n for n in sheet.values if n != name]
            file = sheet.file_of((name, "like"))
            hint = close(str(entry["like"]), names)
            allowed = f"Allowed: {listed(names)}."
            found = f"{shown(entry['like'])} {why}"
            mistakes.append(Mistake(show.get(file, file.name), name, "like", found, allowed, hint))
            del entry["like"]
        else:
            _start_from(sheet, name, entry["like"])


def _chain(sheet: TomlTable, name: str) -> tuple[str, ...]:
    """Return the entries that one is like, each the next, up to one that comes again or one beyond the limit."""
    chain: list[str] = []
    entry = sheet.values[name]
    while isinstance(entry, dict) and "like" in entry and len(chain) <= LIKE_CHAIN.most:
        other = entry["like"]
        if not isinstance(other, str) or other not in sheet.values:
            break
        chain.append(other)
        if other == name or other in chain[:-1]:
            break
        entry = sheet.values[other]
    return tuple(chain)


def _not_like(sheet: TomlTable, name: str, chain: Sequence[str]) -> str:
    """Return why an entry cannot start from the one it names, '' if it can."""
    other = sheet.values[name]["like"]
    if not isinstance(other, str) or other not in sheet.values:
        return "is not an entry of this table"
    if chain and (chain[-1] == name or chain[-1] in chain[:-1]):
        return f"leads back to itself: {' -> '.join((name, *chain))}"
    if LIKE_CHAIN.passed(len(chain)):
        return f"is like another, and that like another: a chain of {LIKE_CHAIN.told()}"
    return ""


def _start_from(sheet: TomlTable, name: str, other: str) -> None:
    """Lay entry `name` over a copy of entry `other`, keeping for each key the file it came from."""
    sheet.likes[name] = other
    own = {k: v for k, v in sheet.values[name].items() if k != "like"}
    own_files = {w: f for w, f in sheet.files.items() if w[:1] == (name,)}
    base = copy.deepcopy(sheet.values[other])
    _only_for(base, own.get("woods"))
    sheet.values[name] = base
    for where, file in [(w, f) for w, f in sheet.files.items() if w[:1] == (other,)]:
        sheet.files[(name, *where[1:])] = file
    for key, value in own.items():
        file = own_files.get((name, key), own_files.get((name,), sheet.file_of((name,))))
        _lay(sheet, base, {key: value}, file, (name,))
    sheet.files.update(own_files)


def _only_for(base: dict[str, Any], woods: object) -> None:
    """Leave out of `by_wood` what the other entry says of woods that this one, which names its own, is not for."""
    named = [woods] if isinstance(woods, str) else woods
    if isinstance(named, list) and "all" not in named and isinstance(base.get("by_wood"), dict):
        base["by_wood"] = {wood: said for wood, said in base["by_wood"].items() if wood in named}


class TomlEntry:
    """One table of keys, taken apart key by key. Mistakes are noted and a stand-in is returned, so reading goes on.

    `finish` must be called last: it reports the keys that nobody asked for.
    """

    def __init__(
        self,
        sheet: TomlTable,
        where: Where,
        values: Mapping[str, Any],
        mistakes: list[Mistake],
        show: Mapping[Path, str],
    ) -> None:
        self.sheet = sheet
        self.where = where
        self.values = values
        self.mistakes = mistakes
        self.show = show
        self.known: list[str] = []

    @property
    def id(self) -> str:
        """Name of the entry: the first of its keys' path."""
        return self.where[0] if self.where else ""

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def file(self, key: str = "") -> Path:
        """Return the file that gave a key, or this table."""
        return self.sheet.file_of((*self.where, key) if key else self.where)

    def wrong(self, key: str, found: str, allowed: str, hint: str = "") -> None:
        """Note a mistake at a key."""
        file = self.file(key)
        self.mistakes.append(Mistake(self.show.get(file, file.name), ".".join(self.where), key, found, allowed, hint))

    def take(self, key: str, reader: Reader[T], missing: str = "") -> T:
        """Return a key's value; that it is missing is a mistake. missing: what to say of it, else what is allowed."""
        self.known.append(key)
        if key not in self.values:
            self.wrong(key, "is missing", missing or reader.allowed)
            return reader.blank
        return self._read(key, reader, self.values[key])

    def take_or(self, key: str, reader: Reader[T], default: D) -> T | D:
        """Return a key's value, or the default when it is not given."""
        self.known.append(key)
        if key not in self.values:
            return default
        return self._read(key, reader, self.values[key])

    def _read(self, key: str, reader: Reader[T], value: object) -> T:
        try:
            return reader.read(value)
        except (ValueError, OverflowError):
            self.wrong(key, f"found {shown(value)}", reader.allowed, _hint(value, reader))
            return reader.blank

    def speed(self, stem: str, default: float | None = None) -> float:
        """Return a speed in mm/s from `<stem>_mm_s`, `<stem>_mm_min`, `<stem>_in_min` and so on, whichever is given."""
        found = self._by_unit(stem, SPEED_UNITS, default is None)
        if found is None:
            return default if default is not None else 1.0
        return self._speed_value(*found)

    def per_axis(self, stem: str, units: Mapping[str, float], reader: Reader[Triple]) -> Triple:
        """Return three speeds or accelerations in mm from `<stem>_<unit>`, whichever unit is given."""
        found = self._by_unit(stem, units, True)
        if found is None:
            return reader.blank
        key, factor = found
        x, y, z = self._read(key, reader, self.values[key])
        return (x * factor, y * factor, z * factor)

    def _by_unit(self, stem: str, units: Mapping[str, float], needed: bool) -> tuple[str, float] | None:
        """Return the one key of a stem that is given, and its factor; none or two of them are a mistake."""
        names = {f"{stem}_{unit}": factor for unit, factor in units.items()}
        self.known.extend(names)
        given = [n for n in names if n in self.values]
        if len(given) == 1:
            return given[0], names[given[0]]
        if given or needed:
            found = "is missing" if not given else f"is given twice, as {' and '.join(given)}"
            first = given[-1] if given else list(names)[min(1, len(names) - 1)]
            self.wrong(first, found, f"Allowed: one of {', '.join(names)}.")
        return None

    def _speed_value(self, key: str, factor: float) -> float:
        value = self.values[key]
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 1e6:
            self.wrong(key, f"found {shown(value)}", "Allowed: a number above 0.")
            return 1.0
        return float(value) * factor

    def sub(self, key: str) -> TomlEntry | None:
        """Return the table inside this one under a key, or None when it is not given."""
        self.known.append(key)
        if key not in self.values:
            return None
        inner = self.values[key]
        if not isinstance(inner, dict):
            self.wrong(key, f"found {shown(inner)}", f"Allowed: a table, as [{'.'.join((*self.where, key))}].")
            inner = {}
        return TomlEntry(self.sheet, (*self.where, key), inner, self.mistakes, self.show)

    def subs(self) -> Iterator[tuple[str, TomlEntry]]:
        """Yield every table inside this one by its name; what is no table is a mistake."""
        for key in self.values:
            inner = self.sub(key)
            if inner is not None:
                yield key, inner

    def at(self, key: str, index: int, values: Mapping[str, Any]) -> TomlEntry:
        """Return one table of a list of tables as an entry, named by its place ('keep_out 2')."""
        inner = TomlEntry(self.sheet, (*self.where, f"{key} {index + 1}"), values, self.mistakes, self.show)
        inner.sheet.files.setdefault(inner.where, self.file(key))
        return inner

    def finish(self) -> None:
        """Note every key that was given and is not known here."""
        names = sorted(set(self.known))
        strange = [key for key in self.values if key not in names]
        for key in strange[:MOST_STRANGE]:
            self.wrong(key, "is not a key of this table", f"Allowed: {listed(names)}.", close(key, names))
        if len(strange) > MOST_STRANGE:
            self.wrong("", f"has {len(strange) - MOST_STRANGE:,} more keys that are not known", "Take them out.")


def _hint(value: object, reader: Reader[Any]) -> str:
    """Return the allowed word that a text was likely meant to be, where the reader knows a few words."""
    if not isinstance(value, str) or not isinstance(reader.blank, str):
        return ""
    words = reader.allowed.removeprefix("Allowed: ").removesuffix(".").split(", ")
    return close(value, words) if reader.blank in words else ""
