"""Comma-, semicolon- and tab-separated text to rows (RFC 4180, read leniently by the standard library's reader)."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator

from engrave.intake.rows import Row, Table
from engrave.problems import Problem

_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_STATED = re.compile(r"\A\s*\"?sep=(?P<sep>[,;\t|])\"?[ ,;\t]*(?:\r\n|\n|\r)", re.IGNORECASE)
_SENTINEL = "\x1eend\x1e"
"""A record no table holds (record separators, a control character): it comes out whole unless a quote is open."""

_LONGEST = 10_000_000
"""Characters in one cell before the reader gives up: far above any table, so that only memory is guarded."""


def csv_tables(text: str) -> tuple[Table, ...]:
    """Return one reading of the text for each separator it may have; a 'sep=;' line above the table decides."""
    stated = _STATED.match(text)
    if stated:
        return (_table(text[stated.end() :], stated["sep"]),)
    return tuple(_table(text, separator) for separator in _SEPARATORS)


def _table(text: str, separator: str) -> Table:
    told = _SEPARATORS.get(separator, repr(separator))
    note = () if separator == "," else (Problem("separator", "note", f"The columns are separated by {told}."),)
    return Table(tuple(_rows(text, separator)), note, told)


def _rows(text: str, separator: str) -> Iterator[Row]:
    """Yield the records; a quotation mark that is never closed swallows nothing: its line is read as it stands."""
    lines = list(io.StringIO(text, newline=""))
    if lines and not lines[-1].endswith(("\r", "\n")):
        lines[-1] += "\n"
    at, number = 0, 1
    while at < len(lines):
        for start, record in _records(lines[at:], separator):
            if record is None:
                at += start
                break
            yield Row(number, record)
            number += 1
        else:
            return
        literal = next(csv.reader([lines[at]], delimiter=separator, quoting=csv.QUOTE_NONE))
        yield Row(number, tuple(literal), broken="A quotation mark opens in this row and never closes.")
        at, number = at + 1, number + 1


def _records(lines: list[str], separator: str) -> Iterator[tuple[int, tuple[str, ...] | None]]:
    """Yield (first line, cells) of each record; None for the cells of a record that runs into the end of the file."""
    before = csv.field_size_limit(_LONGEST)
    try:
        reader = csv.reader([*lines, _SENTINEL], delimiter=separator)
        start = 0
        for record in reader:
            if reader.line_num > len(lines):
                if record != [_SENTINEL]:
                    yield start, None
                return
            yield start, tuple(record)
            start = reader.line_num
    finally:
        csv.field_size_limit(before)
