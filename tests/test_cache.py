"""Values kept in memory: by what is equal, and by the very object."""

from __future__ import annotations

from typing import Any

from engrave.cache import Cache, CacheKind

KEPT: CacheKind[str] = CacheKind("kept", 3)
OWN: CacheKind[tuple[Any, int]] = CacheKind("own", 3)


def test_equal_keys_have_one_value() -> None:
    cache = Cache()
    assert cache.get(KEPT, ("a", 1), lambda: "first") == "first"
    assert cache.get(KEPT, ("a", 1), lambda: "second") == "first"


def test_equal_objects_have_values_of_their_own() -> None:
    cache, one, other = Cache(), [1, 2], [1, 2]
    assert cache.of(OWN, one, "key", lambda: 1) == 1
    assert cache.of(OWN, other, "key", lambda: 2) == 2
    assert cache.of(OWN, one, "key", lambda: 3) == 1
    assert cache.of(OWN, one, "another", lambda: 4) == 4


def test_no_object_takes_over_what_was_kept_of_one_that_is_gone() -> None:
    """An id is given again once its object is gone: what is kept holds its object."""
    cache = Cache()
    found = [cache.of(OWN, [k], "key", lambda k=k: k) for k in range(50)]  # type: ignore[misc]
    assert found == list(range(50))
