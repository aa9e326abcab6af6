"""From a row's cells to an order: every column understood, every oddity told on that row."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from hashlib import blake2b

from engrave.findings import FindingCode
from engrave.intake.cells import (
    Read,
    depth,
    due_day,
    lettering_size,
    line_weight,
    option,
    quantity,
    recut,
    spacing,
    split_options,
    thicken,
    yes_or_no,
)
from engrave.intake.cleaning import Cleaned, clean
from engrave.intake.doubts import Cell, doubts_of, note_doubt, nothing_to_cut, quoted, words_elsewhere
from engrave.intake.headers import Columns, fold
from engrave.intake.letter_features import features_of
from engrave.intake.order import Order, Words
from engrave.intake.parts import Parted, parted
from engrave.intake.rows import BLANK_SIGNS, Row
from engrave.limits import (
    CELL_LETTERS,
    HEADING_LETTERS,
    NOTE_LETTERS,
    ORDER_ROWS,
    ORDERS_COLUMNS,
    SHORT_LETTERS,
    WORDS_LETTERS,
    WORDS_LINES,
)
from engrave.problems import Problem
from engrave.shop.house import ASIDE, WORD_FIELDS
from engrave.shop.models import Intake

NO_DRAWING = frozenset({"", "none", "no", "na"})
"""What a cell for a drawing says where there is none, folded."""

OPTION_FIELDS = ("lid", "typeface", "cutter", "wood", "setting")


@dataclass(slots=True)
class Gathered:
    """A row's cells by field while it is being read, with what was found on the way.

    numbered: the table has a column of order numbers, so that a row without one is worth a word. whole: cells of words
    that were taken apart, as they came.
    """

    row: int
    numbered: bool = False
    cells: dict[str, str] = field(default_factory=dict)
    titles: dict[str, str] = field(default_factory=dict)
    extra: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    changes: list[str] = field(default_factory=list)
    twice: set[tuple[str, str]] = field(default_factory=set)
    whole: dict[str, str] = field(default_factory=dict)

    def where(self, field: str) -> str:
        """Return the place of a field for people: 'row 7, column Personalisation'."""
        title = self.titles.get(field, "")
        return f"row {self.row}, column {title}" if title else (f"row {self.row}" if self.row else field)

    def told(self, code: FindingCode, read: Read, field: str) -> str:
        """Keep what is to be known of a cell that was understood, and return its value."""
        if read.says:
            self.problems.append(Problem(code, read.level, read.says, where=self.where(field)))
        return read.value

    def put(self, field: str, text: str, title: str, names: Mapping[str, str] | None = None) -> None:
        """Take a cell for a field; a second filled one that differs is told and left out.

        names: what the shop calls options of this field; two texts that mean one thing do not differ.
        """
        if not text.strip(BLANK_SIGNS):
            return
        earlier = self.cells.get(field)
        if earlier is None:
            self.cells[field], self.titles[field] = text, title
        elif (field, title) not in self.twice and _meaning(earlier, names) != _meaning(text, names):
            self.twice.add((field, title))
            says = (
                f"Two columns are filled for the {field}: {quoted(earlier)} in {self.titles[field]} and {quoted(text)} "
                f"in {title}. {quoted(earlier)} is used; empty the one that is wrong."
            )
            self.problems.append(Problem("two-cells", "look", says, where=f"row {self.row}, column {title}"))


def _meaning(text: str, names: Mapping[str, str] | None) -> str:
    """Return what two cells are compared by: words as they stand, options by what they are called in the tables."""
    plain = " ".join(text.split())
    return fold(option(plain, names)) if names is not None and len(plain) <= HEADING_LETTERS.most else plain


def gather(row: Row, columns: Columns, intake: Intake) -> Gathered:
    """Sort a row's cells by field; combined options are taken apart, cells beyond the headings are told.

    A column of its own goes before an option in a combined cell, and one under our own name before what an export
    calls it: both are how a shop mends a table.
    """
    got = Gathered(row.number, numbered=bool(columns.of("order")))
    days = dict(row.days)
    for i in sorted(columns.fields, key=lambda i: _mended_first(columns, i)):
        name = columns.fields[i]
        text = row.cells[i] if i < len(row.cells) else ""
        is_day = name == "due" and i in days  # a sheet's day needs no guess at its order of parts
        got.put(name, days[i] if is_day else text, columns.title(i), _options(intake, name))
    _part_words(got, intake)
    for i, labels in columns.splits.items():
        _take_apart(got, row.cells[i] if i < len(row.cells) else "", labels, columns.title(i), intake)
    for i, name in columns.extras:
        got.extra[name] = _carried(got, row.cells[i] if i < len(row.cells) else "", columns.title(i))
    _not_read(got, row, columns)
    _ragged(got, row, columns)
    _oddities(got, row, columns)
    return got


def _part_words(got: Gathered, intake: Intake) -> None:
    """Give the parts of cells that hold several fields to each, where the shop says so or labels do; told either way."""
    for name in [name for name in WORD_FIELDS if name in got.cells]:
        text, title = got.cells[name], got.titles[name]
        found = parted(text, name, title, intake) if len(text) <= WORDS_LETTERS.most else None
        if found is None or found.fields == ((name, text),):
            continue
        got.whole[name] = got.cells.pop(name)
        for place, words in found.fields:
            got.put(place, words, title)
        got.changes += [f"{place}: from ‘{title}’" for place, _ in found.fields if place != name]
        if found.left or not found.known:
            got.problems.append(_parted(name, text, found, got.where(name)))


def _parted(name: str, text: str, found: Parted, where: str) -> Problem:
    read = "; ".join(f"{place} {quoted(' / '.join(words.splitlines()))}" for place, words in found.fields)
    left = f"; left out: {', '.join(map(quoted, found.left))}" if found.left else ""
    says = f"{quoted(' / '.join(text.split(chr(10))))} was taken apart: {read}{left}."
    if found.known:
        return Problem("labels", "note", says, where=where)
    says += " If that is right for the whole column, or never, say so once with ‘engrave headings’."
    return Problem("labels", "look", says, where=where)


def _mended_first(columns: Columns, index: int) -> tuple[int, int]:
    """Return where a column stands among those of its field; words stay in the table's order, as 'Name' is a buyer too."""
    name = columns.fields[index]
    ours = name not in WORD_FIELDS and fold(columns.heading(index)) == fold(name)
    return (0 if ours else 1, index)


def _options(intake: Intake, name: str) -> Mapping[str, str] | None:
    return intake.values.get(name, {}) if name in OPTION_FIELDS else None


def _not_read(got: Gathered, row: Row, columns: Columns) -> None:
    """Hold a row that is filled in a column of which nobody has said yet what it is."""
    for one in columns.unread:
        text = row.cells[one.index].strip(BLANK_SIGNS) if one.index < len(row.cells) else ""
        if text:
            says = (
                f"{quoted(' '.join(text.split()))} stands in {one.title}, which is not read: {one.why}, and it may say "
                "what is to be made. "
            )
            says += _SAY_ONCE if one.has_heading else "Give the column a heading."
            got.problems.append(Problem("unread-column", "hold", says, where=f"row {got.row}, column {one.title}"))


_SAY_ONCE = "Say once what the column is, with ‘engrave headings’; the week's notes have the command."


def _carried(got: Gathered, text: str, title: str) -> str:
    """Return a cell that is carried along, no longer than cells may be."""
    if len(text) <= CELL_LETTERS.most:
        return text
    says = (
        f"The cell has {len(text):,} letters; its first {CELL_LETTERS.most:,} are carried along, the rest is left out."
    )
    got.problems.append(Problem("long-cell", "look", says, where=f"row {got.row}, column {title}"))
    return text[: CELL_LETTERS.most]


def _take_apart(got: Gathered, text: str, labels: Mapping[str, str], title: str, intake: Intake) -> None:
    """Fill fields from one cell that holds several options; what has no known label is carried and told."""
    text = got.extra[title] = _carried(got, text, title)
    if not text.strip(BLANK_SIGNS):
        return
    known, other = split_options(text, labels)
    for name, value in known:
        if name == ASIDE:
            continue
        got.put(name, value, title, _options(intake, name))
    if other:
        parts = _few([f"{label}: {value}" if label else value for label, value in other])
        says = f"In {title} the part {parts} belongs to no option the shop has named; it is carried along and not used."
        level = "look" if not known or any(not label for label, _ in other) else "note"
        got.problems.append(Problem("unknown-option", level, says, where=f"row {got.row}, column {title}"))  # type: ignore[arg-type]


_SHOWN = 5
"""Cells or parts of one that a message quotes; the rest is counted."""


def _few(texts: Sequence[str]) -> str:
    rest = len(texts) - _SHOWN
    return ", ".join(map(quoted, texts[:_SHOWN])) + (f" and {rest:,} more" if rest > 0 else "")


def _ragged(got: Gathered, row: Row, columns: Columns) -> None:
    """Tell of filled cells beyond the last heading: a separator among the words moves all that follows it."""
    beyond = [text for text in row.cells[len(columns.headings) :] if text.strip(BLANK_SIGNS)]
    if beyond:
        says = (
            f"The row has more cells than there are headings; {_few(beyond)} belongs to none. If "
            "words were torn apart at a comma, put them in quotation marks."
        )
        got.problems.append(Problem("too-many-cells", "look", says, where=f"row {row.number}"))
    if row.beyond:
        says = (
            f"The row is filled beyond column {ORDERS_COLUMNS.most:,} ({row.beyond:,} cells), which is as far as tables are read. "
            "Nothing of this row is made; bring what belongs to the order into the first columns."
        )
        got.problems.append(Problem("too-many-columns", "hold", says, where=f"row {row.number}"))
    if row.hidden:
        says = "This row is hidden in the sheet; it was read like the others."
        got.problems.append(Problem("hidden-row", "note", says, where=f"row {row.number}"))
    if row.broken:
        says = f"{row.broken} It was read as it stands."
        got.problems.append(Problem("open-quote", "look", says, where=f"row {row.number}"))
    if any(_swallowed(text, len(columns.headings)) for text in row.cells):
        says = (
            "One cell of this row holds what look like whole rows: a quotation mark is missing or doubled before it. "
            "Nothing of this row is made; mend the file so that no order is lost."
        )
        got.problems.append(Problem("rows-in-a-cell", "hold", says, where=f"row {row.number}"))


_LEAST_SEPARATORS = 3
"""Separators in a further line of one cell from which it is taken for a row: a verse seldom has three commas a line."""


def _swallowed(text: str, width: int) -> bool:
    least = max(_LEAST_SEPARATORS, width - 1)
    return any(line.count(s) >= least for line in text.splitlines()[1:] for s in ",;\t")


def _oddities(got: Gathered, row: Row, columns: Columns) -> None:
    """Tell where a sheet turned words into something that is no text."""
    for i, what in row.odd:
        name = columns.fields.get(i, "")
        if name in WORD_FIELDS:
            words = quoted(row.cells[i])
            read = (
                f"as words it is {words}. Is that what was typed? If not, format"
                if row.cells[i]
                else "nothing was read. Format"
            )
            says = f"The sheet holds {what} in this cell; {read} the cell as text and type it again."
            got.problems.append(Problem("not-text", "look", says, where=got.where(name) or f"row {row.number}"))


# --- the order --------------------------------------------------------------------------------------------------------


def build(got: Gathered, intake: Intake) -> Order:
    """Make the order of one row. Its piece number is 1 until all rows are known."""
    count = int(got.told("quantity", quantity(_plain(got, "quantity")), "quantity"))
    received, words = _words(got, intake, count)
    blank = bool(got.told("yes-or-no", yes_or_no(_plain(got, "blank"), "blank"), "blank"))
    artwork = _plain(got, "artwork")
    artwork = "" if fold(artwork) in NO_DRAWING else artwork
    if blank and (words.filled() or artwork):
        what = f"holds the words {quoted(words.filled()[0][1])}" if words.filled() else f"names the drawing '{artwork}'"
        says = f"The row is marked blank and {what}. Empty one or the other."
        got.problems.append(Problem("blank-with-words", "hold", says, where=got.where("blank")))
    lids, why = _again(got)
    note = _plain(got, "note")
    told = note_doubt(note, bool(words.message), got.where("note"))
    if told and not (told.code == "note-is-a-wish" and blank):
        got.problems.append(told)
    chosen = {name: option(_plain(got, name), intake.values.get(name, {})) for name in OPTION_FIELDS}
    return Order(
        id=_id(got), piece=1, row=got.row, words=words, received=received, quantity=count,
        matching=_plain(got, "matching"), approved=_plain(got, "approved"), checked=_plain(got, "checked"),
        due=got.told("due", due_day(_plain(got, "due"), intake.date_order), "due"),
        recut=lids, recut_why=why,
        spacing=got.told("spacing", spacing(_plain(got, "spacing")), "spacing"),
        thicken=got.told("thicken", thicken(_plain(got, "thicken")), "thicken"),
        letter_features=got.told("letter-features", features_of(_plain(got, "letter_features")), "letter_features"),
        lettering_size=got.told("lettering-size", lettering_size(_plain(got, "lettering_size")), "lettering_size"),
        line_weight=got.told("line-weight", line_weight(_plain(got, "line_weight")), "line_weight"),
        depth=got.told("depth", depth(_plain(got, "depth")), "depth"),
        artwork=artwork, blank=blank, note=note, extra=dict(got.extra), problems=tuple(got.problems), changes=tuple(got.changes),
        **chosen,
    )  # fmt: skip


def _again(got: Gathered) -> tuple[int, str]:
    """Return how many of the row's lids are cut again and why, told on the row as long as the cell is filled."""
    lids, why, read = recut(_plain(got, "recut"))
    got.told("yes-or-no", read, "recut")
    if lids:
        many, are = ("1 lid", "is") if lids == 1 else (f"{lids} lids", "are")
        says = f"{many} of this row {are} cut again{f' ({why})' if why else ''}: first in the plan, at no price to the buyer"
        says += ", on every run until the cell is emptied."
        got.problems.append(Problem("recut", "note", says, where=got.where("recut"), value=lids))
    return lids, why


def _plain(got: Gathered, name: str) -> str:
    """Return a cell that is not words, without what cannot be seen; one that is too long for its column is held."""
    text = got.cells.get(name, "")
    most = NOTE_LETTERS if name == "note" else SHORT_LETTERS
    if len(text) > most.most:
        text = _too_long(got, name, text)
    safe, changes = clean(text.replace("|", "\u2223"), curly_quotes=False)
    if "\0" in text:
        got.problems += (Problem(c.code, c.level, f"In the {name}: {c.says}.", got.where(name)) for c in changes)
    return safe.replace("\u2223", "|")


def _too_long(got: Gathered, name: str, text: str) -> str:
    """Return what is read of a cell that holds more than its column can, and say so once."""
    if name == "note":
        got.cells[name] = text[: NOTE_LETTERS.most]
        says = f"The note has {len(text):,} letters; its first {NOTE_LETTERS.most:,} are kept, the rest is left out."
        got.problems.append(Problem("long-cell", "look", says, where=got.where(name)))
        return got.cells[name]
    got.cells[name] = ""
    says = f"The {name} has {len(text):,} letters, where at most {SHORT_LETTERS.most:,} are read: {quoted(text)}. Shorten it."
    got.problems.append(Problem("too-long-cell", "hold", says, where=got.where(name)))
    return ""


def _id(got: Gathered) -> str:
    """Return the order's name, 'row-7' where the table gives none."""
    name = " ".join(_plain(got, "order").split())
    if name or not got.row:
        return name
    if got.numbered:
        says = f"The row has no order number; it is called row-{got.row}."
        got.problems.append(Problem("no-order-number", "note", says, where=got.where("order")))
    return f"row-{got.row}"


def _words(got: Gathered, intake: Intake, count: int) -> tuple[Words, Words]:
    """Return the words as received and made safe; changes and doubts are kept on the row."""
    cut = {name: got.cells.get(name, "") for name in WORD_FIELDS}
    came = {name: got.whole.get(name, "" if got.whole and _is_part(got, name) else text) for name, text in cut.items()}
    received = {name: text if _is_short_enough(got, name, text) else "" for name, text in cut.items()}
    safe = {name: clean(text, curly_quotes=False)[0] for name, text in received.items()}
    cells = {name: Cell(safe[name], name, count, received[name]) for name in WORD_FIELDS}
    real = [c for c in cells.values() if c.text and not nothing_to_cut(c) and not words_elsewhere(c)]
    words = {}
    for name, cell in cells.items():
        if real and cell.text and nothing_to_cut(cell):
            words[name] = _left_out(got, cell)
            continue
        words[name], changes = clean(received[name], intake.curly_quotes)
        _tell(got, name, changes)
        got.problems += doubts_of(cell, got.where(name))
    return Words(**{name: text[: WORDS_LETTERS.most] for name, text in came.items()}), Words(**words)


def _is_part(got: Gathered, name: str) -> bool:
    """Tell whether a field's words came out of another field's cell, where they are told as received."""
    return any(got.titles.get(name) == got.titles.get(other) for other in got.whole if other != name)


_BREAK = re.compile("\r\n|[\n\r\v\f\x85\u2028\u2029|]")


def _is_short_enough(got: Gathered, name: str, text: str) -> bool:
    """Tell whether a cell's words are few enough to be read; else the row is held."""
    lines = 1 + len(_BREAK.findall(text.strip())) if len(text) <= WORDS_LETTERS.most else 0
    if len(text) > WORDS_LETTERS.most:
        says = f"The {name} has {len(text):,} letters, where at most {WORDS_LETTERS.most:,} are read: {quoted(text[: WORDS_LETTERS.most])}."
    elif lines > WORDS_LINES.most:
        says = f"The {name} has {lines:,} lines, where at most {WORDS_LINES.most:,} are read: {quoted(' '.join(text.split()))}."
    else:
        return True
    got.problems.append(
        Problem("too-many-words", "hold", f"{says} No lid has room for that; shorten it.", got.where(name))
    )
    return False


def _left_out(got: Gathered, cell: Cell) -> str:
    """Leave an empty answer beside real words uncut, and say so: the other words can still be made."""
    says = f"{quoted(cell.whole)} in the {cell.field} says that there is nothing to cut there; it is left out."
    got.problems.append(Problem("nothing-there", "look", says, where=got.where(cell.field)))
    got.changes.append(f"{cell.field}: {quoted(cell.whole)} left out")
    return ""


def _tell(got: Gathered, name: str, changes: Iterable[Cleaned]) -> None:
    for change in changes:
        got.changes.append(f"{name}: {change.says}")
        if not change.quiet:
            says = f"In the {name}: {change.says}."
            got.problems.append(Problem(change.code, change.level, says, where=got.where(name)))


# --- rows of one order ------------------------------------------------------------------------------------------------


def number_pieces(orders: Iterable[Order]) -> Iterator[Order]:
    """Number the pieces of each order in row order, and ask about rows of one order that are the same."""
    seen: dict[bytes, int] = {}
    counts: dict[str, int] = defaultdict(int)
    for order in orders:
        counts[order.id] += 1
        twin = seen.setdefault(_asked(order), order.row)
        told = [_twice(order, twin)] if twin != order.row else []
        told += [_too_many(order)] if counts[order.id] > ORDER_ROWS.most else []
        yield replace(order, piece=counts[order.id], problems=(*order.problems, *told))


def _asked(order: Order) -> bytes:
    """Return a digest of what a row asks for; where it stands and what was found about it does not count."""
    asked = [getattr(order, name) for name in _ASKED]
    return blake2b(repr((asked, list(order.extra.items()))).encode("utf-8", "surrogatepass"), digest_size=16).digest()


_ASKED = tuple(
    f.name
    for f in fields(Order)
    if f.name not in ("piece", "row", "received", "problems", "changes", "checked", "extra")
)


def _twice(order: Order, row: int) -> Problem:
    says = (
        f"This row is the same as row {row} of the same order: two lids, or one exported twice? Both are "
        "made; two that are alike are better one row with quantity 2."
    )
    return Problem("same-row-twice", "look", says, where=f"row {order.row}")


def _too_many(order: Order) -> Problem:
    says = (
        f"The order {quoted(order.id)} has more than {ORDER_ROWS.most:,} rows, as many as are made under one number. Give the "
        "rows from this one on another order number."
    )
    return Problem("too-many-rows", "hold", says, where=f"row {order.row}")
