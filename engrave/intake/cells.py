"""What a cell of one field means: numbers, days, yes and no, option texts, several options in one cell."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from babel import Locale

from engrave.intake.headers import fold, fold_variants
from engrave.problems import Level
from engrave.shop.house import WORD_FIELDS, DateOrder
from engrave.shop.line_weights import MOST_WEIGHT, weight_told
from engrave.units import length_mm


@dataclass(frozen=True, slots=True)
class Read:
    """A cell understood: its value, and what a person should know about how it was read ('' and 'note': nothing)."""

    value: str
    says: str = ""
    level: Level = "note"


# --- how many ---------------------------------------------------------------------------------------------------------

_COUNTS = (
    "one two three four five six seven eight nine ten eleven twelve",
    "ein zwei drei vier fünf sechs sieben acht neun zehn elf zwölf",
    "un deux trois quatre cinq six sept huit neuf dix onze douze",
    "uno dos tres cuatro cinco seis siete ocho nueve diez once doce",
    "een twee drie vier vijf zes zeven acht negen tien elf twaalf",
)
_COUNT_WORDS = {word: n for line in _COUNTS for n, word in enumerate(line.split(), start=1)}
_COUNT_WORDS |= {"eine": 1, "eins": 1, "une": 1, "una": 1, "single": 1, "pair": 2, "a pair": 2, "dozen": 12}
_PIECES = re.compile(
    r"^\s*(?:x|×)?\s*(?P<n>\d{1,6})(?:[.,]0+)?\s*(?:x|×|pcs?\.?|pieces?|stück|stk\.?|st\.?|off|pièces?|piezas?|stuks?)?\s*$",
    re.IGNORECASE,
)
_MANY = 200
"""Above this many lids of one text a quantity is rather a house number or a year (common practice, no source)."""


def quantity(text: str) -> Read:
    """Read how many lids: '2', '2x', 'two'. An empty cell is one; what is not a whole number above 0 is a hold."""
    plain = text.strip()
    if not plain:
        return Read("1")
    found = _PIECES.match(plain)
    if found and int(found["n"]) > 0:
        many = int(found["n"]) > _MANY
        says = f"{plain!r} lids with the same words: is that the quantity? It was taken as written." if many else ""
        return Read(str(int(found["n"])), says, "look" if many else "note")
    count = _COUNT_WORDS.get(plain.casefold())
    if count:
        return Read(str(count), f"The quantity {plain!r} was read as {count}.")
    return Read("1", f"The quantity {plain!r} is not a whole number above 0; write for instance 2.", "hold")


# --- letters further apart, strokes thicker ---------------------------------------------------------------------------

MOST_SPACING = 50.0
"""% of the capitals' height: letters further apart than half their height are no longer read as words."""

MOST_THICKEN = 10.0
"""% of the capitals' height: strokes thickened by more have lost their typeface's drawing, and their counters."""

_SHARE = re.compile(r"^\+?(?P<n>\d{1,3}(?:[.,]\d+)?)\s*%?$")


def spacing(text: str) -> Read:
    """Read extra space between letters, a share of the capitals' height: '3 %', '2.5'. Returned as '3 %'; '' if not said."""
    return _share(text, "spacing", MOST_SPACING, "The letters were set without extra space.")


def thicken(text: str) -> Read:
    """Read by how much every stroke is to be thicker, a share of the capitals' height, as `spacing` does."""
    return _share(text, "thickening", MOST_THICKEN, "The strokes were left as they are drawn.")


def line_weight(text: str) -> Read:
    """Read how wide single lines are to be: 'auto', 'plain', or a share of the capitals' height. '8 %'; '' if not said."""
    if not text.strip():
        return Read("")
    told = weight_told(text)
    if told is None:
        says = (
            f"The line weight {text.strip()!r} is neither auto, plain nor a share of the capitals' height up to "
            f"{MOST_WEIGHT:g} %; write for instance 8 %. The lines were drawn as usual."
        )
        return Read("", says, "look")
    return Read(told)


def _share(text: str, what: str, most: float, without: str) -> Read:
    plain = text.strip()
    if not plain:
        return Read("")
    found = _SHARE.match(plain)
    share = float(found["n"].replace(",", ".")) if found else -1.0
    if not 0.0 <= share <= most:
        says = (
            f"The {what} {plain!r} is not a share of the capitals' height from 0 to {most:g} %; write for instance "
            f"3 %. {without}"
        )
        return Read("", says, "look")
    return Read(f"{share:g} %")


_SIZES = {
    "quiet": "quiet", "small": "quiet", "smaller": "quiet", "usual": "usual", "normal": "usual", "regular": "usual",
    "standard": "usual", "medium": "usual", "large": "large", "larger": "large", "big": "large", "bold": "large",
}  # fmt: skip


def lettering_size(text: str) -> Read:
    """Read how large the lettering is to be: 'quiet', 'usual' or 'large'; '' if not said."""
    plain = " ".join(text.casefold().split())
    if not plain:
        return Read("")
    if plain in _SIZES:
        return Read(_SIZES[plain])
    says = f"The lettering size {text.strip()!r} is none of quiet, usual and large. The words were set as usual."
    return Read("", says, "look")


MOST_DEPTH = 20.0
"""mm: no lid is cut deeper."""

LEAST_DEPTH = 0.05
"""mm: a shallower cut is a scratch, and none that a machine is set to."""


def depth(text: str) -> Read:
    """Read how deep it is to be cut: '0.5 mm', '1/32 in'; mm when bare. Returned as '0.5 mm'; '' if not said."""
    if not text.strip():
        return Read("")
    try:
        deep = length_mm(text.strip())
    except ValueError:
        deep = 0.0
    if LEAST_DEPTH <= deep <= MOST_DEPTH:
        return Read(f"{round(deep, 4):g} mm")
    says = (
        f"The depth {text.strip()!r} is no length from {LEAST_DEPTH:g} to {MOST_DEPTH:g} mm; write for instance 0.5 mm. The "
        "recipe's depth was taken."
    )
    return Read("", says, "look")


def share_of(cell: str) -> float:
    """Return what `spacing` or `thicken` gave as a number of cap heights: 0.03 for '3 %', 0 for ''."""
    return float(cell.removesuffix("%")) / 100.0 if cell else 0.0


# --- when -------------------------------------------------------------------------------------------------------------

_ISO = re.compile(r"^(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})(?:[T ].*)?$")
_THREE = re.compile(r"^(?P<a>\d{1,2})\s*(?P<sep>[-/.])\s*(?P<b>\d{1,2})\s*[-/.]\s*(?P<y>\d{4}|\d{2})(?:[T ,].*)?$")
_NAMED = re.compile(
    r"^(?:\w+\.?,?\s+)??(?P<d>\d{1,2})(?:st|nd|rd|th|er|\.|º)?\s*(?:(?:of|de)\s|-)?\s*"
    r"(?P<m>[^\W\d]{3,})\.?,?(?:\s*(?:de\s|-)?\s*(?P<y>\d{4}))?$"
)
_NAMED_FIRST = re.compile(
    r"^(?:\w+\.?,?\s+)??(?P<m>[^\W\d]{3,})\.?\s*(?P<d>\d{1,2})(?:st|nd|rd|th)?(?:,?\s+(?P<y>\d{4}))?$"
)
_EXAMPLE = "write for instance 2026-03-04"
_LANGUAGES = ("en", "de", "fr", "es", "nl", "it", "pt", "sv", "da", "pl")


@cache
def _months() -> Mapping[str, int]:
    """Return folded month names of the languages buyers write in, from the Unicode locale data."""
    names: dict[str, int] = {}
    for language in _LANGUAGES:
        for width in ("wide", "abbreviated"):
            for context in ("format", "stand-alone"):
                table = Locale(language).months[context][width]
                names |= {fold(name): number for number, name in table.items() if fold(name) not in names}
    return names | {"sept": 9}


def due_day(text: str, order: DateOrder) -> Read:
    """Read a day as an ISO date; one that can be read in two ways, or has no year, is a look that says so."""
    plain = " ".join(text.split())
    if not plain:
        return Read("")
    if found := _ISO.match(plain):
        return _day(plain, int(found["y"]), int(found["m"]), int(found["d"]))
    if found := _THREE.match(plain):
        return _three(plain, found, order)
    if found := _NAMED.match(plain) or _NAMED_FIRST.match(plain):
        month = _months().get(fold(found["m"]))
        if month and found["y"]:
            return _day(plain, int(found["y"]), month, int(found["d"]))
        if month:
            return Read("", f"The day {plain!r} has no year, so no due date was set; {_EXAMPLE}.", "look")
    return Read("", f"{plain!r} is not a date, so no due date was set; {_EXAMPLE}.", "look")


YEARS = range(2000, 2101)
"""Years in which a shop may promise a lid. Days outside are how tables say that there is none (9999-12-31, 1900-01-00,
0001-01-01: common practice, no source)."""


def _day(text: str, year: int, month: int, day: int, says: str = "", level: Level = "note") -> Read:
    if year not in YEARS:
        told = f"{text!r} was taken to mean that no day is promised, as it lies outside the years {YEARS[0]} to {YEARS[-1]}."
        return Read("", told)
    try:
        return Read(dt.date(year, month, day).isoformat(), says, level)
    except ValueError:
        return Read("", f"{text!r} is no day of the calendar, so no due date was set.", "look")


def _three(text: str, found: re.Match[str], order: DateOrder) -> Read:
    """Read day, month and year in the shop's order; dots are day first everywhere they are used (common practice)."""
    a, b = int(found["a"]), int(found["b"])
    year = int(found["y"]) + (2000 if len(found["y"]) == 2 else 0)
    month_first = order == "mdy" and found["sep"] != "."
    day, month = (b, a) if month_first else (a, b)
    if month > 12 >= day:
        told = f"The day {text!r} can only be {year}-{day:02}-{month:02}, against the shop's order of day and month."
        return _day(text, year, day, month, told)
    if a == b or day > 12 or found["sep"] == ".":
        return _day(text, year, month, day)
    says = (
        f"The day {text!r} was read as {year}-{month:02}-{day:02} ({'month' if month_first else 'day'} first, as the "
        f"shop's tables say); it could also be {year}-{day:02}-{month:02}."
    )
    return _day(text, year, month, day, says, "look")


# --- yes and no -------------------------------------------------------------------------------------------------------

_YES = {
    fold(w)
    for w in ["yes", "y", "true", "1", "x", "on", "ja", "j", "oui", "o", "si", "sí", "s", "sim", "tak", "wahr", "vrai"]
}
_NO = {
    fold(w)
    for w in ["no", "n", "false", "0", "off", "none", "nein", "nee", "non", "falsch", "faux", "nie", "não", "na"]
}
WORDS_OF_YES_AND_NO = frozenset(_YES | _NO)
"""Folded, as `fold` does."""

_TICKS = {"✓", "✔", "☑", "✅", "●", "*"}
_CROSSES = {"✗", "✘", "☐", "❌", "-", "–", "—", "/"}
_OWN = {
    "recut": {fold(w) for w in ("recut", "re-cut", "again", "redo", "spoiled", "remake", "nochmal", "refaire")},
    "blank": {
        fold(w)
        for w in ("blank", "plain", "plain lid", "no words", "no engraving", "no lettering", "leer", "ohne", "vierge")
    },
}


def yes_or_no(text: str, field: str) -> Read:
    """Read a switch ('recut', 'blank'): value 'yes' or ''; anything that is neither is a look and counts as no."""
    plain = text.strip()
    label = fold(plain)
    if plain in _TICKS or (label and (label in _YES or label in _OWN[field])):
        return Read("yes")
    if not plain or plain in _CROSSES or label in _NO:
        return Read("")
    return Read("", f"{plain!r} in column {field} is neither yes nor no; it was taken as no.", "look")


_SOME = re.compile(
    r"^(?P<n>\d{1,3})(?!\d)\s*(?:(?:x|×|pcs?|pieces?|lids?|stück|deckel|couvercles?|tapas?|deksels?)(?!\w)\.?)?"
    r"\s*[-–—:,;.(]*\s*(?P<why>.*?)\)?$",
    re.IGNORECASE | re.DOTALL,
)
_WHY = re.compile(r"^(?P<first>[^\s:,;–—(]+)\s*[-–—:,;(]*\s*(?P<why>.*?)\)?$", re.DOTALL)


def recut(text: str) -> tuple[int, str, Read]:
    """Read how many lids are to be cut again, and why: '2', 'yes', '1: knot', 'spoiled, slipped in the nest'.

    Returned with what a person should know of how it was read; what is neither a number nor a yes counts as none.
    """
    plain = " ".join(text.split())
    found = _SOME.match(plain)
    if found:
        lids = int(found["n"])
        told = Read(str(lids), f"{plain!r} lids cut again: is that meant?", "look") if lids > _MANY else Read(str(lids))
        return lids, found["why"].strip(), told
    switch = yes_or_no(plain, "recut")
    if (switch.value or not switch.says) and not any(c.isdigit() for c in plain):  # '-1' is no tick
        return int(bool(switch.value)), "", Read("")
    first = _WHY.match(plain)
    word = fold(first["first"]) if first else ""
    if first and len(word) > 1 and (word in _YES or word in _OWN["recut"]):
        return 1, first["why"].strip(), Read("1")
    says = f"{plain!r} in column recut is neither a number of lids nor yes; nothing is cut again. Write for instance 1: knot."
    return 0, "", Read("", says, "look")


# --- option texts -----------------------------------------------------------------------------------------------------

_EXTRA_PRICE = re.compile(r"\s*[(\[]\s*\+[^()\[\]]*[)\]]\s*$")


def option(text: str, names: Mapping[str, str]) -> str:
    """Return the id for an option's text by the shop's table, or the text itself without a price at its end."""
    plain = " ".join(text.split())
    if not plain:
        return ""
    ids = {fold(k): v for k, v in names.items()}
    for label in fold_variants(plain):
        if label and label in ids:
            return ids[label]
    return _EXTRA_PRICE.sub("", plain)


_LABEL = re.compile(r"(?:\A|[/;,|\n])(?P<label>[^/;,|\n:=]*)[:=]")
"""A separator (or the cell's beginning) and what stands from there to the next colon: each letter is looked at once."""

_LONGEST_LABEL = 40
"""Letters of an option's label: 'Choose your lid\'s shape' has 23; what is longer is a sentence."""


@dataclass(frozen=True, slots=True)
class _Part:
    """Where a label stands in a cell: from its separator to behind its colon."""

    start: int
    end: int
    label: str


def split_options(text: str, labels: Mapping[str, str]) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Take 'Wood: Cherry / Shape: Round' apart: ((field, value)...) for the labels that are known, (label, value) else.

    Parts are divided by / ; , | or a line break, but only where a label follows, so that a comma inside words stays.
    Inside words only a known label begins a new part: 'Name: Anna; PS: love' stays whole.
    """
    known: list[tuple[str, str]] = []
    other: list[tuple[str, str]] = []
    found = (_Part(m.start(), m.end(), m["label"].strip()) for m in _LABEL.finditer(text))
    starts = _real_parts([part for part in found if 0 < len(part.label) <= _LONGEST_LABEL], labels)
    if not starts or text[: starts[0].start].strip():
        lead = text[: starts[0].start] if starts else text
        other.append(("", lead.strip()))
    ends = [part.start for part in starts[1:]] + [len(text)]
    for part, end in zip(starts, ends[: len(starts)], strict=True):
        value = text[part.end : end].strip()
        field = labels.get(fold(part.label))
        if field:
            known.append((field, value))
        else:
            other.append((part.label, value))
    return known, [o for o in other if o[1]]


def _real_parts(starts: list[_Part], labels: Mapping[str, str]) -> list[_Part]:
    kept: list[_Part] = []
    inside_words = False
    for part in starts:
        field = labels.get(fold(part.label))
        if field or not inside_words:
            kept.append(part)
            inside_words = field in WORD_FIELDS
    return kept
