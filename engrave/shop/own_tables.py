"""Our own tables as they were parsed before: a table is known by its bytes, so a changed one is parsed anew."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from engrave.kept_data import made_ready
from engrave.shop.places import own_folder

Parse = Callable[[str], dict[str, Any]]


def parsed_before(data: bytes, parse: Parse) -> dict[str, Any] | None:
    """Return the values of a table of ours, fresh to be changed by the caller; None if these bytes are no table of ours."""
    text = _texts(parse).get(sha256(data).hexdigest())
    values: dict[str, Any] | None = json.loads(text) if text is not None else None
    return values


@cache
def _texts(parse: Parse) -> dict[str, str]:
    """Return all our tables as JSON by the digest of their bytes."""
    files = [*sorted(own_folder("shared").glob("*.toml")), *sorted(own_folder("fonts_open").glob("*/*.toml"))]
    modules = [
        Path(__file__),
        Path(__file__).with_name("toml_text.py"),
    ]  # a table parsed by another program is parsed anew
    made: dict[str, str] = made_ready("tables", [*files, *modules], lambda: dict(_read(files, parse)))
    return made


def _read(files: list[Path], parse: Parse) -> list[tuple[str, str]]:
    out = []
    for file in files:
        data = file.read_bytes()
        try:
            out.append((sha256(data).hexdigest(), json.dumps(parse(data.decode("utf-8-sig")), ensure_ascii=False)))
        except (ValueError, TypeError):
            continue  # told where the table is read; a date is nothing that JSON holds
    return out
