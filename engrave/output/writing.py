"""Writing a week's folder so that nothing half-made and nothing stale is ever found in it.

Every file is written beside its place and then renamed into it. What a run is about to write is listed first in
week.json, so that even after a power cut the next run knows which files are ours; only those are ever taken away.
"""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from engrave import __version__

MADE_WITH = f"lid-lettering {__version__}"

OURS = re.compile(r"^(lids|outlines|proofs)/[^/\\:]+\.(svg|png)$")
"""What a list in week.json may name as ours: one of our folders, one of our endings, and no way out of the folder."""

LISTED = "writing"
"""Key in week.json, present only while a run is under way or was cut short: the files it was about to write."""


def put(path: Path, data: bytes | str) -> None:
    """Write a file whole or not at all: to a temporary file in the same folder, then renamed into place.

    Raises OSError as the system gives it (disk full, no permission); the old file then still stands, and nothing else.
    """
    raw = data.encode("utf-8") if isinstance(data, str) else data
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".part-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o666 & ~_mask())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def put_keeping(table: Path, text: str) -> Path | None:
    """Write a shop's table, keeping what it was beside it as `<name>.before-1`, -2 and so on; return the copy.

    None if there was no table. Raises OSError; the old table then still stands.
    """
    if not table.exists():
        put(table, text)
        return None
    number = 1
    while (kept := table.with_name(f"{table.name}.before-{number}")).exists():
        number += 1
    put(kept, table.read_bytes())
    put(table, text)
    return kept


def put_back(table: Path, kept: Path | None) -> None:
    """Undo `put_keeping`: the copy becomes the table again; a table that there was not is taken away."""
    if kept is None:
        table.unlink()
    else:
        kept.replace(table)


def _mask() -> int:
    """Return the user's file mode mask (it can only be read by setting it)."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def begin(folder: Path, names: Iterable[str]) -> None:
    """Make the week's folder and list there, before any of them is written, the files that this run may write.

    names: paths within the folder, such as 'lids/F-101.svg'.
    """
    folder.mkdir(parents=True, exist_ok=True)
    week = {"schema": 1, "made_with": MADE_WITH, **_read(folder)}
    week[LISTED] = sorted(set(names) | set(listed(folder)))
    put(folder / "week.json", json.dumps(week, ensure_ascii=False, indent=1) + "\n")
    for part in _parts(folder):
        part.unlink(missing_ok=True)


def _parts(folder: Path) -> list[Path]:
    """Return what a run that was cut short left half-written in our folders."""
    places = (folder, folder / "lids", folder / "proofs", folder / "outlines")
    return [p for place in places if place.is_dir() for p in place.glob(".part-*") if p.is_file()]


def listed(folder: Path) -> tuple[str, ...]:
    """Return the files that our own week.json in this folder lists, written or about to be; empty if there is none."""
    week = _read(folder)
    names = [piece.get(key) for piece in week.get("pieces", ()) if isinstance(piece, dict) for key in ("svg", "proof")]
    names += list(week.get(LISTED, ()))
    for name in [n for n in names if isinstance(n, str) and n.startswith("lids/")]:
        names.append("outlines/" + name.removeprefix("lids/"))
    return tuple(sorted({n for n in names if isinstance(n, str) and OURS.match(n) and ".." not in n.split("/")}))


def _read(folder: Path) -> dict[str, Any]:
    """Return week.json if it is one of ours, else nothing: a file that we cannot read lists nothing."""
    try:
        week = json.loads((folder / "week.json").read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    ours = isinstance(week, dict) and str(week.get("made_with")).startswith("lid-lettering")
    return week if ours else {}


def take_away(folder: Path, made: Iterable[str]) -> tuple[str, ...]:
    """Remove files that our week.json lists and this run did not make; return their names.

    To be called when all is made and before the new week.json is put in place.
    """
    keep = set(made)
    gone = []
    for name in listed(folder):
        path = folder / name
        if name not in keep and path.is_file() and not path.is_symlink():
            path.unlink()
            gone.append(name)
    return tuple(gone)
