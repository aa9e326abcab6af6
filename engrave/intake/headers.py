"""Which column holds what: headings in any order, case and spelling of spaces, by the shop's own names or by ours."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice, zip_longest

from engrave.intake.orders_error import OrdersError
from engrave.intake.rows import BLANK_SIGNS, Row, Table
from engrave.limits import HEADING_LETTERS
from engrave.shop.house import ASIDE, MAPPED, WORD_FIELDS
from engrave.shop.models import Intake

COLUMN_FIELDS = tuple(field for field in MAPPED if field != ASIDE)
"""What a column may hold."""

_SEARCHED = 30
"""Rows among which the headings are looked for: exports put a title and a date above them, never a page."""


_LETTER = re.compile(r"[^\W_]")


@lru_cache(maxsize=4096)  # headings, labels and option texts come again on every row
def fold(text: str) -> str:
    """Return a text as it is compared: no accents, case, spaces or punctuation."""
    plain = unicodedata.normalize("NFKD", text).casefold()
    return "".join(c for c in plain if c.isalnum())


def fold_variants(text: str) -> Iterable[str]:
    """Yield the folded text, then without what stands in brackets at its end ('Message (optional)', 'Oak (+2 EUR)').

    Nothing for a text that is too long to be a heading or an option.
    """
    if len(text) > HEADING_LETTERS.most:
        return
    yield fold(text)
    shorter = re.sub(r"\s*[(\[][^()\[\]]*[)\]]\s*\*?\s*$", "", text)
    if shorter != text:
        yield fold(shorter)


@dataclass(frozen=True, slots=True)
class Unread:
    """A column to be asked about. title: its heading, 'column 9' where it has none. why: as 'its heading
    speaks of the words'. rows: how many have something in it."""

    index: int
    title: str
    why: str
    rows: int
    has_heading: bool


@dataclass(frozen=True, slots=True)
class Columns:
    """The headings of a table. fields: column index to field; splits: column index to folded label to field.

    extras: (index, name) of every column that is carried untouched, names made distinct. unread: those of them that may
    hold what was ordered.
    """

    row: int
    headings: tuple[str, ...]
    fields: Mapping[int, str]
    splits: Mapping[int, Mapping[str, str]]
    extras: tuple[tuple[int, str], ...]
    unread: tuple[Unread, ...] = ()

    def of(self, field: str) -> tuple[int, ...]:
        """Return the indices of the columns that hold a field."""
        return tuple(i for i, f in self.fields.items() if f == field)

    def known(self) -> int:
        """Count the different fields that were recognised."""
        return len(set(self.fields.values())) + len(self.splits)

    def has_words(self) -> bool:
        """Tell whether any column can bring words."""
        inside = {f for labels in self.splits.values() for f in labels.values()}
        return any(f in WORD_FIELDS for f in (*self.fields.values(), *inside))

    def heading(self, index: int) -> str:
        """Return a column's heading as it stands, '' where it has none."""
        return self.headings[index].strip(BLANK_SIGNS) if index < len(self.headings) else ""

    def title(self, index: int) -> str:
        """Return a column's heading for people, 'column 9' where it has none."""
        return _cut(self.heading(index)) or f"column {index + 1}"


def heading_names(intake: Intake) -> dict[str, str]:
    """Return folded heading to field: the shop's names before our own, so that a shop can say what 'Name' means."""
    names = {fold(field): field for field in COLUMN_FIELDS}
    for field, headings in intake.columns.items():
        names |= {fold(heading): field for heading in headings}
    return names


def read_headings(row: Row, intake: Intake) -> Columns:
    """Understand one row as headings."""
    names = heading_names(intake)
    split_names = {fold(heading): labels for heading, labels in intake.split.items()}
    fields: dict[int, str] = {}
    splits: dict[int, Mapping[str, str]] = {}
    for i, cell in enumerate(row.cells):
        label = next((v for v in fold_variants(cell) if v and (v in names or v in split_names)), "")
        if label in split_names:
            splits[i] = names | {fold(k): v for k, v in split_names[label].items()}
        elif label and names[label] != ASIDE:
            fields[i] = names[label]
    rest = [i for i in range(len(row.cells)) if i not in fields and i not in splits]
    return Columns(row.number, row.cells, fields, splits, _distinct(row, rest))


def _distinct(row: Row, rest: list[int]) -> tuple[tuple[int, str], ...]:
    seen: dict[str, int] = {}
    out: dict[str, int] = {}
    for i in rest:
        name = distinct = _cut(row.cells[i].strip(BLANK_SIGNS)) or f"column {i + 1}"
        while distinct in out:
            seen[name] = seen.get(name, 1) + 1
            distinct = f"{name} ({seen[name]})"
        out[distinct] = i
    return tuple((i, name) for name, i in out.items())


def _cut(heading: str) -> str:
    return heading if len(heading) <= HEADING_LETTERS.most else heading[: HEADING_LETTERS.most] + "…"


def find_headings(tables: Iterable[Table], intake: Intake, first: bool) -> tuple[Table, Columns]:
    """Return the reading that makes most sense and its headings.

    first: take the first table that has headings (sheets of a workbook) instead of the best one (separators).
    Raises OrdersError if no row can be headings, naming what was found.
    """
    best: tuple[int, int, Table, Columns] | None = None
    seen: Table | None = None
    for table in tables:
        seen = seen or (table if any(_LETTER.search(cell) for row in table.rows for cell in row.cells) else None)
        found = _headings_of(table, intake)
        if found is None:
            continue
        score = (found.known(), len([h for h in found.headings if h.strip(BLANK_SIGNS)]))
        if best is None or score > best[:2]:
            best = (*score, table, found)
        if first:
            break
    if best is None:
        raise OrdersError(_no_headings(seen, intake))
    return best[2], best[3]


def _headings_of(table: Table, intake: Intake) -> Columns | None:
    rows = list(islice((row for row in table.rows if not row.is_empty()), _SEARCHED))
    usable = [found for found in (read_headings(row, intake) for row in rows) if found.has_words()]
    return max(usable, key=Columns.known, default=None)


def _no_headings(table: Table | None, intake: Intake) -> str:
    """Say why a file is of no use: empty, without headings, or without a column of words."""
    if table is None:
        return "The orders file is empty: it has no rows."
    rows = list(islice((row for row in table.rows if not row.is_empty()), _SEARCHED))
    best = max((read_headings(row, intake) for row in rows), key=Columns.known)
    headings = [h.strip() for h in best.headings if h.strip()]
    listed = ", ".join(repr(_short(h)) for h in headings[:8])
    if best.known():
        return (
            f"No column of words was found: row {best.row} has the headings {listed}. Name one of them 'name', "
            "'message' or 'foot', or say in intake.toml which heading holds the words: [columns] name = [\"...\"]."
        )
    return (
        f"No row of headings was found; row {best.row} reads {listed}. The first row must name the columns, "
        f"at least one of name, message and foot. All that are known: {', '.join(COLUMN_FIELDS)}."
    )


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:39] + "…"


def repeats(row: Row, columns: Columns) -> bool:
    """Tell whether a row is the headings once more, as it happens where exports were pasted together."""
    pairs = zip_longest(row.cells, columns.headings, fillvalue="")
    return all(len(a) <= HEADING_LETTERS.most and fold(a) == fold(b) for a, b in pairs)
