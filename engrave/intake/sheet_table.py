"""Sheets (.xlsx) to rows: every cell as the text a person sees in it, and a word where the sheet holds no text."""

from __future__ import annotations

import datetime as dt
import io
import re
import warnings
from typing import Any

from engrave.intake.errors import OrdersError
from engrave.intake.rows import Row, Table
from engrave.problems import Problem

_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
_WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
_LITERAL = re.compile(r"\"([^\"]*)\"|\\(.)|\[[^\]]*\]|_.|\*.")
_DATE_TOKEN = re.compile(r"am/pm|a/p|y+|m+|d+|h+|s+", re.IGNORECASE)
_GENERAL_DIGITS = 11
"""A sheet's General format shows eleven digits (ECMA-376 part 1, 18.8.30 leaves it to the program; common practice)."""


def sheet_tables(data: bytes) -> tuple[Table, ...]:
    """Return one table for each visible sheet, in their order. Raises OrdersError if the workbook cannot be read."""
    import openpyxl  # here, since no other command than one that reads a sheet should wait a tenth of a second for it

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # styles and extensions that do not concern the words
            shown = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
            typed = openpyxl.load_workbook(io.BytesIO(data), data_only=False)
    except Exception as error:  # whatever a damaged zip or its XML raises, the shop needs one sentence
        raise OrdersError(
            f"The workbook cannot be read ({type(error).__name__}: {error}). Save the table again as .xlsx or as CSV."
        ) from error
    seen = [sheet for sheet in shown.worksheets if sheet.sheet_state == "visible"]
    return tuple(_table(sheet, typed[sheet.title], len(seen) > 1) for sheet in seen)


def _table(sheet: Any, typed: Any, several: bool) -> Table:
    note = Problem("sheet", "note", f"Read from the sheet {sheet.title!r}; other sheets were not read.")
    rows = (_row(number, shown, typed[number]) for number, shown in enumerate(sheet.iter_rows(), start=1))
    return Table(tuple(rows), (note,) if several else (), sheet.title)


def _row(number: int, shown: tuple[Any, ...], typed: tuple[Any, ...]) -> Row:
    cells = tuple(cell_text(cell.value, cell.number_format) for cell in shown)
    odd = ((i, _oddity(cell.value, typed[i].value)) for i, cell in enumerate(shown))
    days = ((i, cell.value) for i, cell in enumerate(shown) if isinstance(cell.value, dt.date))
    return Row(
        number,
        cells,
        tuple((i, what) for i, what in odd if what),
        tuple((i, (day.date() if isinstance(day, dt.datetime) else day).isoformat()) for i, day in days),
    )


def _oddity(value: object, typed: object) -> str:
    """Say what the sheet holds where the words that were typed may have been turned into something else."""
    if value is None and isinstance(typed, str) and typed.startswith("="):
        return f"a formula that was never worked out ({typed})"
    if isinstance(value, bool):
        return "a true-or-false value"
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return "a date or time"
    return ""


def cell_text(value: object, number_format: str = "General") -> str:
    """Return a cell's value as a sheet shows it: dates and numbers by their format, text as it is."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, dt.datetime | dt.date):
        return _date(value, number_format)
    if isinstance(value, dt.time | dt.timedelta):
        return str(value)
    if isinstance(value, int | float):
        return _number(value, number_format)
    from openpyxl.utils.escape import unescape

    return _paired(unescape(str(value)))


def _paired(text: str) -> str:
    """Join halves of characters beyond U+FFFF; a half left alone becomes U+FFFD, to be found on its row."""
    return text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def _number(value: float, number_format: str) -> str:
    """Write a number by the simple formats that order tables use; others as General."""
    first = number_format.split(";")[0]
    plain = re.fullmatch(r"(?:#,##)?(?P<whole>0+)(?:\.(?P<part>0+))?(?P<percent>%)?", first)
    if plain:
        scaled = value * 100 if plain["percent"] else value
        digits = f"{scaled:.{len(plain['part'] or '')}f}"
        whole, _, part = digits.partition(".")
        return whole.zfill(len(plain["whole"])) + (f".{part}" if part else "") + (plain["percent"] or "")
    if float(value).is_integer() and abs(value) < 1e15:
        return str(int(value))
    return f"{value:.{_GENERAL_DIGITS - 1}g}"


def _date(value: dt.datetime | dt.date, number_format: str) -> str:
    """Write a date by its format's letters; a format without any is written year first."""
    plain = _LITERAL.sub(lambda m: m[1] or m[2] or "", number_format.split(";")[0])
    if not re.search(r"[ymd]", plain, re.IGNORECASE):
        return value.isoformat(sep=" ") if isinstance(value, dt.datetime) else value.isoformat()
    clock = value if isinstance(value, dt.datetime) else dt.datetime(value.year, value.month, value.day)
    out, at, last = "", 0, ""
    for token in _DATE_TOKEN.finditer(plain):
        between = plain[at : token.start()]
        letters = token[0].lower()
        minutes = letters in ("m", "mm") and (
            last.startswith("h") or plain[token.end() : token.end() + 2].lower() == ":s"
        )
        out += between + _date_part(clock, letters, minutes, "am/pm" in plain.lower())
        at, last = token.end(), letters
    return out + plain[at:]


def _date_part(when: dt.datetime, letters: str, minutes: bool, twelve: bool) -> str:
    """Return one run of format letters filled in (ECMA-376 part 1, 18.8.31)."""
    hour = (when.hour - 1) % 12 + 1 if twelve else when.hour
    short = {
        "y": f"{when.year % 100:02}", "m": str(when.minute if minutes else when.month), "d": str(when.day),
        "h": str(hour), "s": str(when.second), "a": "AM" if when.hour < 12 else "PM",
    }[letters[0]]  # fmt: skip
    month, day = _MONTHS[when.month - 1], _WEEKDAYS[when.weekday()]
    named = {"mmm": month[:3], "mmmm": month, "mmmmm": month[0], "ddd": day[:3], "dddd": day}
    if letters in named:
        return named[letters]
    if letters[0] == "y":
        return short if len(letters) <= 2 else f"{when.year:04}"
    return short.zfill(len(letters)) if letters[0] in "mdhs" else short
