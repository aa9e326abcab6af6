"""How much of a table of orders is read: one table of counts, so that the answer is the same on every machine.

Each bound lies far above what a week of a small shop holds and far below what keeps a computer busy for ten seconds.
What goes beyond is never passed over in silence: the message tells the figure that was found, or the bound, and what
to do.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limit:
    """One bound. most: the greatest count that is still read; of: what is counted; beyond: what happens above it."""

    most: int
    of: str
    beyond: str

    def __str__(self) -> str:
        """Return the count as people write it: '20,000'."""
        return f"{self.most:,}"


FILE = Limit(16_000_000, "bytes of the orders file", "the file is refused")
UNPACKED = Limit(48_000_000, "bytes of a workbook's tables when unpacked", "the file is refused before it is unpacked")
LINES = Limit(200_000, "lines of a text table, those inside cells too", "the file is refused")
ROWS = Limit(20_000, "rows that hold something", "the file is refused")
CELLS = Limit(500_000, "cells of a sheet that hold something", "the file is refused")
LETTERS = Limit(16_000_000, "letters in all cells of a sheet together", "the file is refused")
COLUMNS = Limit(300, "columns", "a row that is filled further to the right is held")
CELL = Limit(
    32_767, "letters in one cell, as many as spreadsheets hold", "the rest of the cell is left out, with a look"
)
WORDS = Limit(2_000, "letters of words to cut in one cell", "the row is held")
WORD_LINES = Limit(60, "lines of words to cut in one cell", "the row is held")
NOTE = Limit(5_000, "letters of a remark", "the rest of the remark is left out, with a look")
SHORT = Limit(500, "letters in any other cell that is read", "the row is held")
HEADING = Limit(200, "letters of a heading", "the column is carried along and not read")
ORDER_ROWS = Limit(1_000, "rows of one order", "the rows after that are held")

LIMITS = (
    FILE, UNPACKED, LINES, ROWS, CELLS, LETTERS, COLUMNS, CELL, WORDS, WORD_LINES, NOTE, SHORT, HEADING, ORDER_ROWS,
)  # fmt: skip
"""All of them, for people to look up."""
