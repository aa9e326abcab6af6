"""Rows of cells as text, whatever the file: what both CSV and sheets are turned into before anything is understood."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from engrave.limits import ORDERS_COLUMNS, ORDERS_ROWS
from engrave.on_disk import long_list
from engrave.problems import Problem

BLANK_SIGNS = " \t\r\n\v\f\u00a0\u200b\u200c\u200d\u2060\ufeff"
"""What may stand in a cell that a person sees as empty."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row. number: as a spreadsheet shows it, from 1.

    odd: (column, what the sheet held that is not text). days: (column, ISO date) where the sheet held a day.
    broken: what is wrong with the row as text. hidden: nobody sees the row in the sheet. cells: those of the first
    columns, as many as are read; beyond: how many filled cells stand to the right of them.
    """

    number: int
    cells: tuple[str, ...]
    odd: tuple[tuple[int, str], ...] = ()
    days: tuple[tuple[int, str], ...] = ()
    broken: str = ""
    hidden: bool = False
    beyond: int = 0

    def __reduce__(self) -> tuple[type[Row], tuple[object, ...]]:
        """Lie on disk as these values: a long table's rows do, and asking a dataclass for its fields takes longer."""
        return Row, (self.number, self.cells, self.odd, self.days, self.broken, self.hidden, self.beyond)

    def is_empty(self) -> bool:
        """Tell whether a person would see nothing in this row."""
        return not self.beyond and not any(cell.strip(BLANK_SIGNS) for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of one reading of a file that hold something, each with its true number.

    too_long: there are more of them than are read.
    """

    rows: Sequence[Row]
    problems: tuple[Problem, ...] = ()
    title: str = ""
    too_long: bool = False


def kept(rows: Iterable[Row]) -> tuple[Sequence[Row], bool]:
    """Return the rows that hold something, no wider than is read, and whether there are more than are read."""
    filled = (narrow for row in rows if not (narrow := _narrowed(row)).is_empty())
    found = long_list(islice(filled, ORDERS_ROWS.most + 1))  # the headings are no row of orders
    return found, next(filled, None) is not None


def _narrowed(row: Row) -> Row:
    if len(row.cells) <= ORDERS_COLUMNS.most:
        return row
    beyond = sum(1 for cell in row.cells[ORDERS_COLUMNS.most :] if cell.strip(BLANK_SIGNS))
    return replace(row, cells=row.cells[: ORDERS_COLUMNS.most], beyond=row.beyond + beyond)
