"""Rows of cells as text, whatever the file: what both CSV and sheets are turned into before anything is understood."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.problems import Problem

BLANK = " \t\r\n\v\f\u00a0\u200b\u200c\u200d\u2060\ufeff"
"""What may stand in a cell that a person sees as empty."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row. number: as a spreadsheet shows it, from 1.

    odd: (column, what the sheet held that is not text). days: (column, ISO date) where the sheet held a day.
    broken: what is wrong with the row as text.
    """

    number: int
    cells: tuple[str, ...]
    odd: tuple[tuple[int, str], ...] = ()
    days: tuple[tuple[int, str], ...] = ()
    broken: str = ""

    def is_empty(self) -> bool:
        """Tell whether a person would see nothing in this row."""
        return not any(cell.strip(BLANK) for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Table:
    """All rows of one reading of a file: empty ones too, so that row numbers stay true."""

    rows: tuple[Row, ...]
    problems: tuple[Problem, ...] = ()
    title: str = ""
