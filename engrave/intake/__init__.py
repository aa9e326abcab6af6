"""The orders table, from whatever file a shop has, and the buyer's words made safe without being changed silently."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from engrave.files import Unreadable, is_there, whole_file
from engrave.intake.building import Gathered, build, gather, number_pieces
from engrave.intake.doubts import quoted
from engrave.intake.headers import Columns, Unread, find_headings, repeats
from engrave.intake.order import Order, Words
from engrave.intake.orders_error import OrdersError
from engrave.intake.rows import Row, Table
from engrave.intake.unread import with_unread
from engrave.limits import ORDERS_BYTES, ORDERS_COLUMNS, ORDERS_ROWS
from engrave.on_disk import long_list
from engrave.problems import Problem
from engrave.shop.models import Intake

__all__ = [
    "Opened",
    "Order",
    "OrdersError",
    "OrdersFile",
    "Unread",
    "Words",
    "open_table",
    "read_orders",
    "words_typed",
]

_WORKBOOK = b"PK\x03\x04"


@dataclass(frozen=True, slots=True)
class OrdersFile:
    """A table of orders, read. problems: about the file as a whole. columns: names of the extra columns, in order.

    unread: the columns that the shop must say something about before their rows are made.
    """

    orders: Sequence[Order]
    problems: tuple[Problem, ...] = ()
    columns: tuple[str, ...] = ()
    unread: tuple[Unread, ...] = ()


@dataclass(frozen=True, slots=True)
class Opened:
    """A table with its headings understood and its rows not yet: those that are orders. problems: about the file."""

    rows: Sequence[Row]
    columns: Columns
    problems: tuple[Problem, ...]


def open_table(path: Path, intake: Intake) -> Opened:
    """Find a table's headings and its rows, whatever the file. Raises OrdersError if it is of no use as a whole."""
    data = _bytes(path)
    is_sheet = data.startswith(_WORKBOOK) and b"xl/" in data
    tables, told = _tables(data, intake, is_sheet)
    table, columns = find_headings(tables, intake, first=is_sheet)
    if table.too_long:
        raise OrdersError(
            f"The table has more than {ORDERS_ROWS.most:,} rows of orders, as many as are read at once. Split it."
        )
    notes: list[Problem] = []
    rows = long_list(_order_rows(table, columns, notes))
    return Opened(rows, with_unread(columns, rows, intake), (*told, *table.problems, *_columns_told(columns), *notes))


def read_orders(path: Path, intake: Intake) -> OrdersFile:
    """Read a table of orders (CSV or .xlsx) by the shop's rules; every row that is not empty gives an order.

    Raises OrdersError if the file as a whole is of no use: missing, no text, empty, without headings or words.
    """
    table = open_table(path, intake)
    columns = table.columns
    orders = long_list(number_pieces(build(gather(row, columns, intake), intake) for row in table.rows))
    everything = (*table.problems, *_house_rules(orders), *_none(orders))
    names = [columns.title(i) for i in columns.splits] + [name for _, name in columns.extras]
    return OrdersFile(orders, everything, tuple(names), columns.unread)


def words_typed(
    name: str, message: str, foot: str, intake: Intake, *, spacing: str = "", thicken: str = "", letter_features: str = "",
    lettering_size: str = "", line_weight: str = "", depth: str = "", artwork: str = "",
) -> Order:  # fmt: skip
    """Return an order for words typed by hand: its id is 'try', its row 0. Other columns as in the table."""
    cells = {
        "name": name, "message": message, "foot": foot, "spacing": spacing, "thicken": thicken,
        "letter_features": letter_features, "lettering_size": lettering_size, "line_weight": line_weight,
        "depth": depth, "artwork": artwork,
    }  # fmt: skip
    got = Gathered(0, cells={field: text for field, text in cells.items() if text})
    return replace(build(got, intake), id="try")


def _bytes(path: Path) -> bytes:
    if not is_there(path):
        raise OrdersError(f"There is no orders file {path}.")
    try:
        data = whole_file(path, ORDERS_BYTES)
    except Unreadable as error:
        raise OrdersError(f"The orders file {path} cannot be read: it {error}.") from error
    if not data.strip():
        raise OrdersError(f"The orders file {path} is empty.")
    return data


def _tables(data: bytes, intake: Intake, is_sheet: bool) -> tuple[Iterable[Table], tuple[Problem, ...]]:
    if is_sheet:
        from engrave.intake.sheet_table import sheet_tables  # words typed by hand come in no file

        return sheet_tables(data), ()
    from engrave.intake.csv_table import csv_tables
    from engrave.intake.decoding import decode

    text, told = decode(data, intake.code_page)
    return csv_tables(text), told


def _order_rows(table: Table, columns: Columns, notes: list[Problem]) -> Iterator[Row]:
    """Yield the rows that are orders, and note what became of the others: above the headings, or the headings again."""
    for row in table.rows:
        if row.number == columns.row and row.beyond:
            says = f"Tables are read as far as column {ORDERS_COLUMNS.most:,}; {row.beyond:,} headings beyond it were not read."
            notes.append(Problem("too-many-columns", "look", says, where=f"row {row.number}"))
        if row.is_empty() or row.number == columns.row:
            continue
        if row.number < columns.row:
            shown = ", ".join(quoted(c.strip()) for c in row.cells if c.strip())
            says = f"Row {row.number} stands above the headings and was not read as an order: {shown}."
            notes.append(Problem("above-headings", "note", says, where=f"row {row.number}"))
        elif repeats(row, columns):
            says = f"Row {row.number} repeats the headings and is no order."
            notes.append(Problem("repeated-headings", "note", says, where=f"row {row.number}"))
        else:
            yield row


def _columns_told(columns: Columns) -> Iterator[Problem]:
    """Tell which columns were carried along without being understood: a misspelt heading shows here."""
    names = [columns.title(i) for i, _ in columns.extras if columns.heading(i)]
    if names:
        says = f"Columns that are carried along and not read: {', '.join(quoted(n) for n in names)}."
        yield Problem("unknown-columns", "note", says, where=f"row {columns.row}")
    if not columns.of("order"):
        says = "The table has no order numbers; each row is an order of its own, called by its row (row-7)."
        yield Problem("no-order-column", "note", says, where=f"row {columns.row}")


def _house_rules(orders: Sequence[Order]) -> Iterator[Problem]:
    """Tell once a week what the shop's rule changes on many orders."""
    changed = sum(1 for order in orders if any(c.endswith("straight quotes made curly") for c in order.changes))
    if changed:
        rows = "1 row" if changed == 1 else f"{changed} rows"
        says = f"By the shop's rule straight quotes were made curly, in {rows}."
        yield Problem("curly-quotes", "note", says)


def _none(orders: Sequence[Order]) -> Iterator[Problem]:
    if not orders:
        yield Problem("no-orders", "look", "The table has headings and no orders.")
