"""The shop's own habits: how its order tables are read, and what an order gets when nothing is said."""

from __future__ import annotations

import codecs
import string
from typing import Literal, TypeVar

from engrave.shop.mistakes import plainly
from engrave.shop.models import Defaults, Intake
from engrave.shop.readers import FILLED, LENGTH, NAMES, TEXTS_BY_NAME, YES, Reader, choice, number
from engrave.shop.tables import TomlEntry

FIELDS = (
    "order", "name", "message", "foot", "lid", "typeface", "cutter", "wood", "setting", "spacing", "thicken",
    "letter_features", "lettering_size", "line_weight", "quantity", "matching", "due", "approved", "checked", "recut", "blank",
    "note", "extra",
)  # fmt: skip
"""What a heading may be mapped to; 'extra' has a column carried along and never read."""

WORD_FIELDS: tuple[str, ...] = ("name", "message", "foot")
T = TypeVar("T")

DATE_ORDER: Reader[Literal["dmy", "mdy", "ymd"]] = choice("dmy", "mdy", "ymd")
LEAST_CROSS = 1.0
"""mm of blank around the lid that a cross at the datum needs to be seen."""

APPROVAL: Reader[Literal["when_given", "required"]] = choice("when_given", "required")
IN_SVG: Reader[Literal["in", "out", "apart"]] = choice("in", "out", "apart")


PLAIN = string.printable.replace("\\", "").encode("ascii") + rb" \u0041 .xn--mnchen-3ya"
"""Letters, digits and signs that every code page of an export has in common (ASCII), and what only codes would change."""


def _word_fields(value: object) -> tuple[str, ...]:
    names = NAMES.read(value)
    if not names or len(set(names)) < len(names) or not set(names) <= set(WORD_FIELDS):
        raise ValueError
    return names


LINES = Reader('Allowed: fields of words, each once, as ["name", "message", "foot"].', WORD_FIELDS, _word_fields)


def _code_page(value: object) -> str:
    """Return the name of a code page: a way of writing texts in which plain letters stand as they are.

    What Python knows besides (idna, punycode, utf-7, unicode_escape, rot13, undefined) is no code page of any export.
    """
    if not isinstance(value, str):
        raise ValueError
    try:
        name = codecs.lookup(value).name
        if PLAIN.decode(name) != PLAIN.decode("ascii"):
            raise ValueError
    except (LookupError, UnicodeError, AssertionError) as error:
        raise ValueError from error
    return name


CODE_PAGE = Reader("Allowed: the name of a code page, as 'cp1252', 'latin-1' or 'mac-roman'.", "cp1252", _code_page)


def read_intake(entry: TomlEntry) -> Intake:
    """Return how the shop's order tables are read."""
    intake = Intake(
        columns=_columns(entry),
        values=_by_field(entry, "values"),
        split=_split(entry),
        code_page=entry.take("code_page", CODE_PAGE),
        curly_quotes=entry.take("curly_quotes", YES),
        date_order=entry.take("date_order", DATE_ORDER),
        lines=_by_heading(entry, "lines", LINES),
        labels=_by_heading(entry, "labels", YES),
    )
    entry.finish()
    return intake


def _by_heading(entry: TomlEntry, key: str, reader: Reader[T]) -> dict[str, T]:
    """Return what is said of single columns, by their heading."""
    inner = entry.sub(key)
    return {heading: inner.take(heading, reader) for heading in inner.values} if inner is not None else {}


def _columns(entry: TomlEntry) -> dict[str, tuple[str, ...]]:
    inner = entry.sub("columns")
    if inner is None:
        return {}
    found = {field: inner.take(field, NAMES) for field in FIELDS if field in inner}
    inner.known.extend(FIELDS)
    inner.finish()
    return _one_field_each(inner, found)


def _one_field_each(inner: TomlEntry, found: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """Return the headings so that each means one field: what the shop says goes before our own list."""
    by_shop = {field for field in found if (*inner.where, field) in inner.sheet.files}  # laid over our own list
    first: dict[str, str] = {}
    for field in sorted(found, key=lambda f: f not in by_shop):
        for heading in found[field]:
            other = first.setdefault(plainly(heading), field)
            if other != field and (field in by_shop) == (other in by_shop):
                inner.wrong(field, f"'{heading}' is also a heading of {other}", "Allowed: each heading for one column.")
    return {f: tuple(h for h in headings if first[plainly(h)] == f) for f, headings in found.items()}


def _by_field(entry: TomlEntry, key: str) -> dict[str, dict[str, str]]:
    inner = entry.sub(key)
    if inner is None:
        return {}
    found = {field: inner.take(field, TEXTS_BY_NAME) for field in FIELDS if field in inner}
    inner.known.extend(FIELDS)
    inner.finish()
    return found


def _split(entry: TomlEntry) -> dict[str, dict[str, str]]:
    """Return combined columns: heading of the column, then label inside its cells to field."""
    inner = entry.sub("split")
    field = choice(*FIELDS)
    found: dict[str, dict[str, str]] = {}
    for heading, labels in inner.subs() if inner else ():
        found[heading] = {label: labels.take(label, field) for label in labels.values}
    return found


def read_defaults(entry: TomlEntry) -> tuple[str, Defaults]:
    """Return the shop's name and what an order gets when neither it nor its lid says."""
    name = entry.take("shop", FILLED)
    defaults = Defaults(
        lid=entry.take("lid", FILLED),
        wood=entry.take("wood", FILLED),
        typeface=entry.take("typeface", FILLED),
        cutter=entry.take("cutter", FILLED),
        setting=entry.take("setting", FILLED),
        message_typeface=entry.take_or("message_typeface", FILLED, None),
        foot_typeface=entry.take_or("foot_typeface", FILLED, None),
        single_line_typeface=entry.take_or("single_line_typeface", FILLED, None),
        outline_in_svg=entry.take("outline_in_svg", IN_SVG),
        svg_margin=entry.take("svg_margin", LENGTH),
        datum_cross=entry.take("datum_cross", YES),
        approval=entry.take("approval", APPROVAL),
        least_margin=entry.take("least_margin", LENGTH),
        margin_share=entry.take("margin_share", number(0.0, 0.4)),
    )
    entry.known.append("only_mine")  # read before all else, for it decides which entries there are
    if defaults.datum_cross and defaults.svg_margin < LEAST_CROSS:
        entry.wrong(
            "datum_cross",
            "true, and svg_margin leaves no room for a cross off the wood",
            f"Allowed: true where svg_margin is at least {LEAST_CROSS:g} mm.",
        )
    entry.finish()
    return name, defaults
