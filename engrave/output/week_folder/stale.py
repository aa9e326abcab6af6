"""The week's own files while a run is under way: what stands in them is of an earlier run, and they say so.

Those of a long week are never in memory as a whole.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import IO

from engrave.on_disk import DiskMap
from engrave.output.week_folder.ours import LISTED, week_of
from engrave.output.writing import MADE_WITH

BEING_MADE = (
    "The week is being made anew, and what stands here is of an earlier run. If no run is under way, one was stopped: "
    "run the same command again before you cut by this."
)

MOST_PARSED = 2_000_000
"""Bytes of a week.json up to which it is read as a whole, nine times as long in memory; a longer one is copied."""

_BANNER = f'<h1 id="being-made-anew" role="alert">{BEING_MADE}</h1>'.encode()

_STUB = f'<!doctype html>\n<html lang="en">\n<meta charset="utf-8">\n<title>Being made anew</title>\n<body>\n<h1>{BEING_MADE}</h1>\n</html>\n'

_PIECE = 1 << 16

Bits = Callable[[], Iterator[bytes | str]]
"""Yields a file's contents bit by bit, as often as it is called."""


def stale_files(folder: Path, names: DiskMap) -> dict[str, Bits]:
    """Return the week's files as they are to stand while they are of an earlier run. names: what is to be written."""
    page = _stale_page(_read(folder / "week.html"))
    stale: dict[str, Bits] = {"week.html": lambda: iter([page]), "week.json": partial(_told_bits, folder, names)}
    if (folder / "week.csv").is_file():
        stale["week.csv"] = partial(_table_bits, folder / "week.csv")
    return stale


def _told_bits(folder: Path, names: DiskMap) -> Iterator[bytes | str]:
    """Yield week.json with what is about to be written as the last that it tells."""
    end = _end_of_told(folder / "week.json")
    if end is not None:
        yield from _copied(folder / "week.json", end)
        yield f',\n "{LISTED}": ['
    else:
        told = {"schema": 1, "made_with": MADE_WITH, **week_of(folder), LISTED: []}
        yield json.dumps(told, ensure_ascii=False, indent=1).removesuffix("]\n}")
    between = "\n"
    for name, _ in names.sorted_items():
        yield f"{between}  {json.dumps(name, ensure_ascii=False)}"
        between = ",\n"
    yield "]\n}\n" if between == "\n" else "\n ]\n}\n"


def _end_of_told(file: Path) -> int | None:
    """Return where a long week.json of ours ends but for its bracket, or its list of an earlier start; None for any other."""
    try:
        size = file.stat().st_size
        if size <= MOST_PARSED:
            return None
        with file.open("rb") as told:
            if not told.read(_PIECE).startswith(b'{\n "schema": 1,\n "made_with": "lid-lettering'):
                return None
            told.seek(size - len(_CLOSED))
            if told.read() != _CLOSED:
                return None
            found = _last(told, f',\n "{LISTED}": ['.encode())
            return size - len(_CLOSED) if found is None else found
    except OSError:
        return None


_CLOSED = b"\n}\n"


def _last(file: IO[bytes], words: bytes) -> int | None:
    """Return where words stand in a file for the last time."""
    file.seek(0)
    found, before, at = None, b"", 0
    while piece := file.read(_PIECE):
        looked_at = before + piece
        if (place := looked_at.rfind(words)) >= 0:
            found = at - len(before) + place
        at += len(piece)
        before = looked_at[-len(words) + 1 :]
    return found


def _copied(file: Path, end: int) -> Iterator[bytes]:
    with file.open("rb") as told:
        while end > 0 and (piece := told.read(min(_PIECE, end))):
            end -= len(piece)
            yield piece


def _read(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None


def _stale_page(page: bytes | None) -> bytes:
    if page is None:
        return _STUB.encode()
    if _BANNER in page or page == _STUB.encode():
        return page
    return page.replace(b"<body>", b"<body>\n" + _BANNER, 1) if b"<body>" in page else _BANNER + page


def _table_bits(file: Path) -> Iterator[bytes]:
    mark_of_order = b"\xef\xbb\xbf"
    first = f'"{BEING_MADE}"\r\n'.encode()
    with file.open("rb") as table:
        head = table.read(len(mark_of_order + first))
        rows = head.removeprefix(mark_of_order)
        yield head if rows.startswith(first) else mark_of_order + first + rows
        yield from iter(partial(table.read, _PIECE), b"")
