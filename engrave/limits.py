"""How much is read of anything that comes from outside: one table, told in every refusal.

The limits are counts of work, not seconds, so the answer is the same on every computer. Each lies far above what a
shop of one or two people needs, and low enough that what lies below it is answered in seconds.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit. of: what it holds for, for people; most: the greatest count that is read; unit: what is counted."""

    of: str
    most: int
    unit: str
    why: str

    def passed(self, count: float) -> bool:
        """Tell whether a count is beyond the limit."""
        return count > self.most

    def told(self, count: int | None = None) -> str:
        """Return the finding as words: '60,000 nodes; at most 50,000 are read'. Without a count: 'more than ...'."""
        unit = f" {self.unit}" if self.unit else ""
        if count is None:
            return f"more than {self.most:,}{unit}, which is the most that is read"
        return f"{count:,}{unit}; at most {self.most:,} are read"


MEGABYTE = 1_000_000

TABLE_BYTES = Limit("a shop's table (.toml)", MEGABYTE, "bytes", "ours are 10,000 bytes; a thousand lids are 300,000")
TABLE_DEPTH = Limit("lists and tables in one another", 20, "levels", "ours have 4; each level is a call deeper")
TABLE_DIGITS = Limit("digits of a figure in a table", 30, "digits", "money and mm have 12; long ones take long to read")
TABLE_PARTS = Limit("parts of a key with dots", 20, "parts", "ours have 4")
TABLE_ENTRIES = Limit("entries of a table", 2_000, "entries", "each is checked, and drawn if it is a lid")
LIKE_CHAIN = Limit("entries each `like` the next", 20, "entries", "a person still finds where a figure comes from")

DRAWING_BYTES = Limit("an outline's drawing (.svg)", 10 * MEGABYTE, "bytes", "a photo to trace from fits in")
DRAWING_DEPTH = Limit("groups in one another in a drawing", 100, "levels", "drawing programs write ten or twenty")
DRAWING_SHAPES = Limit("contours of a drawing, reuse counted", 1_000, "contours", "a lid has an outline and few holes")
DRAWING_NODES = Limit("nodes of a drawing, reuse counted", 20_000, "nodes", "a traced outline has some thousands")
DRAWING_DIGITS = Limit("digits of a figure in a drawing", 40, "digits", "drawing programs write 18 at most")
DRAWING_CLOSINGS = Limit("closings of a path without a new start", 500, "closings", "usual paths start anew each time")
LID_SHAPES = Limit("contours of a lid's file", 50_000, "contours", "a letter has two or three")
LID_NODES = Limit("nodes of a lid's file", 500_000, "nodes", "a letter has about forty")
DRAWING_CHORDS = Limit("chords of an outline, 0.005 mm true", 20_000, "chords", "a heart of 110 mm has 900")
DRAWING_RINGS = Limit("closed outlines and holes of a drawing", 60, "rings", "a pierced lid has some dozens")
DRAWING_CROSSINGS = Limit("places where an outline crosses itself", 2_000, "crossings", "a slip of the pen makes one")
DRAWING_STYLES = Limit("letters of style and transform read", 2 * MEGABYTE, "letters", "inherited ones counted again")

ARTWORK_NODES = Limit("nodes of a drawing that is cut", 5_000, "nodes", "all are measured; a traced oak leaf has 400")
ARTWORK_CHORDS = Limit("chords of a drawing that is cut", 20_000, "chords", "a rich wreath has 3,000")

FONT_BYTES = Limit("a font file", 50 * MEGABYTE, "bytes", "the largest for Chinese and Japanese are 20 MB")
FONT_UNPACKED = Limit("a web font, unpacked", 100 * MEGABYTE, "bytes", "twice the largest that are known")
FONT_GLYPHS = Limit("glyphs of a font", 65_535, "glyphs", "what OpenType itself can number")
FONT_LEVELS = Limit("elements in one another in a font file (.svg)", 100, "levels", "usual ones have four")
LINE_NODES = Limit("nodes of one glyph of single lines", 2_000, "nodes", "the richest known has 300")
GLYPH_CROSSINGS = Limit("places where one glyph crosses itself", 2_000, "crossings", "usual letters have a dozen")
GLYPH_NODES = Limit("nodes of one glyph", 10_000, "nodes", "rough brush letters have 2,000")
TYPEFACES = Limit("typefaces of a shop's folder", 500, "typefaces", "each is opened and checked at every start")

LOG_BYTES = Limit("a log of times", 5 * MEGABYTE, "bytes", "a row is 40 bytes: a hundred thousand runs")
LEARNED_BYTES = Limit("what was learned of machines (learned_times.json)", 5 * MEGABYTE, "bytes", "a run is 20 bytes")
LOG_ROWS = Limit("rows of a log", 20_000, "rows", "ten years of ten lids a working day")
WEEK_BYTES = Limit("a week's list (week.json)", 100 * MEGABYTE, "bytes", "a piece is 3,000 bytes")
MEASURES_BYTES = Limit("the kept measures of a typeface", 50 * MEGABYTE, "bytes", "2,000 letters are 4 MB")
READY_BYTES = Limit("what is kept ready of our own data", 20 * MEGABYTE, "bytes", "all known words are 1 MB")

READING = (
    TABLE_BYTES, TABLE_DEPTH, TABLE_DIGITS, TABLE_PARTS, TABLE_ENTRIES, LIKE_CHAIN, DRAWING_BYTES, DRAWING_DEPTH,
    DRAWING_SHAPES, DRAWING_NODES, DRAWING_DIGITS, DRAWING_CLOSINGS, DRAWING_CHORDS, DRAWING_RINGS, DRAWING_CROSSINGS, DRAWING_STYLES,
    ARTWORK_NODES, ARTWORK_CHORDS, LID_SHAPES, LID_NODES, FONT_BYTES, FONT_UNPACKED,
    FONT_GLYPHS, GLYPH_NODES, LINE_NODES, GLYPH_CROSSINGS, FONT_LEVELS, TYPEFACES, LOG_BYTES, LOG_ROWS, LEARNED_BYTES, WEEK_BYTES, MEASURES_BYTES, READY_BYTES,
)  # fmt: skip
"""Limits of the shop's own files, in the order in which they are told."""

ORDERS_BYTES = Limit("a table of orders (CSV or .xlsx)", 64 * MEGABYTE, "bytes", "a hundred thousand rows are 20 MB")
SHEET_UNPACKED = Limit("a workbook's tables, unpacked", 48 * MEGABYTE, "bytes", "asked before anything is unpacked")
ORDERS_LINES = Limit("lines of a text table", 1_000_000, "lines", "those inside cells count too")
ORDERS_ROWS = Limit("rows of orders in a table", 100_000, "rows", "a large maker's year; read in a minute")
ORDERS_COLUMNS = Limit("columns of a table", 300, "columns", "shop pages export eighty; a row filled beyond is held")
SHEET_CELLS = Limit("filled cells of a sheet", 500_000, "cells", "twenty thousand rows of twenty-five")
SHEET_LETTERS = Limit("letters in all cells of a sheet", 16 * MEGABYTE, "letters", "cells may share one long text")
CELL_LETTERS = Limit("letters of any cell", 32_767, "letters", "as many as spreadsheets hold; the rest is left out")
WORDS_LETTERS = Limit("words to cut in one cell", 2_000, "letters", "no lid has room for them; the row is held")
WORDS_LINES = Limit("lines of words in one cell", 60, "lines", "no lid has room for them; the row is held")
NOTE_LETTERS = Limit("a remark", 5_000, "letters", "two pages; the rest is left out, with a look")
SHORT_LETTERS = Limit("any other cell that is read", 500, "letters", "ids and days have twenty; the row is held")
HEADING_LETTERS = Limit("a heading, and an option's text", 200, "letters", "longer ones are known to no table")
ORDER_ROWS = Limit("rows of one order", 1_000, "rows", "a gift to each of a large firm; those after are held")

ORDERS = (
    ORDERS_BYTES, SHEET_UNPACKED, ORDERS_LINES, ORDERS_ROWS, ORDERS_COLUMNS, SHEET_CELLS, SHEET_LETTERS, CELL_LETTERS,
    WORDS_LETTERS, WORDS_LINES, NOTE_LETTERS, SHORT_LETTERS, HEADING_LETTERS, ORDER_ROWS,
)  # fmt: skip
"""Limits of the table of orders: of the file, the rows, and each cell."""
