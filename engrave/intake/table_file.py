"""Any table that a shop keeps, CSV or sheet, to rows of text: what is read of orders is read of logs in the same way."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from engrave.files import Unreadable, is_there, whole_file
from engrave.intake.csv_table import csv_tables
from engrave.intake.decoding import decode
from engrave.intake.orders_error import OrdersError
from engrave.intake.rows import Table
from engrave.intake.sheet_table import sheet_tables
from engrave.limits import Limit
from engrave.problems import Problem

_WORKBOOK = b"PK\x03\x04"


def is_workbook(data: bytes) -> bool:
    """Tell a sheet (.xlsx) from text, by what it holds."""
    return data.startswith(_WORKBOOK) and b"xl/" in data


def tables_of(path: Path, limit: Limit, code_page: str) -> tuple[Iterable[Table], tuple[Problem, ...]]:
    """Return the readings of a table's file, and notes on its encoding. Raises OrdersError if it cannot be read.

    The messages call it 'The orders file'; who reads another kind of table puts its own name there.
    """
    if not is_there(path):
        raise OrdersError(f"The orders file cannot be read: there is no {path}.")
    try:
        data = whole_file(path, limit)
    except Unreadable as error:
        raise OrdersError(f"The orders file cannot be read: it {error}.") from error
    if not data.strip():
        raise OrdersError("The orders file is empty.")
    if is_workbook(data):
        return sheet_tables(data), ()
    text, told = decode(data, code_page)
    return csv_tables(text), told
