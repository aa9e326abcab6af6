"""A look is answered once: a sign made from what is to be looked at, the words and the geometry accepts it until one changes.

Each row with something to look at has a sign such as `ok 7K2`. Written into the column `checked`, it makes all looks of
the row notes. It says nothing of holds, and nothing of what was not there when it was written.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from engrave.problems import Problem
from engrave.signs import CODE_SIGNS, signs_of
from engrave.week.group import Entry

SIGN_FIGURES = "23456789"
SIGN_LETTERS = 2
"""A figure and two signs, so that no word of a person is one: 7,200 of them, and of as many changed rows one would be
taken for what it was."""

_WRITTEN = re.compile(rf"(?<![A-Z0-9])[{SIGN_FIGURES}][{CODE_SIGNS}]{{{SIGN_LETTERS}}}(?![A-Z0-9])")
_ROWS = re.compile(r"\brows? \d+")
"""Where a row stands is no part of what is to be looked at: a row put in above it changes nothing."""


def with_checks(entries: Sequence[Entry], geometry: Sequence[str | None]) -> tuple[Entry, ...]:
    """Return the entries with the sign of each row that has something to look at; what was checked is accepted.

    geometry: a name of exactly what would be cut of each entry, None where nothing is. All pieces of a row have one
    sign; a piece on hold is no part of it.
    """
    rows: dict[tuple[int, str], list[int]] = {}
    for i, entry in enumerate(entries):
        if entry.piece.verdict == "look":
            rows.setdefault((entry.piece.order.row, entry.piece.order.id), []).append(i)
    out = list(entries)
    for members in rows.values():
        sign = _sign([(out[i], geometry[i]) for i in members])
        cell = out[members[0]].piece.order.checked
        for i in members:
            out[i] = _answered(out[i], cell, sign)
    return tuple(out)


def _looks(entry: Entry) -> Iterable[Problem]:
    return (p for p in entry.piece.problems if p.level == "look")


def _sign(pieces: Iterable[tuple[Entry, str | None]]) -> str:
    told: list[str] = []
    for entry, geometry in pieces:
        told += [f"{field}={words}" for field, words in entry.piece.order.received.filled()]
        told += [f"{field}:{words}" for field, words in entry.piece.order.words.filled()]
        told += sorted(f"{p.code}: {_ROWS.sub('row', p.says)}" for p in _looks(entry))
        told.append(geometry or "nothing")
    digest = hashlib.sha256("\n".join(told).encode("utf-8", "surrogatepass")).digest()
    return f"ok {SIGN_FIGURES[digest[-1] % len(SIGN_FIGURES)]}{signs_of(digest, SIGN_LETTERS)}"


def _answered(entry: Entry, cell: str, sign: str) -> Entry:
    """Return a piece with its looks accepted if the cell has their sign, else with the sign to be written there."""
    written = _WRITTEN.findall(cell.upper())
    problems = entry.piece.problems
    if sign.removeprefix("ok ") in written:
        problems = tuple(_accepted(p, sign) if p.level == "look" else p for p in problems)
    elif cell.strip():
        problems = (*problems, _not_accepted(cell.strip(), sign, bool(written)))
    return replace(entry, piece=replace(entry.piece, problems=problems), sign=sign)


def _accepted(problem: Problem, sign: str) -> Problem:
    return replace(problem, level="note", says=f"{problem.says} Looked at and accepted ({sign}).")


def _not_accepted(cell: str, sign: str, has_sign: bool) -> Problem:
    shown = cell if len(cell) <= _SHOWN else cell[: _SHOWN - 1] + "…"
    if has_sign:
        says = (
            f"‘{shown}’ in the column checked was for another state of this row: its words, its lid or what is to be "
            f"looked at have changed since. Look again; if it is right as it is, write {sign}."
        )
        return Problem("checked-before", "look", says, "column checked", shown, sign)
    says = (
        f"‘{shown}’ in the column checked does not say what was looked at. If the row is right as it is, write {sign}."
    )
    return Problem("checked-without-sign", "look", says, "column checked", shown, sign)


_SHOWN = 40
"""Letters of a cell that a message repeats."""
