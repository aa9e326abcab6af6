"""What a shop measured on a test piece, put into its own table of recipes; comments and all else stay as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError

from engrave.shop.models import Method
from engrave.shop.places import own_folder

FIGURE_KEYS = {"along": ("web_along",), "across": ("web_across",), "clean": ("web_clean",), "clean_lines": ("web_clean",),
           "wall_along": ("wall_along",), "wall_across": ("wall_across",), "mark": ("mark_x", "mark_y"),
           "mark_x": ("mark_x",), "mark_y": ("mark_y",), "stroke": ("least_stroke",)}  # fmt: skip
"""Words of the test piece's sheet, and the keys of a recipe that they fill."""

ONLY_BY: dict[str, Method] = {"clean_lines": "follow", "wall_along": "vee", "wall_across": "vee"}
"""Figures of one method: lines leave other char than areas, and only a V-bit leaves walls that widen downwards."""

BESIDE_CUTS = frozenset({"along", "across", "clean", "clean_lines", "wall_along", "wall_across"})
"""Figures of wood that stood beside cuts: how deep those were is kept with them."""


def with_figures(
    text: str, cutter: str, wood: str, methods: Sequence[Method], figures: Mapping[str, float],
    depths: Mapping[Method, float] | None = None,
) -> str:  # fmt: skip
    """Return the text of a shop's recipes.toml with figures (FIGURE_KEYS, mm) for a cutter in a wood, for each method.

    They go into the entry that the table has for them, also where that only changes one of ours or is `like` another:
    under `by_wood` if it is for several woods. Else into an entry
    of their own, which changes nothing but these figures. depths: mm that the test piece was cut deep by a method, kept
    beside what it says of wood. Raises ValueError if the text is no TOML.
    """
    try:
        document = tomlkit.parse(text)
    except ParseError as error:
        raise ValueError(str(error)) from error
    ours = tomlkit.parse((own_folder("shared") / "recipes.toml").read_text(encoding="utf-8")).unwrap()
    for method in methods:
        of_this = {word: value for word, value in figures.items() if ONLY_BY.get(word, method) == method}
        if not of_this:
            continue
        place = _place(document, ours, cutter, wood, method)
        for word, value in sorted(of_this.items(), key=lambda pair: pair[0] in ONLY_BY):
            for key in FIGURE_KEYS[word]:
                place[key] = value
        if depths and method in depths and BESIDE_CUTS & of_this.keys():
            place["tested_depth"] = round(depths[method], 4)
    return tomlkit.dumps(document)


def _place(document: Any, ours: Mapping[str, Any], cutter: str, wood: str, method: Method) -> Any:
    """Return the table into which the figures of one method go, made if need be.

    ours: the entries that came with the package, over which an entry of the same name lies and from which another may
    start with `like`: cutter, method and woods may be stated there alone.
    """
    for name, entry in document.items():
        if not isinstance(entry, dict):
            continue
        if [_stated(document, ours, name, key) for key in ("cutter", "method")] == [cutter, method]:
            woods = _stated(document, ours, name, "woods") or []
            woods = [woods] if isinstance(woods, str) else list(woods)
            copied = any(isinstance(e, dict) and e.get("like") == name for e in document.values())
            if woods == [wood] and not copied:  # else the figures would go on to the woods of what is like it
                return entry
            if wood in woods or "all" in woods:
                return _under(entry, wood)
    name = f"{cutter}-{wood}-{method}"
    while name in document:
        name += "-measured"
    document[name] = tomlkit.table()
    document[name].update({"cutter": cutter, "method": method, "woods": [wood]})
    return document[name]


def _stated(document: Any, ours: Mapping[str, Any], name: str, key: str, chain: tuple[str, ...] = ()) -> Any:
    """Return what an entry says under a key: itself, or ours of its name, or the one that it is like; None if none."""
    for entry in (document.get(name), ours.get(name)):
        if isinstance(entry, dict) and key in entry:
            return entry[key]
    like = None if key == "like" else _stated(document, ours, name, "like")
    return _stated(document, ours, like, key, (*chain, name)) if like and like not in chain else None


def _under(entry: Any, wood: str) -> Any:
    if "by_wood" not in entry:
        entry["by_wood"] = tomlkit.table()
    if wood not in entry["by_wood"]:
        entry["by_wood"][wood] = tomlkit.inline_table()
    return entry["by_wood"][wood]
