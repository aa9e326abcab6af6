"""Writing a file whole or not at all: beside its place, and then renamed into it."""

from __future__ import annotations

import os
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from engrave.version import VERSION

MADE_WITH = f"lid-lettering {VERSION}"

PART_NAME = ".part-"
"""Beginning of the name under which a file is written before it is renamed into place."""


def put(path: Path, data: bytes | str, part: str = PART_NAME) -> None:
    """Write a file whole or not at all: to a temporary file in the same folder, then renamed into place.

    part: how the temporary file's name begins. Folders above are made. Raises OSError as the system gives it (disk
    full, no permission); the old file then still stands, and nothing else.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    put_inside(path, data, part)
    sync([path.parent])


def put_inside(path: Path, data: bytes | str, part: str = PART_NAME) -> None:
    """Write as `put` does, into a folder that must be there (one that was taken away midway is not made again).

    The folder is not synced: whoever writes many files does that once, with `sync`.
    """
    put_bits(path, [data], part)


def put_bits(path: Path, bits: Iterable[bytes | str], part: str = PART_NAME) -> None:
    """Write as `put_inside` does, bit by bit, as they are asked for."""
    from tempfile import mkstemp  # an answer on the screen is no file

    handle, name = mkstemp(prefix=part, dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            for bit in bits:
                file.write(bit.encode("utf-8") if isinstance(bit, str) else bit)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, fresh_mode())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def sync(folders: Iterable[Path]) -> None:
    """Have the system write down what was renamed in these folders, where it can be asked to (not on Windows).

    Without it a power cut may bring back a folder as it was before files whose contents are safe. Raises OSError if a
    folder is not there; a file system that cannot do it is no failure.
    """
    if not hasattr(os, "O_DIRECTORY"):
        return
    for folder in folders:
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        except OSError:  # some network file systems have no such call for folders
            pass
        finally:
            os.close(handle)


EARLIER = "earlier"
"""Folder beside a shop's tables for what they were before, a folder a day."""


def put_keeping(table: Path, text: str) -> Path | None:
    """Write a shop's table, keeping what it was in `earlier/<day>/<name>`, or <name>-2 and so on; return the copy.

    None if there was no table. Raises OSError; the old table then still stands.
    """
    if not table.exists():
        put(table, text)
        return None
    day = table.parent / EARLIER / date.today().isoformat()
    kept, number = day / table.name, 1
    while kept.exists():
        number += 1
        kept = day / f"{table.stem}-{number}{table.suffix}"
    put(kept, table.read_bytes())
    put(table, text)
    return kept


def put_back(table: Path, kept: Path | None) -> None:
    """Undo `put_keeping`: the copy becomes the table again; a table that there was not is taken away."""
    if kept is None:
        table.unlink()
    else:
        kept.replace(table)
        for folder in (kept.parent, kept.parent.parent):
            if not any(folder.iterdir()):
                folder.rmdir()


def fresh_mode() -> int:
    """Return the mode of a new file by the user's mask (which can only be read by setting it)."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
