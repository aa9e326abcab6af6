"""Times that were really taken: a table of order, piece and seconds or minutes, as kept beside the machine."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from engrave.problems import Problem

COLUMNS = ("order", "piece", "seconds", "minutes", "date", "note")
"""Columns that are read, in any order and case; others are passed over."""

LONGEST_S = 24 * 3600.0
"""Seconds: a longer run is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Log:
    """One run as timed. row: line of the file, the header being 1. in_minutes: the minutes column was filled."""

    order: str
    piece: int
    seconds: float
    row: int
    date: str = ""
    note: str = ""
    in_minutes: bool = False

    @property
    def name(self) -> str:
        """The order and piece, for people."""
        return self.order if self.piece == 1 else f"{self.order} piece {self.piece}"


class LogError(ValueError):
    """A log that cannot be used; the message says what is missing and what is allowed."""


def read_log(path: Path) -> tuple[tuple[Log, ...], tuple[Problem, ...]]:
    """Return the runs of a CSV file (comma, semicolon or tab) and a `look` for each row that cannot be used.

    Columns: order, piece (1 if empty), seconds or minutes, and if wanted date and note. A time may be written
    7.5, 7,5 or as on a watch, 7:30 or 1:07:30. Raises `LogError` if the file has no such columns.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise LogError(f"{path}: is not UTF-8 text (byte {error.start}); save it as CSV UTF-8") from error
    except OSError as error:
        raise LogError(f"{path}: cannot be read: {error.strerror}") from error
    lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text)))
    header = [cell.strip().lower() for cell in lines[0]] if lines else []
    if "order" not in header or not {"seconds", "minutes"} & set(header):
        found = ", ".join(h for h in header if h) or "nothing"
        raise LogError(f"{path}: needs the columns order and seconds or minutes; found {found}")
    return _read_rows(header, lines[1:])


def _delimiter(text: str) -> str:
    first = text.split("\n", 1)[0]
    return max(",;\t", key=first.count)


def _read_rows(header: Sequence[str], lines: Sequence[Sequence[str]]) -> tuple[tuple[Log, ...], tuple[Problem, ...]]:
    logs: list[Log] = []
    problems: list[Problem] = []
    for row, line in enumerate(lines, start=2):
        cells = {h: c.strip() for h, c in zip(header, line, strict=False) if h in COLUMNS}
        if not any(cells.values()):
            continue
        try:
            logs.append(_log(cells, row))
        except ValueError as error:
            problems.append(Problem("log-row", "look", f"Row {row} is left out: {error}.", where=f"row {row}"))
    return tuple(logs), tuple(problems)


def _log(cells: Mapping[str, str], row: int) -> Log:
    order, piece = cells.get("order", ""), cells.get("piece", "") or "1"
    if not order:
        raise ValueError("it names no order")
    if not piece.isdigit() or int(piece) < 1:
        raise ValueError(f"piece is '{piece}'; allowed is a whole number from 1")
    by_seconds, by_minutes = cells.get("seconds", ""), cells.get("minutes", "")
    if bool(by_seconds) == bool(by_minutes):
        raise ValueError("it needs either seconds or minutes" + (", not both" if by_seconds else ""))
    seconds = _time(by_seconds, 1.0) if by_seconds else _time(by_minutes, 60.0)
    if not 0.0 < seconds <= LONGEST_S:
        raise ValueError(f"{by_seconds or by_minutes} is not a time between a second and a day")
    return Log(order, int(piece), seconds, row, cells.get("date", ""), cells.get("note", ""), bool(by_minutes))


def _time(text: str, unit: float) -> float:
    """Return seconds from '7.5', '7,5' (in `unit` seconds) or '7:30', '1:07:30' as a watch shows it."""
    if re.fullmatch(r"\d+(:[0-5]?\d){1,2}", text):
        total = 0.0
        for part in text.split(":"):
            total = total * 60.0 + float(part)
        return total
    if not re.fullmatch(r"\d+([.,]\d*)?|[.,]\d+", text):
        raise ValueError(f"'{text}' is not a time; write 450, 7.5 or 7:30")
    return float(text.replace(",", ".")) * unit
