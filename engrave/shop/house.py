"""The shop's own habits: how its order tables are read, and what an order gets when nothing is said."""

from __future__ import annotations

import codecs
import string
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from engrave.shop.keys import by_name, key, read_table, taken
from engrave.shop.mistakes import plainly
from engrave.shop.readers import FILLED, LENGTH, NAME_LIST, TEXTS_BY_NAME, YES, Reader, choice, number, one_of
from engrave.shop.tables import TomlEntry

ASIDE = "extra"
"""A shop maps a heading to this to have its column carried along but never read ('Name' that is the buyer's)."""

MAPPED = (
    "order", "name", "message", "foot", "lid", "typeface", "cutter", "wood", "setting", "spacing", "thicken",
    "letter_features", "lettering_size", "line_weight", "depth", "artwork", "quantity", "matching", "due", "approved",
    "checked", "recut", "blank", "note", ASIDE,
)  # fmt: skip
"""What a heading may be mapped to."""

WORD_FIELDS: tuple[str, ...] = ("name", "message", "foot")

DateOrder = Literal["dmy", "mdy", "ymd"]
Approval = Literal["when_given", "required"]
OutlineInSvg = Literal["in", "out", "apart"]

LEAST_CROSS = 1.0
"""mm of blank around the lid that a cross at the datum needs to be seen."""

PLAIN_BYTES = string.printable.replace("\\", "").encode("ascii") + rb" \u0041 .xn--mnchen-3ya"
"""Letters, digits and signs that every code page of an export has in common (ASCII), and what only codes would change."""


def _word_fields(value: object) -> tuple[str, ...]:
    names = NAME_LIST.read(value)
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
        if PLAIN_BYTES.decode(name) != PLAIN_BYTES.decode("ascii"):
            raise ValueError
    except (LookupError, UnicodeError, AssertionError) as error:
        raise ValueError from error
    return name


CODE_PAGE = Reader("Allowed: the name of a code page, as 'cp1252', 'latin-1' or 'mac-roman'.", "cp1252", _code_page)


def _columns(entry: TomlEntry, name: str) -> dict[str, tuple[str, ...]]:
    inner = entry.sub(name)
    if inner is None:
        return {}
    found = {field: inner.take(field, NAME_LIST) for field in MAPPED if field in inner}
    inner.known.extend(MAPPED)
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


def _by_field(entry: TomlEntry, name: str) -> dict[str, dict[str, str]]:
    inner = entry.sub(name)
    if inner is None:
        return {}
    found = {field: inner.take(field, TEXTS_BY_NAME) for field in MAPPED if field in inner}
    inner.known.extend(MAPPED)
    inner.finish()
    return found


def _split(entry: TomlEntry, name: str) -> dict[str, dict[str, str]]:
    """Return combined columns: heading of the column, then label inside its cells to field."""
    inner = entry.sub(name)
    field = choice(*MAPPED)
    found: dict[str, dict[str, str]] = {}
    for heading, labels in inner.subs() if inner else ():
        found[heading] = {label: labels.take(label, field) for label in labels.values}
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """How the shop's order tables are read: header names, option texts, combined columns, code page, house rules.

    lines: a column of words, and the field of each line in its cells. labels: whether a column's cells have labels to be
    taken off; a column that is not named there is asked about where they stand.
    """

    columns: Mapping[str, tuple[str, ...]] = taken(_columns)
    values: Mapping[str, Mapping[str, str]] = taken(_by_field)
    split: Mapping[str, Mapping[str, str]] = taken(_split)
    code_page: str = key(CODE_PAGE)
    curly_quotes: bool = key(YES)
    date_order: DateOrder = key(one_of(DateOrder))
    lines: Mapping[str, tuple[str, ...]] = by_name(LINES)
    labels: Mapping[str, bool] = by_name(YES)


def read_intake(entry: TomlEntry) -> Intake:
    """Return how the shop's order tables are read."""
    return read_table(Intake, entry)


@dataclass(frozen=True, slots=True, kw_only=True)
class Defaults:
    """What an order gets when neither it nor its lid says.

    outline_in_svg: the lid's outline goes 'in' the lettering's file, stays 'out', or goes 'apart' into its own.
    datum_cross: whether the lettering's file has a cross at the machine's zero corner too, off the wood.
    single_line_typeface: taken instead of an outline one that nobody ordered, where a cutter only follows lines.
    svg_margin: mm of blank around the lid in the file. least_margin (mm), margin_share (of the lesser side): the
    larger is the margin of a lid that states none. lid_of_tables: for rows of a table that name no lid; '' if a shop
    has tables of its own and names none there, because ours would hardly be its lid.
    approval: 'required' keeps what no buyer has approved from being cut; 'when_given' only holds to what was.
    """

    lid: str = key(FILLED)
    wood: str = key(FILLED)
    typeface: str = key(FILLED)
    cutter: str = key(FILLED)
    setting: str = key(FILLED)
    message_typeface: str | None = key(FILLED, None)
    foot_typeface: str | None = key(FILLED, None)
    single_line_typeface: str | None = key(FILLED, None)
    outline_in_svg: OutlineInSvg = key(one_of(OutlineInSvg))
    svg_margin: float = key(LENGTH)
    datum_cross: bool = key(YES)
    approval: Approval = key(one_of(Approval))
    least_margin: float = key(LENGTH)
    margin_share: float = key(number(0.0, 0.4))
    lid_of_tables: str = ""


def read_defaults(entry: TomlEntry) -> tuple[str, Defaults]:
    """Return the shop's name and what an order gets when neither it nor its lid says."""
    name = entry.take("shop", FILLED)
    entry.known.append("only_mine")  # read before all else, for it decides which entries there are
    defaults = read_table(Defaults, entry)
    if defaults.datum_cross and defaults.svg_margin < LEAST_CROSS:
        entry.wrong(
            "datum_cross",
            "true, and svg_margin leaves no room for a cross off the wood",
            f"Allowed: true where svg_margin is at least {LEAST_CROSS:g} mm.",
        )
    return name, defaults
