"""Our own tables as they were parsed before: a table is known by its bytes, so a changed one is parsed anew."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from engrave.files import Unreadable, whole_file
from engrave.kept_data import made_ready
from engrave.limits import TABLE_BYTES
from engrave.shop.places import own_folder

Parse = Callable[[str], dict[str, Any]]


@dataclass(frozen=True, slots=True)
class _Before:
    """What our tables held when they were parsed, by file, and their values as JSON."""

    held: Mapping[Path, bytes]
    values: Mapping[str, str]


def parsed_before(file: Path, data: bytes, parse: Parse) -> dict[str, Any] | None:
    """Return the values of a table of ours, fresh to be changed by the caller; None if these bytes are no table of ours."""
    before = _before(parse)
    text = before.values.get(_name(file)) if before.held.get(file) == data else None
    values: dict[str, Any] | None = json.loads(text) if text is not None else None
    return values


@cache
def _before(parse: Parse) -> _Before:
    """Return all our tables, read and hashed once in a run."""
    held = dict(_held([*own_folder("shared").glob("*.toml"), *own_folder("fonts_open").glob("*/*.toml")]))
    digest = sha256()
    for file, data in sorted(held.items()):
        digest.update(f"{_name(file)} {len(data)}\n".encode() + data)
    modules = [Path(__file__), Path(__file__).with_name("toml_text.py")]  # by another program they are parsed anew
    made: dict[str, str] = made_ready("tables", modules, lambda: _values(held, parse), digest.hexdigest())
    return _Before(held, made)


def _name(file: Path) -> str:
    return f"{file.parent.name}/{file.name}"


def _held(files: list[Path]) -> list[tuple[Path, bytes]]:
    out = []
    for file in files:
        try:
            out.append((file, whole_file(file, TABLE_BYTES)))
        except Unreadable:
            continue  # told where the table is read
    return out


def _values(held: Mapping[Path, bytes], parse: Parse) -> dict[str, str]:
    out = {}
    for file, data in sorted(held.items()):
        try:
            out[_name(file)] = json.dumps(parse(data.decode("utf-8-sig")), ensure_ascii=False)
        except (ValueError, TypeError):
            continue  # told where the table is read; a date is nothing that JSON holds
    return out
