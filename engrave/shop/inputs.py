"""The files that a shop's folder is read from: whoever writes beside them must never write over one."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from engrave.shop.artwork import artwork_files

_DRAWN = re.compile(r"""svg\s*=\s*["']([^"'\n]+)["']""")
"""How a lid's table names its drawing, where the table cannot be read as one."""

_FONTS = frozenset({".ttf", ".otf", ".ttc", ".woff", ".woff2", ".svg"})


def input_files(folder: Path | None) -> tuple[Path, ...]:
    """Return the tables, drawings, typefaces and artwork of a shop's own folder; nothing for none."""
    if folder is None or not folder.is_dir():
        return ()
    tables = sorted(folder.glob("*.toml"))
    drawings = [folder / name for table in tables for name in _drawings(_text(table)) if "\0" not in name]
    found = [path for path in (*tables, *drawings, *_typefaces(folder), *artwork_files(folder)) if path.is_file()]
    return tuple(dict.fromkeys(found))


def _drawings(text: str) -> Iterator[str]:
    """Yield the drawings that a table names, however it writes that."""
    import tomllib  # a shop without tables of its own needs none

    try:
        yield from _named(tomllib.loads(text))
    except (ValueError, RecursionError):
        yield from _DRAWN.findall(text)


def _named(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "svg" and isinstance(inner, str):
                yield inner
            yield from _named(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _named(inner)


def _typefaces(folder: Path) -> Iterator[Path]:
    """Yield what may belong to a typeface: all of `typefaces/`, or, where there is none, fonts that lie in the folder."""
    if (folder / "typefaces").is_dir():
        yield from sorted((folder / "typefaces").rglob("*"))
        return
    for entry in sorted(folder.iterdir()):
        if entry.suffix.lower() in _FONTS:
            yield entry
        elif (entry / "typeface.toml").is_file():
            yield from sorted(entry.rglob("*"))


def _text(table: Path) -> str:
    try:
        return table.read_text("utf-8", "replace")
    except OSError:
        return ""
