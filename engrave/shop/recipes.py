"""Recipes: how one cutter runs in one wood by one method, written for many woods at once.

An entry names a cutter, a method and its woods; `by_wood` states what differs in one of them. A later file's entry for
the same cutter, wood and method changes only what it states, so a shop's measured figures need no copy of the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from engrave.shop.cutters import Cutter, Method
from engrave.shop.line_weights import NO_WEIGHT, line_weight
from engrave.shop.mistakes import close, listed
from engrave.shop.models import Recipe
from engrave.shop.readers import FILLED, NAMES, TEXT, YES, Reader, choice, length, number, whole
from engrave.shop.tables import Reading, TomlEntry, TomlTable, Where, without_twins

METHOD: Reader[Method] = choice("follow", "raster", "pocket", "vee")
BY: Reader[Literal["stroke", "pass"]] = choice("stroke", "pass")
DEPTH = length(0.0, 20.0, above=True)
STEP = length(0.0, 20.0, above=True)
WEB = length(0.0, 10.0, above=True)
WEIGHT = line_weight()
WEIGHT_METHOD: Reader[Method] = choice("side-by-side", "raster", "pocket", "vee")
ALL = "all"
"""Stands for every wood of the shop in a recipe's list."""

OWN_KEYS = frozenset({"cutter", "method", "woods", "by_wood"})
Triple = tuple[str, str, Method]


@dataclass(slots=True)
class _Collected:
    """What is known of one cutter in one wood by one method: each key's value and file, and the entry named last."""

    entry: str = ""
    values: dict[str, Any] = field(default_factory=dict)
    files: dict[str, Path] = field(default_factory=dict)
    given_in: dict[Path, str] = field(default_factory=dict)


def read_recipes(
    sheet: TomlTable, cutters: Mapping[str, Cutter], woods: Iterable[str], reading: Reading
) -> tuple[Recipe, ...]:
    """Return all recipes, sorted by cutter, wood and method."""
    found: dict[Triple, _Collected] = {}
    known = list(woods)
    for entry in reading.entries(sheet):
        _collect(entry, cutters, known, found)
    return tuple(_recipe(triple, got, cutters, reading) for triple, got in sorted(found.items()))


def _collect(
    entry: TomlEntry, cutters: Mapping[str, Cutter], known: list[str], found: dict[Triple, _Collected]
) -> None:
    cutter, method = entry.take("cutter", FILLED), entry.take("method", METHOD)
    woods = _woods(entry, known)
    by_wood = _by_wood(entry, woods)
    if cutter not in cutters:
        if "cutter" in entry:
            entry.wrong("cutter", f"'{cutter}' is no cutter", f"Allowed: {listed(cutters)}.", close(cutter, cutters))
        return
    possible = cutters[cutter].methods
    if method not in possible:
        kind = cutters[cutter].kind
        entry.wrong("method", f"a cutter of kind {kind} is not used by {method}", f"Allowed: {', '.join(possible)}.")
        return
    for wood in woods:
        _lay(entry, by_wood.get(wood), found.setdefault((cutter, wood, method), _Collected()), (cutter, wood, method))


def _woods(entry: TomlEntry, known: list[str]) -> list[str]:
    named = entry.take("woods", NAMES)
    woods = known if ALL in named else list(named)
    for wood in woods:
        if wood not in known and "woods" in entry:
            entry.wrong("woods", f"'{wood}' is no wood", f"Allowed: {ALL}, {listed(known)}.", close(wood, known))
    return [w for w in woods if w in known]


def _by_wood(entry: TomlEntry, woods: list[str]) -> dict[str, TomlEntry]:
    inner = entry.sub("by_wood")
    found = dict(inner.subs()) if inner else {}
    for wood in found:
        if wood not in woods and inner is not None:
            inner.wrong(wood, "is not among this entry's woods", f"Allowed: {listed(woods)}.", close(wood, woods))
    return found


def _lay(entry: TomlEntry, differs: TomlEntry | None, got: _Collected, triple: Triple) -> None:
    """Lay an entry's keys, and those that differ in this wood, over what is known."""
    file = entry.file()
    if file in got.given_in:
        cutter, wood, method = triple
        found = f"{cutter} in {wood} by {method} is already given by [{got.given_in[file]}] in this file"
        entry.wrong("woods", found, "Allowed: each cutter, wood and method once a file; use by_wood for differences.")
    got.given_in[file] = entry.id
    got.entry = entry.id
    for part in (entry, differs):
        if part is None:
            continue
        for key, value in part.values.items():
            if part is entry and key in OWN_KEYS:
                continue
            without_twins(got.values, key, part.values)
            got.values[key] = value
            got.files[key] = part.file(key)


def _recipe(triple: Triple, got: _Collected, cutters: Mapping[str, Cutter], reading: Reading) -> Recipe:
    cutter, wood, method = triple
    is_bit = not cutters[cutter].is_beam
    files: dict[Where, Path] = {(got.entry, key): file for key, file in got.files.items()}
    files[()] = next(iter(got.given_in))
    entry = TomlEntry(TomlTable("recipes", {}, files), (got.entry,), got.values, reading.mistakes, reading.show)
    depth = entry.take("depth", DEPTH)
    recipe = Recipe(
        cutter=cutter,
        wood=wood,
        method=method,
        feed=entry.speed("feed"),
        plunge=entry.speed("plunge", None if is_bit else 1.0),
        depth=depth,
        pass_depth=entry.take_or("pass_depth", DEPTH, depth),
        step_over=_needed(entry, "step_over", STEP, method == "pocket"),
        row_pitch=_needed(entry, "row_pitch", STEP, method == "raster"),
        run_out=_needed(entry, "run_out", length(0.0, 200.0), method == "raster"),
        both_ways=entry.take_or("both_ways", YES, True),
        trimmed=entry.take_or("trimmed", YES, True),
        skip_blank=entry.take_or("skip_blank", YES, True),
        blank_rapid=entry.take_or("blank_rapid", length(0.0, 1000.0), None),
        inset=entry.take_or("inset", YES, False),
        by=entry.take_or("by", BY, "stroke"),
        dwell_s=entry.take_or("dwell_s", number(0.0, 60.0, unit="s"), 0.0),
        passes=entry.take_or("passes", whole(1, 200), 1),
        power=entry.take_or("power", TEXT, ""),
        web_along=entry.take_or("web_along", WEB, None),
        web_across=entry.take_or("web_across", WEB, None),
        mark_x=entry.take_or("mark_x", WEB, None),
        mark_y=entry.take_or("mark_y", WEB, None),
        least_stroke=entry.take_or("least_stroke", WEB, None),
        line_weight=entry.take_or("line_weight", WEIGHT, NO_WEIGHT),
        weight_method=entry.take_or("weight_method", WEIGHT_METHOD, "side-by-side"),
    )
    entry.finish()
    _check_steps(entry, cutters[cutter], recipe)
    return recipe


def _check_steps(entry: TomlEntry, cutter: Cutter, recipe: Recipe) -> None:
    """Note steps so wide that wood would be left standing between one round, or row, and the next."""
    if recipe.method == "pocket" and recipe.step_over > cutter.body_width:
        found = (
            f"{recipe.step_over:g} mm is wider than the bit, {cutter.body_width:g} mm: wood would be left in between"
        )
        entry.wrong("step_over", found, "Allowed: at most the bit's diameter; two fifths of it is usual.")


def _needed(entry: TomlEntry, key: str, reader: Reader[float], needed: bool) -> float:
    return entry.take(key, reader) if needed else entry.take_or(key, reader, 0.0)
