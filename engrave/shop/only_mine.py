"""A shop that wants none of our examples: `only_mine` in defaults.toml leaves out what its own tables do not name.

What hangs on an entry of ours that goes (the recipes of a cutter, the rate of a machine, the option texts for a lid) goes
with it. What the shop itself wrote stays, and points into the void if it named one of ours: that is then a mistake as any.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from engrave.shop.tables import Reading, TomlEntry, TomlTable

OWN_KINDS = ("lids", "cutters", "machines", "woods")
"""Tables that can be the shop's own alone."""

ALLOWED_TABLES = f'Allowed: a list of {", ".join(OWN_KINDS)}, as ["lids", "cutters"].'


def keep_mine(sheets: Mapping[str, TomlTable], folder: Path | None, reading: Reading) -> None:
    """Take out of the tables named in `only_mine` what the shop's own files do not name, and what hangs on it."""
    asked = sheets["defaults"].values.get("only_mine", [])
    if not isinstance(asked, list) or not all(isinstance(kind, str) and kind in OWN_KINDS for kind in asked):
        TomlEntry(sheets["defaults"], (), {}, reading.mistakes, reading.show).wrong(
            "only_mine", f"found {asked!r}", ALLOWED_TABLES
        )
        return
    if folder is None:
        return
    gone = {kind: _dropped(sheets[kind], folder, {}) if kind in asked else set() for kind in OWN_KINDS}
    gone["cutters"] |= _dropped(sheets["cutters"], folder, {"machine": gone["machines"]})
    gone["lids"] |= _dropped(sheets["lids"], folder, {"wood": gone["woods"], "cutter": gone["cutters"]})
    _dropped(sheets["recipes"], folder, {"cutter": gone["cutters"] - copied_from(sheets["cutters"])})
    _without_woods(sheets["recipes"], folder, gone["woods"])
    hours = sheets["rates"].values.get("machine_hour")
    if isinstance(hours, dict):
        for machine in [m for m in hours if m in gone["machines"]]:
            del hours[machine]
    _without_texts(sheets["intake"], gone)


def copied_from(cutters: TomlTable) -> set[str]:
    """Return the cutters whose recipes another one takes, being like it: those stay, though the cutter itself goes."""
    found: set[str] = set()
    for name in cutters.values:
        while name in cutters.likes and cutters.likes[name] not in found:
            name = cutters.likes[name]
            found.add(name)
    return found


def _is_mine(table: TomlTable, where: tuple[str, ...], folder: Path) -> bool:
    return table.file_of(where).parent == folder


def _dropped(table: TomlTable, folder: Path, naming: Mapping[str, set[str]]) -> set[str]:
    """Drop entries of ours and return their names: all of them, or those that name what is gone under one of the keys."""
    out = set()
    for name, values in list(table.values.items()):
        said = values if isinstance(values, dict) else {}
        named = not naming or any(isinstance(said.get(key), str) and said[key] in gone for key, gone in naming.items())
        if named and not _is_mine(table, (name,), folder):
            del table.values[name]
            out.add(name)
    return out


def _without_woods(recipes: TomlTable, folder: Path, gone: set[str]) -> None:
    """Take woods that are gone out of our recipes; a recipe without any goes."""
    for name, values in list(recipes.values.items()):
        if not isinstance(values, dict) or not gone or _is_mine(recipes, (name,), folder):
            continue
        woods = values.get("woods")
        named = woods if isinstance(woods, list) else [woods]
        kept = [w for w in named if not (isinstance(w, str) and w in gone)]
        if not kept:
            del recipes.values[name]
            continue
        values["woods"] = kept
        if isinstance(values.get("by_wood"), dict):
            values["by_wood"] = {wood: said for wood, said in values["by_wood"].items() if wood not in gone}


def _without_texts(intake: TomlTable, gone: Mapping[str, set[str]]) -> None:
    """Take out option texts of ours that mean what is gone."""
    by_column: Any = intake.values.get("values")
    for column, kind in (("lid", "lids"), ("wood", "woods"), ("cutter", "cutters")):
        texts = by_column.get(column) if isinstance(by_column, dict) else None
        if isinstance(texts, dict):
            for text in [t for t, ident in texts.items() if isinstance(ident, str) and ident in gone[kind]]:
                del texts[text]
