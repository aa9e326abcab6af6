"""What is made ready of our own data files, kept in the folder for caches, so that a command need not make it again.

A kept file is as good as none when it cannot be read, was made from other data, by another program, or is not as it was
written. One that cannot be written is made again the next time.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Sequence
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from engrave.files import Unreadable, whole_file
from engrave.limits import READY_BYTES

FOLDER_VARIABLE = "ENGRAVE_CACHE"
"""Environment variable: the folder for caches; 'off' keeps nothing on disk."""


def cache_folder() -> Path | None:
    """Return where caches are kept: ENGRAVE_CACHE, else the system's place for them; None if switched off."""
    said = os.environ.get(FOLDER_VARIABLE, "")
    if said.lower() in ("off", "none", "0"):
        return None
    if said:
        return Path(said)
    from platformdirs import user_cache_dir  # asked only where the shop has not named a folder

    return Path(user_cache_dir("lid-lettering", appauthor=False))


def made_ready(name: str, sources: Sequence[Path], make: Callable[[], Any], under: str = "") -> Any:
    """Return what `make` makes, or made in an earlier run while all of `sources` were as they are now.

    sources: every data file and every module of ours that it is made from. make: gives what JSON can hold (mappings with
    texts as keys, lists, texts, numbers), and always the same from the same sources. under: whatever else it depends on.
    """
    folder = cache_folder()
    made_from = _digest(sources, under) if folder is not None else None
    if folder is None or made_from is None:
        return make()
    file = folder / "ready" / f"{name}.json"
    kept = _read(file, made_from)
    if kept is None:
        kept = make()
        _write(file, made_from, kept)
    return kept


def file_of_library(name: str, file: str) -> list[Path]:
    """Return where a file of an installed library lies, as the one that tells its version: found, not loaded.

    [] if the library is not there; what is made from a file that cannot be read is not kept.
    """
    found = find_spec(name)
    return [Path(found.origin).with_name(file)] if found is not None and found.origin else []


def replace_whole(file: Path, text: str) -> None:
    """Write a cache's file whole or not at all, without waiting for the disk. Raises OSError."""
    import tempfile  # nothing is written where everything is kept already

    file.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=file.stem, suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as part:
            part.write(text)
        os.replace(name, file)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise


def _digest(sources: Sequence[Path], under: str) -> str | None:
    """Return the digest of files, of their order and of this Python; None if one is not at hand."""
    digest = sha256(f"{sys.version}\n{under}".encode())
    try:
        for path in sources:
            digest.update(sha256(whole_file(path, READY_BYTES)).digest())
    except Unreadable:
        return None
    return digest.hexdigest()


def _read(file: Path, made_from: str) -> Any:
    """Return what a kept file holds; None if it is not what would be made now. Its first line says from what it was made."""
    try:
        head, _, body = whole_file(file, READY_BYTES).partition(b"\n")
        return json.loads(body) if head == _head(made_from, body) else None
    except (ValueError, RecursionError):
        return None


def _write(file: Path, made_from: str, made: Any) -> None:
    body = json.dumps(made, ensure_ascii=False, separators=(",", ":"))
    try:
        replace_whole(file, f"{_head(made_from, body.encode()).decode()}\n{body}")
    except (OSError, UnicodeEncodeError):
        return


def _head(made_from: str, body: bytes) -> bytes:
    return f"{made_from} {sha256(body).hexdigest()}".encode()
