"""Long lists and maps on disk behave as those in memory do, and hold nothing there."""

from __future__ import annotations

import tracemalloc
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave import on_disk
from engrave.on_disk import DiskList, DiskMap, HeldList, Places, long_list, places_to_fill
from tests.promises import promised

THINGS = st.one_of(st.text(), st.integers(), st.tuples(st.text(), st.floats(allow_nan=False)), st.none())


@given(st.lists(THINGS), st.data())
def test_a_list_on_disk_is_as_one_in_memory(things: list[object], data: st.DataObject) -> None:
    found = DiskList(things)
    assert (list(found), len(found), found.filled) == (things, len(things), len(things))
    assert found[1:] == things[1:]
    if things:
        place = data.draw(st.integers(0, len(things) - 1))
        assert found[place] == things[place]
        found[place] = things[place] = data.draw(THINGS)
        assert list(found) == things
        assert found.filled == len(things)


def test_places_are_filled_in_any_order_and_an_empty_one_says_so() -> None:
    found: DiskList[str] = DiskList(places=3)
    found[2], found[0] = "c", "a"
    assert (found.filled, found[2], found[0]) == (2, "c", "a")
    with pytest.raises(LookupError, match="place 1"):
        list(found)


@pytest.mark.parametrize("few", [3, 2])
def test_places_of_a_short_list_are_in_memory_and_no_different(few: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(on_disk, "FEW_PLACES", few)
    found: Places[str] = places_to_fill(3)
    assert isinstance(found, HeldList if few == 3 else DiskList)
    found[2], found[0] = "c", "a"
    found[-1] = "d"
    assert (len(found), found.filled, found[2], found[-3], found[::2]) == (3, 2, "d", "a", ["a", "d"])
    for missing in (1, 3):
        with pytest.raises(LookupError):
            _ = found[missing]
    with pytest.raises(LookupError):
        list(found)
    found[1] = "b"
    assert (list(found), list(reversed(found)), "b" in found) == (["a", "b", "d"], ["d", "b", "a"], True)


@dataclass(frozen=True)
class _Held:
    lid: _Lid


@dataclass(frozen=True)
class _Lid:
    name: str


def test_what_things_share_comes_back_as_the_very_same() -> None:
    lid, other = _Lid("box"), _Lid("box")
    found = DiskList([_Held(lid), _Held(other)], shared=[lid])
    assert found[0].lid is lid
    assert found[1].lid is not other


def test_few_things_stay_in_memory_and_many_do_not(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(on_disk, "FEW_THINGS", 3)
    assert long_list("abc") == ("a", "b", "c")
    assert isinstance(long_list("abcd"), DiskList)
    assert list(long_list(iter("abcd"))) == list("abcd")


NAMES = st.text(st.characters(), max_size=4)  # lone surrogates too: a list that was tampered with may hold them
WORDS = st.frozensets(st.text(st.sampled_from("abc123"), min_size=1, max_size=3), max_size=3)


@given(st.lists(st.tuples(st.sampled_from(["put", "take"]), NAMES, WORDS)))
def test_a_map_on_disk_is_as_one_in_memory(doings: list[tuple[str, str, frozenset[str]]]) -> None:
    found, known = DiskMap(), dict[str, frozenset[str]]()
    for what, name, words in doings:
        assert (name in found, found.get(name)) == (name in known, known.get(name))
        if what == "put":
            found[name] = known[name] = words
        else:
            assert found.pop(name, None) == known.pop(name, None)
    assert list(found.items()) == list(known.items())
    assert list(found.sorted_items()) == sorted(known.items())
    assert len(found) == len(known)


@promised("A long one is made on one computer too, with little of it in memory at a time.")
def test_long_lists_take_no_memory() -> None:
    tracemalloc.start()
    found = DiskList(f"{i} {'x' * 200}" for i in range(20_000))
    names = DiskMap((f"lids/{i}.svg", ["a" * 64]) for i in range(20_000))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (len(found), len(names)) == (20_000, 20_000)
    assert most < 2_000_000  # in memory they are 12 MB
