"""Words that may not be words to cut: one small rule each, in a table; every finding quotes the cell.

A rule never changes anything. It says what made it doubt and what would help; the shop decides. `hold` is for cells
with nothing to cut, `look` for the rest. Rules are narrow: names of people must not be caught (tested with the names
of twenty countries).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from engrave.intake import damage, phrases
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

    code: str
    level: Level
    finds: Callable[[Cell], str]
    says: str


def nothing_to_cut(cell: Cell) -> str:
    """Find 'N/A', 'none', '-': a box that had to be filled."""
    text = cell.whole
    is_nothing = text.casefold() in phrases.NOTHING or text in phrases.NOTHING_IN_CAPITALS
    return text if is_nothing or phrases.WITHOUT_LETTERS.match(text) else ""


def perhaps_nothing(cell: Cell) -> str:
    """Find what may be a short name and may be an empty answer: 'Na', 'x', 'Null'."""
    return cell.whole if cell.whole in phrases.PERHAPS_NOTHING else ""


def words_elsewhere(cell: Cell) -> str:
    """Find 'same as last time', 'see note', 'TBC'."""
    points_away = phrases.ELSEWHERE.match(cell.whole) or cell.whole in phrases.TO_BE_ANNOUNCED
    return cell.whole if points_away else ""


def instruction(cell: Cell) -> str:
    """Find words said to the shop: 'please engrave Anna'."""
    found = phrases.INSTRUCTION.search(cell.whole)
    return found[0].strip() if found else ""


def label(cell: Cell) -> str:
    """Find a form's own word before the buyer's: 'Name: Anna'."""
    for line in cell.text.split("\n"):
        found = phrases.LABEL.match(line)
        if found:
            return found[0][:-1].strip()
    return ""


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


def style_wish(cell: Cell) -> str:
    """Find a wish for typeface or case among the words: '(in script font)', 'in capitals please'."""
    found = phrases.STYLE.search(cell.whole)
    return found[0].strip(" ,-–") if found else ""


_BETWEEN_NAMES = re.compile(r"\s*(?:[,;/\n]|\s(?:and|und|et|y|en|e|och|og|i|&|\+)\s|\s?&\s?)\s*", re.IGNORECASE)


def several_names(cell: Cell) -> str:
    """Find as many names in one cell as lids were ordered: one each, or all on every lid?"""
    if cell.quantity < 2 or cell.field != "name":
        return ""
    names = [part for part in _BETWEEN_NAMES.split(cell.text) if part.strip()]
    short = all(len(part.split()) <= 3 for part in names)
    return ", ".join(names) if len(names) == cell.quantity and short else ""


def size_wish(cell: Cell) -> str:
    """Find a length among the words: '2 inch letters'."""
    found = phrases.LENGTH.search(cell.whole)
    return found[0].strip() if found else ""


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


RULES: tuple[Doubt, ...] = (
    Doubt(
        "nothing-to-cut", "hold", nothing_to_cut,
        "{quote} in the {field} says that there is nothing to cut. If a plain lid is wanted, empty the cell and write "
        "yes in the column blank; else ask for the words.",
    ),
    Doubt(
        "words-elsewhere", "hold", words_elsewhere,
        "{quote} in the {field} points to words that stand elsewhere. Write the words themselves into the row.",
    ),
    Doubt(
        "perhaps-nothing", "look", perhaps_nothing,
        "Is {quote} the {field} to cut, or an empty answer? It is set as it stands.",
    ),
    Doubt(
        "instruction", "look", instruction,
        "{quote} in the {field} reads like a message to the shop (‘{found}’). All of it is set as it stands; take out "
        "what is not to be cut.",
    ),
    Doubt(
        "label", "look", label,
        "{quote} in the {field} begins with ‘{found}’, which would be cut too. Take it out unless it is wanted.",
    ),
    Doubt(
        "quoted", "look", wholly_quoted,
        "The {field} {quote} stands in quotation marks, which would be cut too. Take them out unless they are wanted.",
    ),
    Doubt(
        "style-wish", "look", style_wish,
        "{quote} in the {field} asks for a style (‘{found}’), which would be cut too. Take it out and choose the "
        "typeface in its column; capitals must be typed as capitals.",
    ),
    Doubt(
        "several-names", "look", several_names,
        "{quantity} lids were ordered and the name holds {quantity} names ({found}): one on each lid, or all on every "
        "lid? They are set all on every lid; give each its own row otherwise.",
    ),
    Doubt(
        "size-wish", "look", size_wish,
        "{quote} in the {field} holds a size (‘{found}’), which would be cut too. Take it out unless it is wanted.",
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
"""All rules, in the order in which they are told. The first two end the matter for a cell."""


def doubts(cell: Cell, where: str) -> Iterator[Problem]:
    """Yield what makes one cell's words doubtful; nothing for an empty cell."""
    if not cell.text.strip():
        return
    for rule in RULES:
        found = rule.finds(cell)
        if not found:
            continue
        says = rule.says.format(quote=quoted(cell.whole), field=cell.field, found=_shown(found), quantity=cell.quantity)
        yield Problem(rule.code, rule.level, says, where=where, value=found)
        if rule.level == "hold":
            return


def note_doubt(note: str, has_message: bool, where: str) -> Problem | None:
    """Return what to say about a remark that reads like words to cut, None where it does not."""
    plain = " ".join(note.split())
    if phrases.TO_CUT.search(plain):
        says = (
            f"The note {quoted(plain)} reads as if it were about the words to cut. It is not cut; nothing is changed."
        )
        return Problem("note-about-words", "look", says, where=where)
    if phrases.WISH.search(plain):
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
