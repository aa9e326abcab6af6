"""Comma-, semicolon- and tab-separated text to rows (RFC 4180, read leniently by the standard library's reader)."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from contextlib import contextmanager

from engrave.intake.orders_error import OrdersError
from engrave.intake.rows import Row, Table, kept
from engrave.limits import ORDERS_BYTES, ORDERS_LINES
from engrave.problems import Problem

_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_STATED = re.compile(r"\A\s*\"?sep=(?P<sep>[,;\t|])\"?[ ,;\t]*(?:\r\n|\n|\r)", re.IGNORECASE)


def csv_tables(text: str) -> tuple[Table, ...]:
    """Return one reading of the text for each separator it may have; a 'sep=;' line above the table decides.

    Raises OrdersError if the text has more lines than are read.
    """
    stated = _STATED.match(text)
    lines = _lines(text[stated.end() :] if stated else text)
    with _any_length():
        return tuple(_table(lines, separator) for separator in ([stated["sep"]] if stated else _SEPARATORS))


def _lines(text: str) -> list[str]:
    lines: list[str] = []
    for line in io.StringIO(text, newline=""):
        if len(lines) == ORDERS_LINES.most:
            raise OrdersError(
                f"The orders file has more than {ORDERS_LINES.most:,} lines; that is as many as are read at once. Split the table."
            )
        lines.append(line)
    if lines and not lines[-1].endswith(("\r", "\n")):
        lines[-1] += "\n"
    return lines


@contextmanager
def _any_length() -> Iterator[None]:
    """Have the standard library's reader take cells of any length: the file's own size is bounded already."""
    before = csv.field_size_limit(ORDERS_BYTES.most + 1)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _table(lines: list[str], separator: str) -> Table:
    told = _SEPARATORS.get(separator, repr(separator))
    note = () if separator == "," else (Problem("separator", "note", f"The columns are separated by {told}."),)
    rows, too_long = kept(_rows(lines, separator))
    return Table(rows, note, told, too_long)


def _rows(lines: list[str], separator: str) -> Iterator[Row]:
    """Yield the records; a quotation mark that is never closed swallows nothing: its line is read as it stands."""
    ends = _ends(lines, separator)
    at, number = 0, 1
    while at < len(lines):
        end = ends[at]
        if end is None:
            literal = next(csv.reader([lines[at]], delimiter=separator, quoting=csv.QUOTE_NONE))
            yield Row(number, tuple(literal), broken="A quotation mark opens in this row and never closes.")
            end = at
        else:
            yield Row(number, tuple(next(csv.reader(lines[at : end + 1], delimiter=separator))))
        at, number = end + 1, number + 1


def _ends(lines: list[str], separator: str) -> list[int | None]:
    """Return for each line where a record that begins with it ends; None if it runs into the end of the file.

    Found from the last line backwards, one line after the other, so that a file full of stray quotation marks takes no
    longer than another: a line either closes the quotation that runs into it, or hands the question on to the next.
    """
    ends: list[int | None] = [None] * len(lines)
    after: int | None = None  # where a quotation ends that runs into the line below
    for i in range(len(lines) - 1, -1, -1):
        line = lines[i]
        quoted = '"' in line
        ends[i] = i if not quoted or _closes(line, separator) else after
        after = i if quoted and _closes('"' + line, separator) else after
    return ends


def _closes(line: str, separator: str) -> bool:
    """Tell whether a record that begins with this line ends with it."""
    reader = csv.reader([line, "\n"], delimiter=separator)
    next(reader)
    return reader.line_num == 1
