"""The pieces that a week.json of ours lists, one by one: that of a long week is longer than memory should hold."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

UNREADABLE = (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError)
"""What reading a list raises that was damaged, or is none of ours."""

_BEGIN, _END, _PIECE_ENDS = ' "pieces": [\n', " ]", "  }"
"""How the lines begin that open and close the list, and that close a piece, as our files have them."""


def pieces_told(folder: Path) -> Iterator[Mapping[str, Any]]:
    """Yield the pieces of a week's folder; one that somebody wrote anew in another form is read as a whole.

    Raises any of `UNREADABLE`.
    """
    file = folder / "week.json"
    with file.open(encoding="utf-8") as lines:
        if any(line == _BEGIN for line in lines):
            yield from _one_by_one(lines)
            return
    yield from json.loads(file.read_text("utf-8"))["pieces"]


def _one_by_one(lines: Iterable[str]) -> Iterator[Mapping[str, Any]]:
    of_piece: list[str] = []
    for line in lines:
        if line.startswith(_END):
            return
        of_piece.append(line)
        if line.rstrip("\n,") == _PIECE_ENDS:
            yield json.loads("".join(of_piece).rstrip("\n,"))
            of_piece.clear()
    raise ValueError("the list ends midway")
