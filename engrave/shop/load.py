"""Read the shop: our own tables, the shop's over them, everything checked, every mistake told at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Protocol, TypeVar

from engrave.files import is_there, reason
from engrave.shop.cutters import read_cutter
from engrave.shop.house import read_defaults, read_intake
from engrave.shop.lids import MarginRule, read_lid
from engrave.shop.machines import read_machine
from engrave.shop.mistakes import MOST_TOLD, Mistake, ShopError, close, listed
from engrave.shop.models import Shop
from engrave.shop.old_names import renew
from engrave.shop.only_mine import keep_mine
from engrave.shop.places import own_folder
from engrave.shop.proof_words import read_proof_words
from engrave.shop.rates import read_rates
from engrave.shop.read_before import Slow, lids_and_recipes
from engrave.shop.recipes import read_recipes
from engrave.shop.settings import read_setting
from engrave.shop.tables import Reading, TomlEntry, TomlTable, few_enough, overlay, read_file, resolve_like
from engrave.shop.woods import read_wood

TABLES = ("lids", "cutters", "machines", "woods", "recipes", "rates", "settings", "intake", "defaults", "proof")
"""Names of the files, without '.toml'. A shop's folder may hold any of them."""

BY_ENTRY = ("lids", "cutters", "machines", "woods", "recipes", "settings")
"""Tables of many entries, each below its own name; the others are one entry as a whole."""


class _Named(Protocol):
    @property
    def id(self) -> str: ...


N = TypeVar("N", bound=_Named)


def load_shop(folder: Path | None = None) -> Shop:
    """Return the shop: our own tables with those of `folder` laid over them, entry by entry and key by key.

    Raises ShopError with every mistake found.
    """
    reading = Reading()
    sheets = _sheets(folder, reading)
    if reading.mistakes:
        raise ShopError(reading.mistakes)
    shop = _shop(sheets, folder, reading)
    if reading.mistakes:
        raise ShopError(dict.fromkeys(reading.mistakes))
    return shop


def _sheets(folder: Path | None, reading: Reading) -> dict[str, TomlTable]:
    sheets = {name: TomlTable(name) for name in TABLES}
    own = own_folder("shared")
    for name, sheet in sheets.items():
        file = own / f"{name}.toml"
        reading.show[file] = f"shared/{name}.toml"
        overlay(sheet, read_file(file, reading.mistakes, reading.show[file]), file)
        if folder is not None and is_there(folder / f"{name}.toml"):
            file = folder / f"{name}.toml"
            reading.show[file] = str(file)
            values = read_file(file, reading.mistakes, str(file))
            reading.notes += renew(name, values, file.name)
            overlay(sheet, values, file)
        if name in BY_ENTRY and few_enough(sheet, reading.mistakes, reading.show[file]):
            resolve_like(sheet, reading.mistakes, reading.show)
    keep_mine(sheets, folder, reading)
    if folder is not None:
        _strangers(folder, reading)
    return sheets


def _strangers(folder: Path, reading: Reading) -> None:
    """Note table files whose name is all but one of ours: they would be passed over without a word."""
    try:
        files = sorted(f for f in folder.iterdir() if f.suffix.lower() == ".toml")
    except OSError as error:
        reading.mistakes.append(Mistake(str(folder), "", "", f"cannot be opened: {reason(error)}", "Check its rights."))
        return
    for file in files:
        meant = close(file.stem, TABLES) if file.stem not in TABLES else ""
        if meant:
            names = listed(f"{t}.toml" for t in TABLES)
            reading.mistakes.append(
                Mistake(str(file), "", "", "is not one of the tables", f"Allowed: {names}.", f"{meant}.toml")
            )


def _shop(sheets: Mapping[str, TomlTable], folder: Path | None, reading: Reading) -> Shop:
    name, defaults = read_defaults(reading.only(sheets["defaults"]))
    named = folder is None or sheets["defaults"].file_of(("lid",)) == folder / "defaults.toml"
    defaults = replace(defaults, lid_of_tables=defaults.lid if named else "")
    rule = MarginRule(defaults.least_margin, defaults.margin_share)
    machines = _all(sheets["machines"], read_machine, reading)
    cutters = _all(sheets["cutters"], read_cutter, reading)
    woods = _all(sheets["woods"], read_wood, reading)
    settings = _all(sheets["settings"], read_setting, reading)
    told = len(reading.notes)

    def slow() -> Slow:
        lids = _all(sheets["lids"], lambda e: read_lid(e, rule), reading)
        return lids, read_recipes(sheets["recipes"], cutters, woods, reading, sheets["cutters"].likes)

    def is_sound() -> bool:
        return not reading.mistakes and len(reading.notes) == told

    lids, recipes = slow() if folder is not None else lids_and_recipes(slow, is_sound)
    rates = read_rates(reading.only(sheets["rates"]))
    shop = Shop(
        name=name,
        lids=lids,
        cutters=cutters,
        machines=machines,
        woods=woods,
        recipes=recipes,
        rates=rates,
        settings=settings,
        intake=read_intake(reading.only(sheets["intake"])),
        defaults=defaults,
        proof=read_proof_words(reading.only(sheets["proof"])),
        sources=_sources(sheets, reading),
        notes=(*reading.notes, *(p for lid in lids.values() for p in lid.problems)),
        own_cutters=_own_cutters(sheets, folder, cutters),
    )
    _check_references(shop, sheets, reading)
    return shop


def _all(sheet: TomlTable, read: Callable[[TomlEntry], N], reading: Reading) -> dict[str, N]:
    return {entry.id: read(entry) for entry in reading.entries(sheet)}


def _sources(sheets: Mapping[str, TomlTable], reading: Reading) -> dict[str, str]:
    out: dict[str, str] = {}
    for table in BY_ENTRY:
        for name in sheets[table].values:
            file = sheets[table].file_of((name,))
            out[f"{table}/{name}"] = reading.show.get(file, file.name)
    if "typeface" in sheets["intake"].values.get("values", {}):
        file = sheets["intake"].file_of(("values", "typeface"))
        out["intake"] = reading.show.get(file, file.name)
    for key in sheets["defaults"].values:
        file = sheets["defaults"].file_of((key,))
        out[f"defaults/{key}"] = reading.show.get(file, file.name)
    return out


def _own_cutters(sheets: Mapping[str, TomlTable], folder: Path | None, cutters: Mapping[str, object]) -> frozenset[str]:
    """Return the cutters that the shop's own files name; none where they name none, as then ours stand for its own."""
    if folder is None:
        return frozenset()
    named = {name for name in sheets["cutters"].values if sheets["cutters"].file_of((name,)).parent == folder}
    for table in ("recipes", "lids"):
        for name, values in sheets[table].values.items():
            if isinstance(values, dict) and sheets[table].file_of((name, "cutter")).parent == folder:
                named.add(str(values.get("cutter")))
    if sheets["defaults"].file_of(("cutter",)).parent == folder:
        named.add(str(sheets["defaults"].values.get("cutter")))
    return frozenset(named & set(cutters))


def _check_references(shop: Shop, sheets: Mapping[str, TomlTable], reading: Reading) -> None:
    """Note every name in one table that is no entry of the other table it points to."""
    for cutter in shop.cutters.values():
        _points(reading, sheets["cutters"], (cutter.id,), "machine", cutter.machine, shop.machines)
    for lid in shop.lids.values():
        _points(reading, sheets["lids"], (lid.id,), "wood", lid.wood, shop.woods)
        _points(reading, sheets["lids"], (lid.id,), "cutter", lid.cutter, shop.cutters)
        for i, area in enumerate(lid.areas):
            where = (lid.id,) if i == 0 else (lid.id, "areas", area.name)
            _points(reading, sheets["lids"], where, "setting", area.setting, shop.settings)
    for machine in shop.rates.machine_hour:
        _points(reading, sheets["rates"], ("machine_hour",), machine, machine, shop.machines)
    for machine in shop.machines:
        if machine not in shop.rates.machine_hour:
            entry = TomlEntry(sheets["rates"], ("machine_hour",), {}, reading.mistakes, reading.show)
            entry.wrong(machine, "is missing", "Every machine needs its rate an hour.")
    _points(reading, sheets["defaults"], (), "lid", shop.defaults.lid, shop.lids)
    _points(reading, sheets["defaults"], (), "wood", shop.defaults.wood, shop.woods)
    _points(reading, sheets["defaults"], (), "cutter", shop.defaults.cutter, shop.cutters)
    _points(reading, sheets["defaults"], (), "setting", shop.defaults.setting, shop.settings)
    known = {"lid": shop.lids, "wood": shop.woods, "cutter": shop.cutters, "setting": shop.settings}
    for column, entries in known.items():
        for text, ident in shop.intake.values.get(column, {}).items():
            _points(reading, sheets["intake"], ("values", column), text, ident, entries)


def _points(
    reading: Reading, sheet: TomlTable, where: tuple[str, ...], key: str, value: str | None, known: Mapping[str, object]
) -> None:
    if value is None or value in known:
        return
    entry = TomlEntry(sheet, where, {}, reading.mistakes, reading.show)
    hint = close(value, known) if len(reading.mistakes) < MOST_TOLD else ""
    entry.wrong(key, f"'{value}' is not in the shop's tables", f"Allowed: {listed(known)}.", hint)
