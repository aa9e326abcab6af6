"""Values worked out once and kept in memory, by kind and key. The environment holds one; nothing depends on what is in it."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class CacheKind(Generic[T]):
    """A kind of value, T. at_most: how many are kept; when they are full, all of the kind are let go."""

    name: str
    at_most: int


class Cache:
    """Values by kind and key: equal keys must mean equal values, so that a full, an empty and no cache are the same."""

    def __init__(self) -> None:
        """Begin empty."""
        self._kept: dict[str, dict[Hashable, Any]] = {}

    def get(self, kind: CacheKind[T], key: Hashable, make: Callable[[], T]) -> T:
        """Return the value kept under the key, or make, keep and return it."""
        kept: dict[Hashable, T] = self._kept.setdefault(kind.name, {})
        if key not in kept:
            value = make()
            if len(kept) >= kind.at_most:
                kept.clear()
            kept[key] = value
        return kept[key]

    def of(self, kind: CacheKind[tuple[Any, T]], whose: object, key: Hashable, make: Callable[[], T]) -> T:
        """Return the value kept of this very object, not of its equals, and a key; or make, keep and return it.

        For what is large to compare. The object is kept with its value, so that no other has its id meanwhile.
        """
        return self.get(kind, (id(whose), key), lambda: (whose, make()))[1]
