"""What a table of orders holds and how it would be read, and everything about it that only the shop can say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from engrave.headings.guessing import guess_field, guess_value
from engrave.intake import Opened, open_table
from engrave.intake.building import OPTION_FIELDS, gather
from engrave.intake.cells import option, split_options
from engrave.intake.headers import COLUMN_FIELDS, fold, heading_names
from engrave.intake.parts import labelled
from engrave.intake.rows import BLANK_SIGNS
from engrave.shop.house import WORD_FIELDS
from engrave.shop.models import Intake, Shop
from engrave.tasks.choosing import matched

ASIDE, OPTIONS = "not needed", "options"
"""Answers about a column beside our own names: carried along and never read; several options in one cell."""

LABELS_ANSWER, WORDS_ANSWER = "labels", "words"
"""Answers about cells such as 'Name: Anna / Date: 2026': labels to be taken off, or words to be cut as they stand."""

OUR_HEADINGS = frozenset(fold(field) for field in COLUMN_FIELDS)
"""Our own headings, as they are compared."""

SAMPLES = 3
"""Different cells of a column that are shown."""

Kind = Literal["column", "labels", "option", "value"]


@dataclass(frozen=True, slots=True)
class Shown:
    """A column as the shop sees it. read_as: one of our columns, 'options', 'not needed' or '' for not read."""

    title: str
    samples: tuple[str, ...]
    rows: int
    read_as: str


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that the shop must say.

    kind: what a 'column' is; whether the cells of one have 'labels'; what an 'option' in a column of several is; which
    entry a 'value' means. heading: the
    column's, '' for values; text: the option's label or the value; field: of a value. why: why it is asked.
    allowed: the answers; guess: one of them, or ''.
    """

    kind: Kind
    heading: str
    text: str
    field: str
    why: str
    samples: tuple[str, ...]
    rows: int
    allowed: tuple[str, ...]
    guess: str

    @property
    def key(self) -> tuple[str, str, str]:
        """What tells this question from all others."""
        return (self.kind, self.heading or self.field, self.text)


@dataclass(frozen=True, slots=True)
class Survey:
    """A table of orders as it would be read, and what is to be asked about it."""

    columns: tuple[Shown, ...]
    questions: tuple[Question, ...]


Names = Mapping[str, Mapping[str, str]]
"""For each column of options: the ids that the shop has, with their titles."""


def survey(orders: Path, shop: Shop, typefaces: Iterable[str]) -> Survey:
    """Return how a table would be read by the shop's tables as they are, and all questions in the order to be asked.

    A table under our own names alone was written for us: nothing is asked about it. typefaces: ids of those at hand.
    Raises OrdersError if the file is of no use.
    """
    table = open_table(orders, shop.intake)
    if all(fold(heading) in OUR_HEADINGS for heading in table.columns.headings if heading.strip(BLANK_SIGNS)):
        return Survey(tuple(_shown(table, shop)), ())
    names: Names = {
        "lid": {i: e.title for i, e in shop.lids.items()},
        "wood": {i: e.title for i, e in shop.woods.items()},
        "cutter": {i: e.title for i, e in shop.cutters.items()},
        "setting": {i: e.title for i, e in shop.settings.items()},
        "typeface": {i: i for i in typefaces},
    }
    asked = (
        *_columns(table, names, shop), *_labels(table, shop.intake), *_options(table, shop), *_values(table, names, shop),
    )  # fmt: skip
    return Survey(tuple(_shown(table, shop)), asked)


def cells_of(table: Opened, index: int) -> list[str]:
    """Return the filled cells of a column, on one line each."""
    cells = (row.cells[index] for row in table.rows if index < len(row.cells))
    return [" ".join(cell.split()) for cell in cells if cell.strip(BLANK_SIGNS)]


def _samples(cells: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(cells))[:SAMPLES]


def _shown(table: Opened, shop: Shop) -> Iterator[Shown]:
    columns = table.columns
    names = heading_names(shop.intake)
    for i in range(len(columns.headings)):
        cells = cells_of(table, i)
        if i in columns.fields:
            read_as = columns.fields[i]
        elif i in columns.splits:
            read_as = OPTIONS
        else:
            read_as = ASIDE if fold(columns.heading(i)) in names else ""
        if columns.heading(i) or cells:
            yield Shown(columns.title(i), _samples(cells), len(cells), read_as)


def _columns(table: Opened, names: Names, shop: Shop) -> Iterator[Question]:
    """Ask what the columns are that are not read and may hold what was ordered."""
    taken = set(table.columns.fields.values())
    for one in table.columns.unread:
        if one.has_heading:
            cells = cells_of(table, one.index)
            guess = guess_field(one.title, cells, names, shop.intake)
            guess = guess if guess not in taken else ""  # a second column of one field is for the shop to choose
            taken |= {guess} & set(COLUMN_FIELDS)
            allowed = (*COLUMN_FIELDS, OPTIONS, ASIDE)
            yield Question("column", one.title, "", "", one.why, _samples(cells), len(cells), allowed, guess)


def _labels(table: Opened, intake: Intake) -> Iterator[Question]:
    """Ask whether what stands before a colon in a column of words is a form's or the buyer's."""
    said = {fold(heading) for heading in (*intake.labels, *intake.lines)}
    for i, field in table.columns.fields.items():
        title = table.columns.title(i)
        if field not in WORD_FIELDS or fold(title) in said:
            continue
        cells = [" / ".join(cell.split("\n")) for cell in cells_of_lines(table, i) if labelled(cell)]
        if cells:
            why = "some of its cells have what a form calls its boxes; is that to be taken off and sorted, or words to cut"
            yield Question(
                "labels", title, "", "", why, _samples(cells), len(cells), (LABELS_ANSWER, WORDS_ANSWER), LABELS_ANSWER
            )


def _options(table: Opened, shop: Shop) -> Iterator[Question]:
    """Ask what the options are in cells that hold several."""
    for i, labels in table.columns.splits.items():
        found: dict[str, list[str]] = {}
        for cell in cells_of_lines(table, i):
            for label, value in split_options(cell, labels)[1]:
                if label:
                    found.setdefault(label, []).append(value)
        for label, values in found.items():
            why = "it stands among the options and is not read"
            guess = guess_field(label, values, {}, shop.intake)
            allowed = (*COLUMN_FIELDS, ASIDE)
            heading = table.columns.heading(i)
            yield Question("option", heading, label, "", why, _samples(values), len(values), allowed, guess)


def cells_of_lines(table: Opened, index: int) -> Iterator[str]:
    """Yield the cells of a column as they stand, line breaks and all."""
    return (row.cells[index] for row in table.rows if index < len(row.cells))


def _values(table: Opened, names: Names, shop: Shop) -> Iterator[Question]:
    """Ask what the options mean that the tables do not know."""
    found: dict[tuple[str, str], int] = {}
    for row in table.rows:
        got = gather(row, table.columns, shop.intake)
        for field in OPTION_FIELDS:
            text = option(got.cells.get(field, ""), shop.intake.values.get(field, {}))
            if text and matched(text, names[field]) is None:
                found[field, text] = found.get((field, text), 0) + 1
    for (field, text), rows in found.items():
        guess = guess_value(text, names[field], shop.intake.values.get(field, {}))
        why = f"the shop's tables have no {field} of this name"
        yield Question("value", "", text, field, why, (), rows, tuple(names[field]), guess)


def open_questions(found: Survey, answered: Sequence[tuple[str, str, str]]) -> tuple[Question, ...]:
    """Return the questions to be put next: those of one kind, as answers to columns bring up options and values."""
    left = [q for q in found.questions if q.key not in set(answered)]
    return tuple(q for q in left if q.kind == left[0].kind)
