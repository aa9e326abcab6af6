"""Lids and recipes of our own tables as they were read before: most of what it takes to open the shop."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

import shapely

from engrave.kept_data import file_of_library, made_ready
from engrave.shop.lid_values import Lid
from engrave.shop.places import own_folder
from engrave.shop.recipes import Recipe
from engrave.stored import as_plain, read_as

SHOP_READ_BY = ("shop/*.py", "geometry/*.py", "stored.py", "units.py", "xml_tree.py")
"""Modules of ours that make of tables and drawings what they are: what was kept counts while none has changed by a letter."""

Slow = tuple[Mapping[str, Lid], tuple[Recipe, ...]]
"""Lids by id, and all recipes."""


def lids_and_recipes(read: Callable[[], Slow], is_sound: Callable[[], bool]) -> Slow:
    """Return the lids and recipes of our own tables, from an earlier run if they were read then and are as they were.

    read: reads them now. is_sound: tells after it whether nothing was found that must be told again each time.
    """
    now: list[Slow] = []

    def make() -> Any:
        now.append(read())
        return _told(*now[0]) if is_sound() else None

    plain = made_ready("shop", _sources(), make, f"geos {shapely.geos_version_string}")
    if now:
        return now[0]
    try:
        return _from(plain)
    except (KeyError, TypeError, ValueError):
        return read()  # nothing was kept, or nothing that is of a shop


def _sources() -> list[Path]:
    """Return our tables and drawings, and the modules that read them."""
    package = Path(__file__).parents[1]
    ours = sorted([*own_folder("shared").glob("*.*"), *(file for some in SHOP_READ_BY for file in package.glob(some))])
    drawings = file_of_library("svgelements", "svgelements.py")
    return [*ours, *drawings, *file_of_library("pathops", "_version.py"), *file_of_library("numpy", "version.py")]


def _told(lids: Mapping[str, Lid], recipes: tuple[Recipe, ...]) -> Any:
    """Return both as JSON can hold them; recipes, of which there are hundreds, as rows."""
    rows = [[getattr(one, name) for name in _keys()] for one in recipes]
    return {"lids": as_plain(list(lids.values())), "keys": _keys(), "recipes": rows}


def _from(plain: Any) -> Slow:
    if plain["keys"] != _keys():
        raise ValueError("recipes of other keys")
    lids = [read_as(Lid, one) for one in plain["lids"]]
    recipes = tuple(Recipe(**dict(zip(plain["keys"], row, strict=True))) for row in plain["recipes"])
    return {lid.id: lid for lid in lids}, recipes


def _keys() -> list[str]:
    return [field.name for field in fields(Recipe)]
