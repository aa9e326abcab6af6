"""A learned machine written into the shop's own table of machines, the old table kept beside it."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

import tomlkit

from engrave.timing.learn import Learned

TABLE = "machines.toml"


def save_machine(folder: Path, machine_id: str, learned: Learned) -> tuple[Path, Path | None]:
    """Write the learned figures under [machine_id] in the shop's machines.toml; all else in it stays as it is.

    Returns (the table, the copy of what it was: 'machines.toml.before-1' and so on; None if there was none). Written
    beside and renamed, so that a stop halfway leaves the old table. Raises OSError or tomlkit's ParseError.
    """
    table = folder / TABLE
    document = tomlkit.parse(table.read_text(encoding="utf-8")) if table.exists() else _begun()
    if machine_id not in document:
        document[machine_id] = tomlkit.table()
    entry: Any = document[machine_id]
    for key, value in _figures(learned).items():
        entry[key] = value
    kept = _keep(table) if table.exists() else None
    _replace(table, tomlkit.dumps(document))
    return table, kept


def _begun() -> tomlkit.TOMLDocument:
    document = tomlkit.document()
    document.add(tomlkit.comment("Our machines, as far as they differ from the tables that came with the program."))
    return document


def _figures(learned: Learned) -> dict[str, Any]:
    """Return what was learned by the table's keys, to four digits: more would claim what no stop-watch tells."""
    m = learned.machine
    figures: dict[str, Any] = {"scale": _digits(m.scale), "scatter": _digits(m.scatter)}
    if len(learned.fitted) > 1:
        figures["amax_mm_s2"] = [_digits(a) for a in m.amax]
        figures |= {"delta": _digits(m.delta), "stroke_s": _digits(m.stroke_s), "fixed_s": _digits(m.fixed_s)}
    return figures


def _digits(value: float) -> float:
    return float(f"{value:.4g}")


def _keep(table: Path) -> Path:
    n = 1
    while (kept := table.with_name(f"{table.name}.before-{n}")).exists():
        n += 1
    shutil.copy2(table, kept)
    return kept


def _replace(table: Path, text: str) -> None:
    table.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=table.parent, prefix=f".{table.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        os.replace(name, table)
    except BaseException:
        os.unlink(name)
        raise
