"""The files that a shop's folder is read from: whoever writes beside them must never write over one."""

from __future__ import annotations

import re
from pathlib import Path

_DRAWN = re.compile(r"""svg\s*=\s*["']([^"'\n]+)["']""")
"""How a lid's table names its drawing."""


def input_files(folder: Path | None) -> tuple[Path, ...]:
    """Return the tables, drawings and typefaces of a shop's own folder; nothing for none."""
    if folder is None or not folder.is_dir():
        return ()
    tables = sorted(folder.glob("*.toml"))
    drawings = [folder / name for table in tables for name in _DRAWN.findall(_text(table)) if "\0" not in name]
    typefaces = [path for path in sorted((folder / "typefaces").rglob("*")) if path.is_file()]
    return tuple(path for path in (*tables, *drawings, *typefaces) if path.is_file())


def _text(table: Path) -> str:
    try:
        return table.read_text("utf-8", "replace")
    except OSError:
        return ""
