"""Long lists and maps of which only what is asked for is in memory: a hundred thousand orders on an ordinary computer."""

from __future__ import annotations

import errno
import io
import pickle
from abc import ABC, abstractmethod
from array import array
from collections.abc import Iterable, Iterator, Mapping, MutableMapping, Sequence
from contextlib import contextmanager
from itertools import chain, islice
from typing import TYPE_CHECKING, Any, Generic, TypeVar, overload
from weakref import finalize

if TYPE_CHECKING:
    import sqlite3

T = TypeVar("T")

FEW_THINGS = 2_000
"""Things up to which a list is simply held in memory: more rows than a small shop has in a month."""

FEW_PLACES = 1_000
"""Places up to which what is made of a week's pieces is held in memory: beside all else that a run holds, some 10 MB."""

_NOWHERE = -1


def long_list(things: Iterable[T], shared: Iterable[object] = ()) -> Sequence[T]:
    """Return things as a list: in memory if they are few, otherwise on disk. shared: see `DiskList`."""
    source = iter(things)
    few = tuple(islice(source, FEW_THINGS + 1))
    return few if len(few) <= FEW_THINGS else DiskList(chain(few, source), shared)


def places_to_fill(places: int, shared: Iterable[object] = ()) -> Places[T]:
    """Return a list with so many places, filled by and by: in memory if they are few, otherwise on disk.

    What is read back from the disk is put together anew each time, and a week's pieces are gone through twenty times.
    """
    return HeldList(places) if places <= FEW_PLACES else DiskList(places=places, shared=shared)


class Places(Sequence[T], ABC, Generic[T]):
    """A list with places that are filled by and by. filled: how many have their thing."""

    filled: int

    @abstractmethod
    def __setitem__(self, place: int, thing: T) -> None:
        """Put a thing into its place, whether or not one is there."""

    @abstractmethod
    def _read(self, place: int) -> T:
        """Return the thing in a place from 0. Raises LookupError where none is."""

    @overload
    def __getitem__(self, place: int) -> T: ...

    @overload
    def __getitem__(self, place: slice) -> list[T]: ...

    def __getitem__(self, place: int | slice) -> T | list[T]:
        """Return the thing in a place, or those in several. Raises LookupError where a place is empty."""
        where = range(len(self))[place]
        return [self._read(i) for i in where] if isinstance(where, range) else self._read(where)

    def __iter__(self) -> Iterator[T]:
        """Yield the things in their order, each when it is its turn."""
        for place in range(len(self)):
            yield self._read(place)


class HeldList(Places[T]):
    """Places of which all is in memory."""

    def __init__(self, places: int) -> None:
        """Begin with so many empty places."""
        self._things: dict[int, T] = {}
        self._places = places
        self.filled = 0

    def __setitem__(self, place: int, thing: T) -> None:
        """Put a thing into its place, whether or not one is there."""
        self._things[range(self._places)[place]] = thing
        self.filled = len(self._things)

    def __len__(self) -> int:
        """Return how many places there are, filled or not."""
        return self._places

    def _read(self, place: int) -> T:
        return self._things[place]


class DiskList(Places[T]):
    """A list whose things lie in a temporary file that goes with it; each is read anew whenever it is asked for.

    shared: objects that many things have in common, such as the shop's lids: they are held once, and what is read is of
    these very objects. Things must be picklable. Raises OSError where the file cannot be written or read.
    """

    def __init__(self, things: Iterable[T] = (), shared: Iterable[object] = (), places: int = 0) -> None:
        """Begin with these things, or with so many places that are filled by and by."""
        self._shared = tuple(shared)
        self._number = {id(one): number for number, one in enumerate(self._shared)}
        import tempfile  # short lists lie in no file

        self._file = tempfile.TemporaryFile(buffering=0)  # noqa: SIM115  # it lives as long as the list
        finalize(self, self._file.close)
        self._end = 0
        self._begins = array("q", [_NOWHERE]) * places
        self._sizes = array("q", [0]) * places
        self.filled = 0
        for thing in things:
            self.append(thing)

    def append(self, thing: T) -> None:
        """Add a thing at the end."""
        self._begins.append(_NOWHERE)
        self._sizes.append(0)
        self[len(self._begins) - 1] = thing

    def __setitem__(self, place: int, thing: T) -> None:
        """Put a thing into its place, whether or not one is there."""
        data = self._packed(thing)
        self.filled += self._begins[place] == _NOWHERE
        self._file.seek(self._end)
        rest = memoryview(data)
        while rest:  # a raw file may take a part only
            rest = rest[self._file.write(rest) :]
        self._begins[place], self._sizes[place] = self._end, len(data)
        self._end += len(data)

    def __len__(self) -> int:
        """Return how many places there are, filled or not."""
        return len(self._begins)

    def _read(self, place: int) -> T:
        begin, size = self._begins[place], self._sizes[place]
        if begin == _NOWHERE:
            raise LookupError(f"place {place} is empty")
        self._file.seek(begin)
        data = bytearray()
        while len(data) < size and (some := self._file.read(size - len(data))):
            data += some
        thing: T = _Reader(io.BytesIO(data), self._shared).load() if self._shared else pickle.loads(data)
        return thing

    def _packed(self, thing: T) -> bytes:
        if not self._shared:
            return pickle.dumps(thing, pickle.HIGHEST_PROTOCOL)  # a third of the time: nothing is asked of each part
        out = io.BytesIO()
        _Writer(out, self._number).dump(thing)
        return out.getvalue()


class _Writer(pickle.Pickler):
    """Writes numbers in place of the shared objects."""

    def __init__(self, out: io.BytesIO, number: dict[int, int]) -> None:
        super().__init__(out, pickle.HIGHEST_PROTOCOL)
        self._number = number

    def persistent_id(self, one: Any) -> int | None:
        return self._number.get(id(one))


class _Reader(pickle.Unpickler):
    """Puts the shared objects back."""

    def __init__(self, data: io.BytesIO, shared: Sequence[object]) -> None:
        super().__init__(data)
        self._shared = shared

    def persistent_load(self, number: Any) -> object:
        return self._shared[number]


class DiskMap(MutableMapping[str, frozenset[str]]):
    """Sets of words by name, in the order in which the names came, in a temporary database that goes with it.

    Raises OSError where it cannot be written or read.
    """

    def __init__(self, items: Mapping[str, Iterable[str]] | Iterable[tuple[str, Iterable[str]]] = ()) -> None:
        """Begin with these. Words hold no spaces."""
        import sqlite3

        with _as_of_the_disk():
            self._base = sqlite3.connect("", isolation_level=None)  # '': a file of its own that nobody else sees
            finalize(self, self._base.close)
            for line in ("PRAGMA journal_mode=OFF", "PRAGMA synchronous=OFF", "PRAGMA cache_size=-4000"):
                self._base.execute(line)
            self._base.execute(
                "CREATE TABLE held (number INTEGER PRIMARY KEY, name BLOB UNIQUE NOT NULL, words TEXT NOT NULL)"
            )
        for name, words in items.items() if isinstance(items, Mapping) else items:
            self[name] = frozenset(words)

    def __getitem__(self, name: str) -> frozenset[str]:
        """Return a name's words. Raises KeyError if it is not there."""
        found = self._asked("SELECT words FROM held WHERE name = ?", _bytes(name)).fetchone()
        if found is None:
            raise KeyError(name)
        return frozenset(found[0].split())

    def __setitem__(self, name: str, words: Iterable[str]) -> None:
        """Give a name its words; one that is there already keeps its place."""
        told = " ".join(sorted(words))
        self._asked(
            "INSERT INTO held (name, words) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET words = excluded.words",
            _bytes(name),
            told,
        )

    def __delitem__(self, name: str) -> None:
        """Let a name go. Raises KeyError if it is not there."""
        if not self._asked("DELETE FROM held WHERE name = ?", _bytes(name)).rowcount:
            raise KeyError(name)

    def __iter__(self) -> Iterator[str]:
        """Yield the names in the order in which they came."""
        return (name for name, _ in self._rows("number"))

    def __len__(self) -> int:
        """Return how many names there are."""
        return int(self._asked("SELECT count(*) FROM held").fetchone()[0])

    def __contains__(self, name: object) -> bool:
        """Tell whether a name is there."""
        return isinstance(name, str) and bool(self._asked("SELECT 1 FROM held WHERE name = ?", _bytes(name)).fetchone())

    def sorted_items(self) -> Iterator[tuple[str, frozenset[str]]]:
        """Yield (name, words) by name."""
        return self._rows("name")

    def _rows(self, by: str) -> Iterator[tuple[str, frozenset[str]]]:
        rows = self._asked(f"SELECT name, words FROM held ORDER BY {by}")
        with _as_of_the_disk():
            yield from (
                (bytes(name).decode("utf-8", "surrogatepass"), frozenset(words.split())) for name, words in rows
            )

    def _asked(self, what: str, *values: bytes | str) -> sqlite3.Cursor:
        with _as_of_the_disk():
            return self._base.execute(what, values)


def _bytes(name: str) -> bytes:
    """Return a name as it is held: a list that was tampered with may hold what is no text."""
    return name.encode("utf-8", "surrogatepass")


@contextmanager
def _as_of_the_disk() -> Iterator[None]:
    """Tell what the database says as the system would tell it of a file."""
    import sqlite3

    try:
        yield
    except sqlite3.Error as error:
        full = "full" in str(error)
        raise OSError(errno.ENOSPC if full else errno.EIO, f"the temporary file of a long list: {error}") from error
