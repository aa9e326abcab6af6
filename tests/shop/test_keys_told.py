"""Every key that a table may have is told in the comment above it."""

from __future__ import annotations

import re
from collections import defaultdict

import pytest

from engrave.shop import load_shop
from engrave.shop.load import BY_ENTRY, TABLES
from engrave.shop.places import own_folder
from engrave.shop.readers import PUSH_UNITS, SPEED_UNITS
from engrave.shop.tables import TomlEntry


@pytest.fixture(scope="module")
def keys() -> dict[str, set[str]]:
    """Return the keys that each table's readers ask for."""
    found: dict[str, set[str]] = defaultdict(set)
    finish = TomlEntry.finish

    def noted(entry: TomlEntry) -> None:
        found[entry.sheet.name] |= set(entry.known)
        finish(entry)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TomlEntry, "finish", noted)
        load_shop()
    return found


def _comments(table: str) -> str:
    """Return the comment above a table's entries; for a file that is one entry all its comments, and its keys."""
    text = (own_folder("shared") / f"{table}.toml").read_text("utf-8")
    if table in BY_ENTRY and table != "settings":  # its first entry has a comment beside each key
        text = re.split(r"(?m)^\[", text, maxsplit=1)[0]
    return text


def _stem(key: str) -> str:
    """Return what a key is called without its unit: feed_mm_s is told as feed, with the units beside it."""
    for unit in (*SPEED_UNITS, *PUSH_UNITS):
        key = key.removesuffix(f"_{unit}")
    return key


@pytest.mark.parametrize("table", TABLES)
def test_every_key_is_told_above_its_table(keys: dict[str, set[str]], table: str) -> None:
    words = set(re.findall(r"[a-z][a-z_0-9]*", _comments(table)))
    names = words | {_stem(w) for w in words}
    missing = sorted({_stem(k) for k in keys[table]} - names)
    assert not missing


@pytest.mark.parametrize("table", ["machines", "recipes"])
def test_every_unit_of_speed_is_told(table: str) -> None:
    for unit in SPEED_UNITS:
        assert unit in _comments(table)
