"""Words that may not be words to cut: every finding quotes the cell, says what it reads like and what to do.

Nothing is ever changed here; the shop decides. `hold` is for cells without words to cut, `look` for the rest. What is
talk to the shop is judged in `wording`; signs, numbers and torn letters have a small rule each in a table. Names of
people must not be caught (tested with the names of twenty countries).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from engrave.findings import FindingCode
from engrave.intake import damage, phrases
from engrave.intake.wording import Remark, remarks
from engrave.problems import Level, Problem


@dataclass(frozen=True, slots=True)
class Cell:
    """Words of one field, made safe but for its quotes, beside what was received, and how many lids they are for."""

    text: str
    field: str
    quantity: int = 1
    received: str = ""

    @property
    def whole(self) -> str:
        """The words on one line, for rules that judge the whole cell."""
        return " ".join(self.text.split())


@dataclass(frozen=True, slots=True)
class Doubt:
    """One rule. finds: returns what was found ('' nothing), to be put in place of {found} in `says`."""

    code: FindingCode
    level: Level
    finds: Callable[[Cell], str]
    says: str


def read(cell: Cell) -> tuple[Remark, ...]:
    """Return what a cell reads like besides words to cut (see `wording`); signs alone are nothing to cut."""
    if phrases.WITHOUT_LETTERS.match(cell.whole):
        return (Remark("nothing-to-cut", cell.whole, True),)
    # capitals tell 'NA', an empty answer, from Na, a name
    if cell.whole in phrases.NOTHING_IN_CAPITALS:
        return (Remark("nothing-to-cut", cell.whole, True),)
    if cell.whole in phrases.ELSEWHERE_IN_CAPITALS:
        return (Remark("words-elsewhere", cell.whole, True),)
    if phrases.CONTACT.fullmatch(cell.whole) or formula(cell):
        return ()  # told by a rule of its own
    if cell.whole in phrases.NAMES_THAT_LOOK_EMPTY:
        return ()
    return remarks(_unescaped(cell.text), cell.field)  # of '&#10084;' a rule of its own tells, and it is no word


def _unescaped(text: str) -> str:
    if "&" not in text:
        return text
    from html import unescape  # knows thousands of names

    return unescape(text)


def nothing_to_cut(cell: Cell) -> bool:
    """Tell whether a cell says that nothing is to be cut: 'N/A', 'none', '-', 'leave this one plain'."""
    return any(r.code == "nothing-to-cut" and r.is_all for r in read(cell))


def words_elsewhere(cell: Cell) -> bool:
    """Tell whether a cell points to words that are not in it: 'same as last time', 'see note', 'TBC'."""
    return any(r.code == "words-elsewhere" and r.is_all for r in read(cell))


_QUOTE_PAIRS = {
    '"': '"', "'": "'", "“": "”", "‘": "’", "«": "»", "»": "«", "„": "“”", "‚": "‘’", "‹": "›", "”": "”", "「": "」",
}  # fmt: skip


def wholly_quoted(cell: Cell) -> str:
    """Find words that stand in quotation marks from end to end."""
    text = cell.whole
    if len(text) < 3 or text[0] not in _QUOTE_PAIRS or text[-1] not in _QUOTE_PAIRS[text[0]]:
        return ""
    inside = text[1:-1]
    return text if text[0] not in inside and text[-1] not in inside.replace("n’t", "").replace("’s", "") else ""


_BETWEEN_NAMES = re.compile(r"\s*(?:[,;/\n]|\s(?:and|und|et|y|en|e|och|og|i|&|\+)\s|\s?&\s?)\s*", re.IGNORECASE)


def several_names(cell: Cell) -> str:
    """Find as many names in one cell as lids were ordered: one each, or all on every lid?"""
    if cell.quantity < 2 or cell.field != "name":
        return ""
    names = [part for part in _BETWEEN_NAMES.split(cell.text) if part.strip()]
    short = all(len(part.split()) <= 3 for part in names)
    return ", ".join(names) if len(names) == cell.quantity and short else ""


def contact(cell: Cell) -> str:
    """Find an address of the net or a telephone number."""
    found = phrases.CONTACT.search(cell.whole)
    if found:
        return found[0].strip()
    phone = phrases.PHONE.search(cell.whole)
    return phone[0].strip() if phone and _is_phone(phone[0]) else ""


_PHONE_DIGITS = range(9, 16)
"""ITU-T E.164 allows fifteen digits with the country's; below nine a number is rather a date or a place."""


def _is_phone(text: str) -> bool:
    is_date = re.search(r"\d{1,2}-\d{1,2}-\d{2,4}|\d{4}-\d{2}-\d{2}", text)
    return not is_date and sum(c.isdigit() for c in text) in _PHONE_DIGITS


def escaped_break(cell: Cell) -> str:
    """Find a line break that an export wrote as two characters."""
    found = re.search(r"\\r\\n|\\n|\\r(?!\w)", cell.text)
    return found[0] if found else ""


def formula(cell: Cell) -> str:
    """Find what a sheet would work out instead of showing it."""
    found = re.match(r"[=+@-]\s*[A-Za-z.]{2,}\s*\(", cell.whole)
    return found[0] if found else ""


def lost_letters(cell: Cell) -> str:
    """Find the sign that stands for a letter that could not be read."""
    return cell.whole if damage.has_lost_letters(cell.received) else ""


def garbled(cell: Cell) -> str:
    """Find letters read in a wrong code page; returns what they probably were."""
    return damage.mended(cell.received).replace("\n", " / ")


def markup(cell: Cell) -> str:
    """Find a web page's marks; returns the words without them."""
    return damage.without_markup(cell.received).replace("\n", " / ") if not lost_letters(cell) else ""


def false_apostrophe(cell: Cell) -> str:
    """Find an accent typed where an apostrophe belongs; returns the words with it."""
    return damage.without_false_apostrophe(cell.text).replace("\n", " / ")


def mixed_alphabet(cell: Cell) -> str:
    """Find a word of two alphabets, whose letters look alike and are not the same in every typeface."""
    return damage.mixed_alphabet(cell.text)


READINGS: dict[FindingCode, str] = {
    "nothing-to-cut": "{quote} in the {field} says that there is nothing to cut. If a plain lid is wanted, empty the "
    "cell and write yes in the column blank; else ask for the words.",
    "perhaps-nothing": "Is {quote} the {field} to cut, or an empty answer? It is set as it stands.",
    "words-elsewhere": "{quote} in the {field} points to words that stand elsewhere (‘{found}’). Write the words "
    "themselves into the row.",
    "label": "{quote} in the {field} holds what a form calls its boxes (‘{found}’), which would be cut too. Write the "
    "words alone.",
    "choice": "{quote} in the {field} points to a choice of the shop's or leaves it to the shop (‘{found}’). Write the "
    "words themselves, and what was chosen into its column.",
    "undecided": "{quote} in the {field} reads as if the buyer had not decided (‘{found}’). Ask, and write the words "
    "that were agreed.",
    "shop-matter": "{quote} in the {field} holds a matter of parcel, time or money (‘{found}’), not words for a lid. "
    "Move it to the note.",
    "style-wish": "{quote} in the {field} asks for a style (‘{found}’), which would be cut too. Take it out and choose "
    "the typeface in its column; capitals must be typed as capitals.",
    "size-wish": "{quote} in the {field} holds a size (‘{found}’), which would be cut too. Take it out unless it is "
    "wanted.",
    "place-wish": "{quote} in the {field} asks for a place on the box (‘{found}’), which would be cut too. Take it out; "
    "the lid and its fields say where words stand.",
    "ornament-wish": "{quote} in the {field} asks for a drawing (‘{found}’), and its words would be cut instead. Type "
    "the sign itself if the typeface has it, or take the wish out.",
    "spelling": "{quote} in the {field} explains a spelling (‘{found}’), which would be cut too. Check the name against "
    "it, then take it out.",
    "instruction": "{quote} in the {field} reads like a message to the shop (‘{found}’). Take out what is not to be cut.",
    "question": "{quote} in the {field} reads like a question to the shop (‘{found}’). Answer the buyer, and write the "
    "words to cut.",
}
"""What is said about each kind of talk to the shop (`wording`), with what to do about it in the table."""

DOUBTS: tuple[Doubt, ...] = (
    Doubt(
        "quoted", "look", wholly_quoted,
        "The {field} {quote} stands in quotation marks, which would be cut too. Take them out unless they are wanted.",
    ),
    Doubt(
        "several-names", "look", several_names,
        "{quantity} lids were ordered and the name holds {quantity} names ({found}): one on each lid, or all on every "
        "lid? They are set all on every lid; give each its own row otherwise.",
    ),
    Doubt(
        "contact", "look", contact,
        "{quote} in the {field} holds an address or a number to reach somebody by (‘{found}’). Is it to be cut?",
    ),
    Doubt(
        "escaped-break", "look", escaped_break,
        "{quote} in the {field} holds ‘{found}’ in plain letters, which would be cut. For a line break write |.",
    ),
    Doubt(
        "formula", "look", formula,
        "{quote} in the {field} reads like a formula of a sheet, not like words. It is set as it stands.",
    ),
    Doubt(
        "lost-letters", "look", lost_letters,
        "A letter of {quote} in the {field} could not be read from the file. Type it again from the order itself.",
    ),
    Doubt(
        "garbled", "look", garbled,
        "{quote} in the {field} looks as if its accents were read wrongly: ‘{found}’? It is set as it stands; correct "
        "the row, or save the table as UTF-8.",
    ),
    Doubt(
        "markup", "look", markup,
        "{quote} in the {field} holds marks of a web page: ‘{found}’? It is set as it stands; correct the row.",
    ),
    Doubt(
        "false-apostrophe", "look", false_apostrophe,
        "{quote} in the {field} has an accent where an apostrophe belongs: ‘{found}’? It is set as it stands.",
    ),
    Doubt(
        "mixed-alphabet", "look", mixed_alphabet,
        "The word ‘{found}’ in the {field} mixes alphabets whose letters look alike; type it again in one of them.",
    ),
)  # fmt: skip
"""Rules about signs, numbers and letters, told behind what the words read like."""

_AS_IT_STANDS = " All of it is set as it stands."
_NOTHING_LEFT = " No words to cut stand beside it; ask for them and write them into the row."
_ASK_ALREADY = ("nothing-to-cut", "words-elsewhere", "choice", "undecided", "question")


def doubts_of(cell: Cell, where: str) -> Iterator[Problem]:
    """Yield what makes one cell's words doubtful; nothing for an empty cell. A `hold` ends the matter for the cell."""
    if not cell.text.strip():
        return
    for remark in read(cell):
        says = _filled(READINGS[remark.code], cell, remark.found)
        if remark.is_all and remark.code != "perhaps-nothing":
            asks = "" if remark.code in _ASK_ALREADY else _NOTHING_LEFT
            yield Problem(remark.code, "hold", says + asks, where=where, value=remark.found)
            return
        yield Problem(
            remark.code,
            "look",
            says + _AS_IT_STANDS * (remark.code != "perhaps-nothing"),
            where=where,
            value=remark.found,
        )
    for rule in DOUBTS:
        found = rule.finds(cell)
        if found:
            yield Problem(rule.code, rule.level, _filled(rule.says, cell, found), where=where, value=found)


def _filled(says: str, cell: Cell, found: str) -> str:
    return says.format(quote=quoted(cell.whole), field=cell.field, found=_shown(found), quantity=cell.quantity)


def note_doubt(note: str, has_message: bool, where: str) -> Problem | None:
    """Return what to say about a remark that reads like words to cut, None where it does not."""
    plain = " ".join(note.split())
    if not plain:
        return None
    if phrases.to_cut().search(plain):
        says = (
            f"The note {quoted(plain)} reads as if it were about the words to cut. It is not cut; nothing is changed."
        )
        return Problem("note-about-words", "look", says, where=where)
    if phrases.wish().search(plain):
        if has_message:
            says = f"The note {quoted(plain)} was taken for the card: the message is cut, the note is not."
            return Problem("note-is-a-wish", "note", says, where=where)
        says = f"The note {quoted(plain)} reads like words for the lid, and the row has no message. It is not cut."
        return Problem("note-is-a-wish", "look", says, where=where)
    return None


_QUOTE_LENGTH = 80
"""Letters of a cell that a message repeats; a poem is recognised by its beginning."""


def quoted(text: str) -> str:
    """Return a cell's words in quotation marks, shortened, for a message."""
    return f"‘{_shown(text)}’"


def _shown(text: str) -> str:
    return text if len(text) <= _QUOTE_LENGTH else text[: _QUOTE_LENGTH - 1] + "…"
