"""The parts of a workbook (.xlsx), read as a stream: a cell that holds nothing costs nothing, wherever it stands.

Office Open XML: ECMA-376 part 1, section 18 (workbook, sheets, shared strings, styles), part 2 (the package). How large
the parts are is asked before anything is unpacked. Meanings of number formats and days are openpyxl's.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol, TypeVar
from xml.parsers import expat

from engrave.intake.orders_error import OrdersError
from engrave.limits import CELL_LETTERS, ORDERS_COLUMNS, SHEET_CELLS, SHEET_UNPACKED

_CHUNK = 1 << 20


class _Reader(Protocol):
    """What a part's elements are told to; names come without their namespace."""

    def start(self, name: str, attributes: dict[str, str]) -> None: ...

    def end(self, name: str) -> None: ...

    def text(self, text: str) -> None: ...


R = TypeVar("R", bound=_Reader)


@dataclass(frozen=True, slots=True)
class SheetCell:
    """A cell as the part has it. column: from 0; kind: its t; style: its s; formula: with its '='; value: its text."""

    column: int
    kind: str
    style: int
    formula: str
    value: str


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A row that has cells with something in them. number: from 1."""

    number: int
    cells: tuple[SheetCell, ...]
    hidden: bool


@dataclass(frozen=True, slots=True)
class SheetTable:
    """A visible sheet: its name and its part."""

    title: str
    part: str


class Workbook:
    """An opened workbook. Raises OrdersError if it holds more than is read; zipfile and expat errors if it is damaged."""

    def __init__(self, data: bytes) -> None:
        self._zip = zipfile.ZipFile(io.BytesIO(data))
        self._names = set(self._zip.namelist())
        self._left = SHEET_UNPACKED.most
        start = self._related("", "officeDocument") or ["xl/workbook.xml"]
        found = self._read(start[0], _BookReader())
        targets = self._relations(start[0])
        known = ((title, targets.get(rid, ("", ""))) for title, rid in found.sheets)
        self.sheets = tuple(SheetTable(title, part) for title, (kind, part) in known if kind == "worksheet")
        self.from_1904 = found.from_1904
        strings, styles = self._related(start[0], "sharedStrings"), self._related(start[0], "styles")
        self.strings = self._read(strings[0], _StringsReader()).strings if strings else []
        self.formats = self._read(styles[0], _StylesReader()) if styles else _StylesReader()

    def rows(self, sheet: SheetTable, columns: set[int]) -> Iterator[SheetRow]:
        """Yield a sheet's rows as they are read; columns: filled with the hidden columns, from 0."""
        reader = _SheetReader(columns)
        for _ in self._parse(sheet.part, reader):
            yield from reader.rows
            reader.rows.clear()

    def _related(self, part: str, kind: str) -> list[str]:
        return [target for found, target in self._relations(part).values() if found == kind]

    def _relations(self, part: str) -> dict[str, tuple[str, str]]:
        """Return a part's relations: id to (kind, part), kinds by the last word of their type."""
        folder, name = posixpath.split(part)
        rels = posixpath.join(folder, "_rels", f"{name}.rels")
        if rels not in self._names:
            return {}
        found = self._read(rels, _RelationsReader()).found
        return {
            i: (kind, posixpath.normpath(posixpath.join("/", folder, to)).lstrip("/"))
            for i, (kind, to) in found.items()
        }

    def _read(self, part: str, reader: R) -> R:
        for _ in self._parse(part, reader):
            pass
        return reader

    def _parse(self, part: str, reader: _Reader) -> Iterator[None]:
        """Unpack a part bit by bit and tell its elements; yields after each bit."""
        info = self._zip.getinfo(part)
        self._left -= info.file_size
        if self._left < 0:
            raise OrdersError(
                f"The workbook unpacks to more than {SHEET_UNPACKED.most:,} bytes of tables, as much as is read. Save the orders "
                "alone in a new workbook, or as CSV."
            )
        parser = _parser(reader)
        with self._zip.open(info) as file:  # never gives more than the size that was asked above
            while chunk := file.read(_CHUNK):
                parser.Parse(chunk)
                yield
        parser.Parse(b"", True)
        yield


def _parser(reader: _Reader) -> expat.XMLParserType:
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = lambda name, attributes: reader.start(name.rpartition(" ")[2], attributes)
    parser.EndElementHandler = lambda name: reader.end(name.rpartition(" ")[2])
    parser.CharacterDataHandler = reader.text
    parser.StartDoctypeDeclHandler = _no_doctype
    return parser


def _no_doctype(*_: object) -> None:
    """Refuse declarations of a document type, as ECMA-376 part 2, section 9.1.4 does: they can make a page of a line."""
    raise OrdersError("The workbook declares a document type, which no spreadsheet does. Save the table as CSV.")


class _Silent:
    """A reader to which nothing matters; those below say what does."""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take an element's beginning."""

    def end(self, name: str) -> None:
        """Take an element's end."""

    def text(self, text: str) -> None:
        """Take letters between the marks."""


class _RelationsReader(_Silent):
    def __init__(self) -> None:
        self.found: dict[str, tuple[str, str]] = {}

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "Relationship" and attributes.get("TargetMode") != "External":
            kind = attributes.get("Type", "").rpartition("/")[2]
            self.found[attributes.get("Id", "")] = (kind, attributes.get("Target", ""))


class _BookReader(_Silent):
    def __init__(self) -> None:
        self.sheets: list[tuple[str, str]] = []
        self.from_1904 = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "workbookPr":
            self.from_1904 = attributes.get("date1904") in ("1", "true")
        if name == "sheet" and attributes.get("state", "visible") == "visible":
            rid = next((v for k, v in attributes.items() if k.endswith(" id")), "")
            self.sheets.append((attributes.get("name", ""), rid))


class _StringsReader(_Silent):
    """The strings that cells share; how they are spoken (phonetic runs, 18.4.6) is no part of them."""

    def __init__(self) -> None:
        self.strings: list[str] = []
        self._parts: list[str] = []
        self._spoken = 0
        self._in_text = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "si":
            self._parts = []
        elif name == "rPh":
            self._spoken += 1
        self._in_text = name == "t"

    def end(self, name: str) -> None:
        if name == "si":
            self.strings.append(_bounded(self._parts))
        elif name == "rPh":
            self._spoken -= 1
        self._in_text = False

    def text(self, text: str) -> None:
        if self._in_text and not self._spoken:
            self._parts.append(text)


def _bounded(parts: list[str]) -> str:
    """Return a text, cut one letter behind the longest that a cell may have: enough to see that it is too long."""
    return "".join(parts)[: CELL_LETTERS.most + 1]


class _StylesReader(_Silent):
    """Number formats by style: `codes` by number where the workbook names its own, `numbers` in the order of styles."""

    def __init__(self) -> None:
        self.codes: dict[int, str] = {}
        self.numbers: list[int] = []
        self._in_styles = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "cellXfs":
            self._in_styles = True
        elif name == "numFmt":
            self.codes[_whole(attributes.get("numFmtId"))] = attributes.get("formatCode", "General")
        elif name == "xf" and self._in_styles:
            self.numbers.append(_whole(attributes.get("numFmtId")))

    def end(self, name: str) -> None:
        if name == "cellXfs":
            self._in_styles = False


class _SheetReader(_Silent):
    """A sheet's cells: `rows` grows by those that hold something, `columns` by those that are hidden."""

    def __init__(self, columns: set[int]) -> None:
        self.rows: list[SheetRow] = []
        self.columns = columns
        self._number, self._hidden, self._column = 0, False, -1
        self._cells: list[SheetCell] = []
        self._cell: dict[str, str] = {}
        self._texts: dict[str, list[str]] = {"f": [], "v": [], "t": []}
        self._taken: Callable[[str], object] | None = None
        self._spoken = self._hides = 0
        self._is_formula = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "c":
            self._cell = attributes
            place = attributes.get("r", "")
            self._column = column_of(place) if place else self._column + 1
        elif name == "row":
            self._number = _whole(attributes.get("r")) or self._number + 1
            self._hidden = attributes.get("hidden") in ("1", "true") or attributes.get("ht") == "0"
            self._column = -1
        elif name in ("f", "v") or (name == "t" and not self._spoken):
            self._taken = self._texts[name].append
            self._is_formula |= name == "f"
        elif name == "rPh":
            self._spoken += 1
        elif name == "col" and (attributes.get("hidden") in ("1", "true") or attributes.get("width") == "0"):
            self._hide(_whole(attributes.get("min")) - 1, _whole(attributes.get("max")))

    def end(self, name: str) -> None:
        self._taken = None
        if name == "c":
            self._put()
        elif name == "row" and self._cells:
            self.rows.append(SheetRow(self._number, tuple(self._cells), self._hidden))
            self._cells = []
        elif name == "rPh":
            self._spoken -= 1

    def text(self, text: str) -> None:
        if self._taken is not None:
            self._taken(text)

    def _put(self) -> None:
        formula, value, inline = (_bounded(parts) for parts in self._texts.values())
        for parts in self._texts.values():
            parts.clear()
        kind = self._cell.get("t", "n")
        told = inline if kind == "inlineStr" else value
        if told or self._is_formula:
            shown = f"={formula}" if self._is_formula else ""
            self._cells.append(SheetCell(self._column, kind, _whole(self._cell.get("s")), shown, told))
        self._is_formula = False
        if len(self._cells) > SHEET_CELLS.most:
            raise OrdersError(
                f"A row of the sheet holds more than {SHEET_CELLS.most:,} cells, as many as are read at once."
            )

    def _hide(self, first: int, end: int) -> None:
        """Note columns as hidden; only as many entries count as there are columns to be read."""
        if first < ORDERS_COLUMNS.most and self._hides < ORDERS_COLUMNS.most:
            self._hides += 1
            self.columns.update(range(first, min(end, ORDERS_COLUMNS.most)))


def column_of(place: str) -> int:
    """Return the column, from 0, of a cell's place: 0 for 'A1', 16383 for 'XFD7'."""
    column = 0
    for c in place[:4]:
        if not "A" <= c.upper() <= "Z":
            break
        column = column * 26 + ord(c.upper()) - ord("A") + 1
    return max(column, 1) - 1


def _whole(text: str | None) -> int:
    """Return a number that an attribute gives, 0 if it gives none that a sheet could have."""
    return int(text) if text and len(text) < 10 and text.isascii() and text.isdigit() else 0
