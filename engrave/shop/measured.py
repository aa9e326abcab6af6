"""What a shop measured on a test piece, put into its own table of recipes; comments and all else stay as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError

from engrave.shop.models import Method

FIGURES = {"along": ("web_along",), "across": ("web_across",), "mark": ("mark_x", "mark_y"), "mark_x": ("mark_x",),
           "mark_y": ("mark_y",), "stroke": ("least_stroke",)}  # fmt: skip
"""Words of the test piece's sheet, and the keys of a recipe that they fill."""


def with_figures(text: str, cutter: str, wood: str, methods: Sequence[Method], figures: Mapping[str, float]) -> str:
    """Return the text of a shop's recipes.toml with figures (FIGURES, mm) for a cutter in a wood, for each method.

    They go into the entry that the table has for them: under `by_wood` if it is for several woods. Else into an entry
    of their own, which changes nothing but these figures. Raises ValueError if the text is no TOML.
    """
    try:
        document = tomlkit.parse(text)
    except ParseError as error:
        raise ValueError(str(error)) from error
    for method in methods:
        place = _place(document, cutter, wood, method)
        for word, value in figures.items():
            for key in FIGURES[word]:
                place[key] = value
    return tomlkit.dumps(document)


def _place(document: Any, cutter: str, wood: str, method: Method) -> Any:
    """Return the table into which the figures of one method go, made if need be."""
    for entry in document.values():
        if isinstance(entry, dict) and (entry.get("cutter"), entry.get("method")) == (cutter, method):
            woods = entry.get("woods", [])
            woods = [woods] if isinstance(woods, str) else list(woods)
            if woods == [wood]:
                return entry
            if wood in woods or "all" in woods:
                return _under(entry, wood)
    name = f"{cutter}-{wood}-{method}"
    while name in document:
        name += "-measured"
    document[name] = tomlkit.table()
    document[name].update({"cutter": cutter, "method": method, "woods": [wood]})
    return document[name]


def _under(entry: Any, wood: str) -> Any:
    if "by_wood" not in entry:
        entry["by_wood"] = tomlkit.table()
    if wood not in entry["by_wood"]:
        entry["by_wood"][wood] = tomlkit.inline_table()
    return entry["by_wood"][wood]
