"""Sheets (.xlsx) to rows: every cell as the text a person sees in it, and a word where the sheet holds no text."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from engrave.intake.decoding import LOST_LETTER
from engrave.intake.orders_error import OrdersError
from engrave.intake.rows import BLANK_SIGNS, Row, Table, kept
from engrave.intake.workbook import SheetCell, SheetRow, SheetTable, Workbook
from engrave.limits import ORDERS_COLUMNS, SHEET_CELLS, SHEET_LETTERS
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


def sheet_tables(data: bytes) -> Iterator[Table]:
    """Yield one table for each visible sheet, in their order. Raises OrdersError if the workbook cannot be read."""
    try:
        book = Workbook(data)
        for sheet in book.sheets:
            yield _table(book, sheet, len(book.sheets) > 1)
    except OrdersError:
        raise
    except Exception as error:  # whatever a damaged zip or its XML raises, the shop needs one sentence
        raise OrdersError(
            "The workbook is damaged and cannot be read. Save the table again as .xlsx or as CSV."
        ) from error


def _table(book: Workbook, sheet: SheetTable, several: bool) -> Table:
    unseen = _Unseen()
    values = Values(book)
    rows, too_long = kept(unseen.noted(values.row(row)) for row in book.rows(sheet, unseen.columns))
    notes = [Problem("sheet", "note", f"Read from the sheet {sheet.title!r}; other sheets were not read.")]
    return Table(rows, (*notes[: int(several)], *unseen.told()), sheet.title, too_long)


class _Unseen:
    """Rows and columns that hold something nobody sees in the sheet, noted as they are read. columns: all hidden ones."""

    def __init__(self) -> None:
        self.columns: set[int] = set()
        self._rows: list[int] = []
        self._filled: set[int] = set()

    def noted(self, row: Row) -> Row:
        """Return the row as it is. A sheet names its hidden columns ahead of its rows (ECMA-376 part 1, 18.3.1.99)."""
        if row.hidden and not row.is_empty():
            self._rows.append(row.number)
        if self.columns:
            self._filled |= {i for i, cell in enumerate(row.cells) if i in self.columns and cell.strip(BLANK_SIGNS)}
        return row

    def told(self) -> Iterator[Problem]:
        """Tell what was noted."""
        if self._rows:
            those = f"{'Row' if len(self._rows) == 1 else 'Rows'} {spans(self._rows)} of the sheet {_are(self._rows)}"
            yield Problem("hidden-rows", "note", f"{those} like the others.")
        if filled := sorted(self._filled):
            names = ", ".join(column_name(i) for i in filled)
            says = f"{'Column' if len(filled) == 1 else 'Columns'} {names} of the sheet {_are(filled)} like the others."
            yield Problem("hidden-columns", "note", says)


def _are(what: Sequence[int]) -> str:
    return "is hidden; it was read" if len(what) == 1 else "are hidden; they were read"


def spans(numbers: Sequence[int]) -> str:
    """Return rising numbers in few words: '3, 5 to 9'; the first ones if they are many."""
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1] = [runs[-1][0], n]
        else:
            runs.append([n])
    shown = ", ".join(" to ".join(map(str, run)) for run in runs[:_SPANS])
    return shown + (f" and {len(runs) - _SPANS} more places" if len(runs) > _SPANS else "")


_SPANS = 12


def column_name(index: int) -> str:
    """Return a column's letters: 'A' for 0, 'XFD' for 16383."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


class Values:
    """Cells of one workbook as the text a person sees, counted so that no sheet brings more than is read."""

    def __init__(self, book: Workbook) -> None:
        self.book = book
        self.cells = self.letters = 0
        self.texts: dict[int, str] = {}
        self.formats: dict[int, _Format] = {}

    def row(self, row: SheetRow) -> Row:
        """Return a row of cells as text."""
        cells: dict[int, str] = {}
        odd: list[tuple[int, str]] = []
        days: list[tuple[int, str]] = []
        for cell in row.cells:
            value = self._value(cell)
            text = cells[cell.column] = self._text(cell, value)
            self._count(text)
            what = _oddity(value, cell.formula)
            odd += [(cell.column, what)] if what else []
            if isinstance(value, dt.date):
                days.append((cell.column, (value.date() if isinstance(value, dt.datetime) else value).isoformat()))
        near = range(1 + max((i for i in cells if i < ORDERS_COLUMNS.most), default=-1))
        beyond = sum(1 for i, text in cells.items() if i >= ORDERS_COLUMNS.most and text.strip(BLANK_SIGNS))
        texts = tuple(cells.get(i, "") for i in near)
        inside = tuple((i, what) for i, what in odd if i < ORDERS_COLUMNS.most)
        return Row(row.number, texts, inside, tuple(days), hidden=row.hidden, beyond=beyond)

    def _count(self, text: str) -> None:
        self.cells += 1
        self.letters += len(text)
        if self.cells > SHEET_CELLS.most or self.letters > SHEET_LETTERS.most:
            over = (
                f"{SHEET_CELLS.most:,} filled cells"
                if self.cells > SHEET_CELLS.most
                else f"{SHEET_LETTERS.most:,} letters"
            )
            raise OrdersError(f"The sheet holds more than {over}, as many as are read at once. Split the table.")

    def _value(self, cell: SheetCell) -> object:
        """Return what a cell holds by its kind (ECMA-376 part 1, 18.18.11); None for a formula without a result."""
        if not cell.value and cell.kind != "inlineStr":
            return None
        if cell.kind == "n":
            return _number_or_day(cell.value, self._format(cell.style), self.book.from_1904)
        if cell.kind == "b":
            return cell.value.strip() in ("1", "true")
        if cell.kind == "d":
            return _iso_day(cell.value)
        return cell.value

    def _text(self, cell: SheetCell, value: object) -> str:
        if cell.kind != "s":
            return cell_text(value, self._format(cell.style).code)
        index = int(cell.value) if cell.value.strip().isdigit() else -1
        if index not in self.texts:
            strings = self.book.strings
            self.texts[index] = cell_text(strings[index]) if 0 <= index < len(strings) else LOST_LETTER
        return self.texts[index]

    def _format(self, style: int) -> _Format:
        if style not in self.formats:
            numbers = self.book.formats.numbers
            self.formats[style] = _format(numbers[style] if style < len(numbers) else 0, self.book.formats.codes)
        return self.formats[style]


@dataclass(frozen=True, slots=True)
class _Format:
    """A number format: its code, and whether it shows days or spans of time."""

    code: str
    is_day: bool
    is_span: bool


def _format(number: int, own: Mapping[int, str]) -> _Format:
    from openpyxl.styles import numbers  # here, since no other command should wait a tenth of a second for it

    code = own.get(number) or numbers.BUILTIN_FORMATS.get(number, "General")
    code = code if len(code) <= _LONGEST_FORMAT else "General"
    return _Format(code, numbers.is_date_format(code), numbers.is_timedelta_format(code))


_LONGEST_FORMAT = 255
"""Letters of a number format, as many as spreadsheets take."""


def _number_or_day(text: str, shown: _Format, from_1904: bool) -> object:
    """Return a number, or the day that its format shows it as; a day outside the calendar stays the text it is."""
    from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH, from_excel

    try:
        number = float(text) if any(c in text for c in ".eE") or len(text) > _MOST_DIGITS else int(text)
        if not shown.is_day:
            return number if abs(number) < float("inf") else text
        return from_excel(number, MAC_EPOCH if from_1904 else WINDOWS_EPOCH, timedelta=shown.is_span)
    except (ValueError, OverflowError):
        return text


_MOST_DIGITS = 300
"""Digits of a whole number: a number in a sheet has fifteen that count, and Python's own bound lies far above."""


def _iso_day(text: str) -> object:
    """Return the day or time of a cell that holds it as ISO 8601 text."""
    from openpyxl.utils.datetime import from_ISO8601

    try:
        return from_ISO8601(text)  # type: ignore[no-untyped-call]
    except ValueError:
        return text


def _oddity(value: object, formula: str) -> str:
    """Say what the sheet holds where the words that were typed may have been turned into something else."""
    if value is None and formula:
        return "a formula that was never worked out" + (f" ({formula[:_FORMULA]})" if len(formula) > 1 else "")
    if isinstance(value, bool):
        return "a true-or-false value"
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return "a date or time"
    return ""


_FORMULA = 80
"""Letters of a formula that a message repeats."""


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
