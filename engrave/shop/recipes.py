"""Recipes: how one cutter runs in one wood by one method, written for many woods at once.

An entry names a cutter, a method and its woods; `by_wood` states what differs in one of them. A later file's entry for
the same cutter, wood and method changes only what it states, so a shop's measured figures need no copy of the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

from engrave.problems import Problem
from engrave.shop.cutters import Cutter, Method
from engrave.shop.keys import key, read_table, taken
from engrave.shop.line_weights import NO_WEIGHT, line_weight
from engrave.shop.mistakes import close, listed
from engrave.shop.readers import FILLED, NAME_LIST, TEXT, YES, Reader, choice, length, number, one_of, whole
from engrave.shop.tables import Reading, TomlEntry, TomlTable, Where, without_twins

METHOD: Reader[Method] = choice("follow", "raster", "pocket", "vee")
CutBy = Literal["stroke", "pass"]
DEPTH = length(0.0, 20.0, above=True)
STEP_OVER = length(0.0, 20.0, above=True)
RUN_OUT = length(0.0, 200.0)
RECIPE_WEB = length(0.0, 10.0, above=True)
RECIPE_WEIGHT = line_weight()
WEIGHT_METHOD: Reader[Method] = choice("side-by-side", "raster", "pocket", "vee")
ALL = "all"
"""Stands for every wood of the shop in a recipe's list."""

OWN_KEYS = frozenset({"cutter", "method", "woods", "by_wood"})
RecipeKey = tuple[str, str, Method]
"""Cutter, wood and method."""

NEEDED: dict[Method, dict[str, Reader[float]]] = {
    "pocket": {"step_over": STEP_OVER},
    "raster": {"row_pitch": STEP_OVER, "run_out": RUN_OUT},
}
"""Keys that a method cannot do without."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How one cutter runs in one wood by one method. feed, plunge mm/s; depth, step_over, row_pitch, run_out mm.

    pass_depth: depth of one pass, all of it where none is said; passes: how often a beam goes over (a bit's passes follow
    from the depths). inset: the drawing is offset inwards by half the kerf. by: 'stroke' or 'pass'.
    both_ways, trimmed, skip_blank: how raster rows are run; blank_rapid: gap in mm wider than which a blank is
    crossed at rapid (None: never). power: the shop's own note. web_along, web_across: measured on a test piece.
    web_clean: least wood between a beam's marks that stayed clean and showed there; wall_along, wall_across: least wall between
    V-cuts, at the surface; tested_depth: how deep the cuts beside them were (0: not known).
    mark_x, mark_y: width of mark measured on a test piece; least_stroke: thinnest bar that came out well.
    line_weight: how wide single lines are drawn ('auto', or a share of the capitals' height as '8 %'; '0 %': as the groove
    leaves them), where neither row nor setting says. weight_method: how lines get that width.
    """

    cutter: str
    wood: str
    method: Method
    feed: float = taken(TomlEntry.speed)
    plunge: float = taken(TomlEntry.speed)
    depth: float = key(DEPTH)
    pass_depth: float = key(DEPTH, 0.0)
    step_over: float = key(STEP_OVER, 0.0)
    row_pitch: float = key(STEP_OVER, 0.0)
    run_out: float = key(RUN_OUT, 0.0)
    both_ways: bool = key(YES, True)
    trimmed: bool = key(YES, True)
    skip_blank: bool = key(YES, True)
    blank_rapid: float | None = key(length(0.0, 1000.0), None)
    inset: bool = key(YES, False)
    by: CutBy = key(one_of(CutBy), "stroke")
    dwell_s: float = key(number(0.0, 60.0, unit="s"), 0.0)
    passes: int = key(whole(1, 200), 1)
    power: str = key(TEXT, "")
    web_along: float | None = key(RECIPE_WEB, None)
    web_across: float | None = key(RECIPE_WEB, None)
    web_clean: float | None = key(RECIPE_WEB, None)
    wall_along: float | None = key(RECIPE_WEB, None)
    wall_across: float | None = key(RECIPE_WEB, None)
    tested_depth: float = key(DEPTH, 0.0)
    mark_x: float | None = key(RECIPE_WEB, None)
    mark_y: float | None = key(RECIPE_WEB, None)
    least_stroke: float | None = key(RECIPE_WEB, None)
    line_weight: str = key(RECIPE_WEIGHT, NO_WEIGHT)
    weight_method: Method = key(WEIGHT_METHOD, "side-by-side")


@dataclass(slots=True)
class _Collected:
    """What is known of one cutter in one wood by one method: each key's value and file, and the entry named last."""

    entry: str = ""
    values: dict[str, Any] = field(default_factory=dict)
    files: dict[str, Path] = field(default_factory=dict)
    given_in: dict[Path, str] = field(default_factory=dict)


MEASURED = (
    "web_along", "web_across", "web_clean", "wall_along", "wall_across", "tested_depth", "mark_x", "mark_y", "least_stroke",
)  # fmt: skip
"""What a test piece showed of one cutter: another one that is like it must be tried itself."""


def read_recipes(
    sheet: TomlTable,
    cutters: Mapping[str, Cutter],
    woods: Iterable[str],
    reading: Reading,
    likes: Mapping[str, str],
) -> tuple[Recipe, ...]:
    """Return all recipes, sorted by cutter, wood and method.

    likes: for each cutter that started from another, that other one: it has the recipes of that one too, with its own
    keys laid over them, and a note says so. The other one need not be among the shop's cutters.
    """
    known, found = list(woods), dict[RecipeKey, _Collected]()
    for entry in reading.entries(sheet):
        _collect(entry, cutters, known, found, frozenset(likes.values()))
    for cutter in sorted(cutters, key=lambda name: len(_line(name, likes))):  # the one that it is like comes first
        if cutter in likes:
            _take_over(cutters[cutter], likes[cutter], found, reading)
    every = sorted((triple, got) for triple, got in found.items() if triple[0] in cutters)
    return tuple(_recipe(triple, got, cutters, reading) for triple, got in every)


def _line(cutter: str, likes: Mapping[str, str]) -> list[str]:
    """Return the cutters that one is like, each the next."""
    line: list[str] = []
    while cutter in likes and likes[cutter] not in line:
        cutter = likes[cutter]
        line.append(cutter)
    return line


def _take_over(cutter: Cutter, other: str, found: dict[RecipeKey, _Collected], reading: Reading) -> None:
    """Give a cutter the recipes of the one that it is like, as far as it has none of its own, and note it."""
    taken: list[str] = []
    for (_, wood, method), theirs in sorted((t, got) for t, got in found.items() if t[0] == other):
        if method not in cutter.methods:
            continue
        mine = found.get((cutter.id, wood, method), _Collected())
        base = {key: value for key, value in theirs.values.items() if key not in MEASURED}
        for stated in mine.values:
            without_twins(base, stated, mine.values)
        if not mine.values:
            taken.append(wood)
        files = {key: theirs.files[key] for key in base} | mine.files
        given = mine.given_in or theirs.given_in
        found[cutter.id, wood, method] = _Collected(mine.entry or theirs.entry, base | mine.values, files, given)
    if taken:
        says = (
            f"The cutter {cutter.id} is like {other} and has its recipes, for {listed(sorted(set(taken)))}. What was measured "
            "on a test piece is not taken over: cut one with this cutter."
        )
        reading.notes.append(Problem("recipes-like", "note", says, where="recipes.toml", value=cutter.id))


def _collect(
    entry: TomlEntry,
    cutters: Mapping[str, Cutter],
    known: list[str],
    found: dict[RecipeKey, _Collected],
    copied: frozenset[str],
) -> None:
    cutter, method = entry.take("cutter", FILLED), entry.take("method", METHOD)
    woods = _woods(entry, known)
    by_wood = _by_wood(entry, woods)
    if cutter not in cutters and cutter in copied:  # the shop has it no more, but one that is like it
        for wood in woods:
            of = (cutter, wood, method)
            _lay(entry, by_wood.get(wood), found.setdefault(of, _Collected()), of)
        return
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
    named = entry.take("woods", NAME_LIST)
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


def _lay(entry: TomlEntry, differs: TomlEntry | None, got: _Collected, triple: RecipeKey) -> None:
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
        for name, value in part.values.items():
            if part is entry and name in OWN_KEYS:
                continue
            without_twins(got.values, name, part.values)
            got.values[name] = value
            got.files[name] = part.file(name)


def _recipe(triple: RecipeKey, got: _Collected, cutters: Mapping[str, Cutter], reading: Reading) -> Recipe:
    cutter, wood, method = triple
    files: dict[Where, Path] = {(got.entry, key): file for key, file in got.files.items()}
    files[()] = next(iter(got.given_in))
    entry = TomlEntry(TomlTable("recipes", {}, files), (got.entry,), got.values, reading.mistakes, reading.show)
    known: dict[str, object] = {name: entry.take(name, reader) for name, reader in NEEDED.get(method, {}).items()}
    if cutters[cutter].is_beam:  # it has nothing to plunge
        known["plunge"] = entry.speed("plunge", 1.0)
    recipe = read_table(Recipe, entry, cutter=cutter, wood=wood, method=method, **known)
    _check_steps(entry, cutters[cutter], recipe)
    return recipe if "pass_depth" in entry else replace(recipe, pass_depth=recipe.depth)


def _check_steps(entry: TomlEntry, cutter: Cutter, recipe: Recipe) -> None:
    """Note steps so wide that wood would be left standing between one round, or row, and the next."""
    if recipe.method == "pocket" and recipe.step_over > cutter.body_width:
        found = (
            f"{recipe.step_over:g} mm is wider than the bit, {cutter.body_width:g} mm: wood would be left in between"
        )
        entry.wrong("step_over", found, "Allowed: at most the bit's diameter; two fifths of it is usual.")
