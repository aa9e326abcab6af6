"""Where a line of words may be broken, and what a break costs.

Opportunities are those of the Unicode line breaking algorithm (annex 14), kept to spaces and to scripts written without
them: a name with a hyphen stays whole, and so does everything joined by a no-break space. What belongs together in
reading stays together: a title or an initial and its name, a number and its unit, a day and its month.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache

from babel import Locale
from uniseg.linebreak import line_break_units

PERSON_TITLES = frozenset([
    "mr", "mrs", "ms", "miss", "mx", "dr", "prof", "rev", "revd", "st", "ste", "sir", "dame", "lady", "lord", "capt",
    "captain", "col", "maj", "sgt", "lt", "herr", "frau", "hr", "fru", "fr", "m", "mme", "mlle", "sr", "sra", "srta",
    "don", "doña", "sig", "sig.ra", "dhr", "mevr", "pan", "pani", "pan.",
])  # fmt: skip
"""Titles after which no line ends (common practice in English, German, Romance and Slavic typesetting). In lower case;
they count only where the words have a capital, so that 'fr' in a list of days does not."""

UNIT_WORDS = frozenset([
    "mm", "cm", "m", "km", "in", "ft", "mi", "g", "kg", "lb", "lbs", "oz", "l", "ml", "cl", "h", "min", "s", "%", "°", "°c",
    "°f", "am", "pm", "a.m.", "p.m.", "uhr", "year", "years", "yrs", "day", "days", "week", "weeks", "month", "months",
    "jahre", "jahren", "ans", "años", "anni", "jaar", "år", "knots", "hp", "v", "w",
])  # fmt: skip
"""Units that stay with their number (ISO 80000-1: a space stands between them, not a line's end), in lower case."""

MONTH_LANGUAGES = ("en", "de", "fr", "es", "it", "nl", "pt", "sv", "da", "nb", "fi", "pl", "cs")
"""Languages whose names of months are known to follow or precede a day (names from the Unicode locale data)."""

LETTER_PRICE = 0.4
"""A single letter at a line's end costs this part of an '&' there: 'a' and 'i' look lost (Polish and Czech practice)."""

_NUMBER = re.compile(r"[\d][\d.,/]*(st|nd|rd|th|er|ère|º|ª|\.)?", re.IGNORECASE)
_PLAIN = re.compile(r"[A-Za-zÀ-ÖØ-öø-ɏ0-9]+(?:[ '’,.&-]+[A-Za-zÀ-ÖØ-öø-ɏ0-9&]+)*[.,]?")
"""Words for which the algorithm's answer, kept to blanks, is known: every blank (a test holds it against the library)."""

_AFTER_BLANKS = re.compile(r"[^ ]+ *")
_DAY = re.compile(r"[0-3]?\d(st|nd|rd|th|er)?", re.IGNORECASE)
_INITIAL = re.compile(r"(\w\.)+")


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a field's words that is never broken: text[start:end], blanks around it left out.

    price: what it costs to end a line with it, in parts of what an '&' costs. closes: the buyer breaks the line here.
    """

    start: int
    end: int
    text: str
    price: float
    closes: bool


@lru_cache(maxsize=1024)
def stretches(words: str) -> tuple[Stretch, ...]:
    """Return the stretches between which lines may be broken; a line feed is a break the buyer asked for."""
    out: list[Stretch] = []
    for start, line in _lines(words):
        found = _together(line)
        for k, (i, j) in enumerate(found):
            text = line[i:j]
            out.append(Stretch(start + i, start + j, text, _price(text), k == len(found) - 1))
    return tuple(out)


def _lines(words: str) -> Iterator[tuple[int, str]]:
    at = 0
    for line in words.split("\n"):
        yield at, line
        at += len(line) + 1


def _stretches(line: str) -> Iterator[tuple[int, int]]:
    """Yield (start, end) of stretches without their blanks."""
    at = start = 0
    for part in _opportunities(line):
        end = at + len(part)
        if end == len(line) or _breaks(line, end):
            bare = line[start:end].strip()
            if bare:
                first = start + line[start:end].index(bare)
                yield first, first + len(bare)
            start = end
        at = end


def _opportunities(line: str) -> Iterator[str]:
    """Yield the stretches between opportunities; words of plain letters need no more than their blanks."""
    if _PLAIN.fullmatch(line):
        yield from _AFTER_BLANKS.findall(line)
    else:
        yield from line_break_units(line)


def _breaks(line: str, at: int) -> bool:
    """Tell whether an opportunity is one of ours: after a blank, or between letters of a script without blanks."""
    before, after = line[at - 1], line[at]
    return (
        before in " \t\u200b\u3000"
        or (_unspaced(before) and _unspaced(after))
        or (before in "、。，" and _unspaced(after))
    )


def _unspaced(char: str) -> bool:
    return char in "ー、。" or unicodedata.name(char, "").startswith(("CJK UNIFIED", "HIRAGANA", "KATAKANA", "THAI"))


def _together(line: str) -> list[tuple[int, int]]:
    """Return the stretches of a line, those joined that stay together in reading."""
    out: list[tuple[int, int]] = []
    for start, end in _stretches(line):
        if out and kept_together(line[out[-1][0] : out[-1][1]].split(" ")[-1], line[start:end]):
            out[-1] = (out[-1][0], end)
        else:
            out.append((start, end))
    return out


def kept_together(before: str, after: str) -> bool:
    """Tell whether no line may end between two neighbouring words."""
    bare = before.rstrip(".").casefold()
    if before[:1].isupper() and bare in PERSON_TITLES:
        return True
    if _INITIAL.fullmatch(before):
        return True
    number, then = _NUMBER.fullmatch(before), after.strip(".,;!?").casefold()
    if number and (then in UNIT_WORDS or after.casefold() in UNIT_WORDS or then in months()):
        return True
    return bare in months() and _DAY.fullmatch(after.strip(".,;")) is not None


@cache
def months() -> frozenset[str]:
    """Return names of months, long and short, in lower case; those of one or two letters left out."""
    out: set[str] = set()
    for language in MONTH_LANGUAGES:
        names = Locale.parse(language).months["format"]
        out |= {n.rstrip(".").casefold() for form in ("wide", "abbreviated") for n in names[form].values()}
    return frozenset(n for n in out if len(n) > 2 and not n.isdigit())


def _price(text: str) -> float:
    last = text.split(" ")[-1]
    if last in ("&", "+", "＆"):
        return 1.0
    return LETTER_PRICE if len(last) == 1 and last.isalpha() and last.islower() else 0.0
