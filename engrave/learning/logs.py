"""Times that were really taken: a table of order, piece and seconds or minutes, as kept beside the machine.

The file is read as an orders table is: the same encodings, separators and sheets, headings in any order, case and
spelling, the shop's own names for the order's column among them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from engrave.intake.headers import fold, fold_variants, heading_names
from engrave.intake.orders_error import OrdersError
from engrave.intake.rows import BLANK_SIGNS, Row, Table
from engrave.intake.table_file import tables_of
from engrave.limits import LOG_BYTES, LOG_ROWS
from engrave.problems import Problem
from engrave.shop.models import Intake

HEADINGS: Mapping[str, tuple[str, ...]] = {
    "order": ("order", "order no", "order number", "order id", "job", "job no"),
    "piece": ("piece", "piece no", "piece number", "part", "lid no"),
    "seconds": ("seconds", "second", "sec", "secs", "s", "time s", "time sec", "time in seconds", "run seconds"),
    "minutes": ("minutes", "minute", "min", "mins", "time min", "time in minutes", "run minutes"),
    "time": ("time", "time taken", "run time", "real time", "machine time", "duration", "taken", "clock"),
    "date": ("date", "day", "when"),
    "note": ("note", "notes", "remark", "remarks", "comment"),
}
"""What each column may be called; the shop's own headings for orders and notes count as well."""

TIMES = ("seconds", "minutes", "time")
TIME_UNITS = {"s": "seconds", "sec": "seconds", "secs": "seconds", "seconds": "seconds",
         "m": "minutes", "min": "minutes", "mins": "minutes", "minutes": "minutes"}  # fmt: skip
"""Units that may stand in brackets after any heading of a time: 'Time (s)', 'Taken [min]'."""

SEARCHED = 30
"""Rows among which the headings are looked for."""

LEAST_S, LONGEST_S = 1.0, 24 * 3600.0
"""Seconds: a shorter or longer run is a slip of the pen."""

LONGEST_ORDER = 200
"""Letters of an order's name; a longer cell is no name."""

LETTERS_SHOWN = 40
"""Letters of a cell that are repeated in a message."""


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


def read_log(path: Path, intake: Intake | None = None) -> tuple[tuple[Log, ...], tuple[Problem, ...]]:
    """Return the runs of a log (CSV or .xlsx) and a `look` for each row that cannot be used.

    Columns: order, piece (1 if empty), seconds, minutes or time, and if wanted date and note. A time may be written
    7.5, 7,5, with its unit (452 s, 7 min 32 s) or as on a watch, 7:30 or 1:07:30; under `time` it needs a unit or a
    watch's form. intake: the shop's code page and headings. Raises `LogError` if the file has no such columns.
    """
    try:
        tables, told = tables_of(path, LOG_BYTES, intake.code_page if intake else "cp1252")
        table, columns, head = _headings([*tables], _names(intake), path)
    except OrdersError as error:
        raise LogError(str(error).replace("The orders file", f"The log {path}")) from error
    rows = [row for row in table.rows if row.number > head and not row.is_empty()]
    problems = [p for p in told if p.level != "note" or p.code == "code-page"]
    if LOG_ROWS.passed(len(rows)) or table.too_long:
        raise LogError(f"The log {path} has {LOG_ROWS.told()}. Split it, or keep the newest.")
    logs: list[Log] = []
    for row in rows:
        try:
            logs.append(_log(_cells(row, columns), row.number))
        except ValueError as error:
            says = f"Row {row.number} is left out: {error}."
            problems.append(Problem("log-row", "look", says, where=f"row {row.number}"))
    return tuple(logs), tuple(problems)


def _names(intake: Intake | None) -> dict[str, str]:
    """Return folded heading to column."""
    names = {fold(h): column for column, headings in HEADINGS.items() for h in headings}
    own = heading_names(intake) if intake else {}
    return {h: field for h, field in own.items() if field in ("order", "note")} | names


def _headings(tables: Sequence[Table], names: Mapping[str, str], path: Path) -> tuple[Table, dict[int, str], int]:
    """Return the reading that makes most sense, column by index, and the row of its headings."""
    best: tuple[int, Table, dict[int, str], int] | None = None
    for table in tables:
        for row in table.rows[:SEARCHED]:
            columns = {i: c for i, cell in enumerate(row.cells) if (c := _column(cell, names))}
            found = set(columns.values())
            if "order" in found and found & set(TIMES) and (best is None or len(found) > best[0]):
                best = (len(found), table, columns, row.number)
    if best is None:
        raise LogError(f"{path}: needs the columns order and seconds or minutes; found {_found(tables)}")
    return best[1], best[2], best[3]


def _found(tables: Iterable[Table]) -> str:
    rows = [table.rows[0] for table in tables if table.rows]
    cells = max(([c.strip() for c in row.cells if c.strip()] for row in rows), key=len, default=[])
    return ", ".join(_shown(c) for c in cells[:8]) or "nothing"


def _column(heading: str, names: Mapping[str, str]) -> str:
    """Return what a column holds, '' if it is none of ours. A unit in brackets goes before the word for a time."""
    column = next((names[v] for v in fold_variants(heading) if v in names), "")
    unit = re.search(r"[(\[]\s*([A-Za-z]+)\s*[)\]]\s*$", heading[-40:])
    if unit and unit[1].lower() in TIME_UNITS and (column in TIMES or not column):
        plain = heading[: heading.rfind(unit[0][0])]
        if column or names.get(fold(plain)) in TIMES:
            return TIME_UNITS[unit[1].lower()]
    return column


def _cells(row: Row, columns: Mapping[int, str]) -> dict[str, str]:
    """Return the cells by column. Raises ValueError where two columns of one kind say different things."""
    if row.broken:
        raise ValueError(row.broken.rstrip(".").lower())
    found: dict[str, str] = {}
    for i, column in columns.items():
        cell = row.cells[i].strip(BLANK_SIGNS) if i < len(row.cells) else ""
        if cell and found.setdefault(column, cell) != cell:
            raise ValueError(f"two columns say {column}: {_shown(found[column])} and {_shown(cell)}")
    return found


def _log(cells: Mapping[str, str], row: int) -> Log:
    order = cells.get("order", "")
    if not order:
        raise ValueError("it names no order")
    if len(order) > LONGEST_ORDER:
        raise ValueError(f"its order has {len(order):,} letters: {_shown(order)}")
    given = [column for column in TIMES if column in cells]
    if len(given) != 1:
        raise ValueError("it needs either seconds or minutes" + (", not both" if given else ""))
    (column,) = given
    seconds = time_in_seconds(cells[column], {"seconds": 1.0, "minutes": 60.0}.get(column))
    if not LEAST_S <= seconds <= LONGEST_S:
        raise ValueError(f"{_shown(cells[column])} is not a time between a second and a day")
    piece = _piece(cells.get("piece", ""))
    return Log(order, piece, seconds, row, cells.get("date", ""), cells.get("note", ""), column == "minutes")


def _piece(text: str) -> int:
    """Return the number of a piece, 1 where none is given; a sheet may have made 2.0 of it."""
    found = re.fullmatch(r"(\d{1,4})(?:[.,]0+)?", text or "1")
    if not found or int(found[1]) < 1:
        raise ValueError(f"piece is {_shown(text)}; allowed is a whole number from 1")
    return int(found[1])


_WATCH = re.compile(r"\d{1,4}(?::[0-5]?\d){1,2}(?:[.,]\d{1,9})?")
_FIGURE = re.compile(r"\d{1,9}(?:[.,]\d{0,18})?|[.,]\d{1,18}")
_PARTS = re.compile(
    r"(?:(?P<h>\d{1,3}(?:[.,]\d{1,9})?)\s*(?:h|hrs?|hours?)\b\.?\s*)?"
    r"(?:(?P<m>\d{1,5}(?:[.,]\d{1,9})?)\s*(?:m|mins?|minutes?|')(?![a-z])\.?\s*)?"
    r"(?:(?P<s>\d{1,6}(?:[.,]\d{1,9})?)\s*(?:s|secs?|seconds?|\"|'')(?![a-z])\.?)?",
    re.IGNORECASE,
)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")


def time_in_seconds(text: str, unit: float | None) -> float:
    """Return seconds from '7.5', '7,5' (in `unit` seconds), '7 min 32 s', or '7:30', '1:07:30' as a watch shows it.

    unit: None where the column does not say it. Raises ValueError with what is wrong, as the end of a sentence.
    """
    plain = text.strip()
    if len(plain) > LETTERS_SHOWN:
        raise ValueError(f"{_shown(text)} is not a time; write 450, 7.5 or 7:30")
    if _WATCH.fullmatch(plain):
        total = 0.0
        for part in plain.replace(",", ".").split(":"):
            total = total * 60.0 + float(part)
        return total
    parts = _PARTS.fullmatch(plain)
    if parts and any(parts.groups()):
        h, m, s = (float((v or "0").replace(",", ".")) for v in parts.group("h", "m", "s"))
        return h * 3600.0 + m * 60.0 + s
    if not _FIGURE.fullmatch(plain):
        raise ValueError(f"{_shown(text)} is not a time; write 450, 7.5 or 7:30")
    if unit is None:
        raise ValueError(f"{_shown(text)} has no unit; write 7:30 or 450 s, or call the column seconds or minutes")
    whole = plain.replace(",", "").replace(".", "")
    if unit == 1.0 and _THOUSANDS.fullmatch(plain) and int(whole) <= LONGEST_S:
        raise ValueError(f"{_shown(text)} may be {whole} s or a little over {plain[:-4]} s; write it without the sign")
    return float(plain.replace(",", ".")) * unit


def _shown(text: str) -> str:
    return f"'{text}'" if len(text) <= LETTERS_SHOWN else f"'{text[:LETTERS_SHOWN]}…'"
