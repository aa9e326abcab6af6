"""The words of one line, and what a rule may ask of each: is it a name, a number, a title, the sign between two names?"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Sequence
from functools import cached_property

from engrave.setting.text.joint_data import Language, bare_word, joint_table, spoken_in

STOPS = ",;:!?…。、，"
"""Marks after which a line ends well; a full stop does as well, where it closes no abbreviation."""

DOTS = frozenset("·•∙⋅|/~")

ALL_CAPITALS_PAIR = 5
"""Words up to which 'A AND B' in capitals is read as two names; in longer texts 'AND' is an ordinary word."""

_ABBREVIATED = ("titles", "dotted_titles", "labels", "units", "suffixes", "year_marks", "books")
"""Uses of words whose full stop ends no sentence."""

_NUMBER = re.compile(
    r"[€$£¥#(~±]?[\d½¼¾⅓⅔][\d.,:/’'⁄½¼¾⅓⅔–-]*(st|nd|rd|th|er|ère|re|e|º|ª|°|%|\.|-?го)?", re.IGNORECASE
)

_DAY = re.compile(r"[0-3]?\d(st|nd|rd|th|er|º|ª|\.|-?го)?", re.IGNORECASE)

_YEAR = re.compile(r"(1[0-9]|20|21)\d\d|[’'‘]\d\d")

_INITIAL = re.compile(r"([^\W\d_]\.-?)+|[A-ZÀ-ÖØ-ÞΑ-ΩА-ЯЄІЇ]")


class JoinedWords:
    """The words of one line as written, with what the rules ask of them. `k` is a word's place; a joint follows it.

    unspaced: joints without a blank, in scripts written without them.
    """

    def __init__(self, words: Sequence[str], language: Language | None = None, unspaced: Collection[int] = ()) -> None:
        self.words = tuple(words)
        self.unspaced = frozenset(unspaced)
        self.bare = tuple(bare_word(w) for w in words)
        self.table = joint_table()
        self.language = language or spoken_in(self.bare)
        self.last = len(self.words) - 1

    @cached_property
    def all_capitals(self) -> bool:
        """Whether no small letter is written."""
        return not any(c.islower() for w in self.words for c in w)

    def has(self, k: int, use: str) -> bool:
        """Tell whether there is a word k and the data name it for a use."""
        return 0 <= k <= self.last and self.bare[k] in self.table.words[use]

    def marked(self, k: int, use: str) -> bool:
        """Tell the same of a word as written, for signs that stripping would lose."""
        return 0 <= k <= self.last and (self.words[k].casefold() in self.table.words[use] or self.has(k, use))

    def stops(self, k: int) -> bool:
        """Tell whether a mark after the word lets a line end."""
        word = self.words[k].rstrip('"”»’)')
        if word[-1:] == "." and not _INITIAL.fullmatch(word):
            return not any(self.has(k, use) for use in _ABBREVIATED) and (not _NUMBER.fullmatch(word))
        return word[-1:] in STOPS and len(word) > 1

    def is_name(self, k: int) -> bool:
        """Tell whether the word begins with a capital, or with a letter of a script that has none."""
        if not 0 <= k <= self.last:
            return False
        first = next((c for c in self.words[k] if c.isalnum()), "")
        return first.isalpha() and not first.islower()

    def is_number(self, k: int) -> bool:
        """Tell whether the word is a number in figures."""
        return 0 <= k <= self.last and _NUMBER.fullmatch(self.words[k].rstrip(",;:!?)")) is not None

    def is_day(self, k: int) -> bool:
        """Tell whether the word can be a day of the month."""
        return 0 <= k <= self.last and _DAY.fullmatch(self.words[k].strip("(").rstrip(",;!?)")) is not None

    def is_month(self, k: int) -> bool:
        """Tell whether the word is the name of a month."""
        return 0 <= k <= self.last and self.bare[k] in self.table.months

    def is_year(self, k: int) -> bool:
        """Tell whether the word is a year."""
        return 0 <= k <= self.last and _YEAR.fullmatch(self.words[k].strip("(").rstrip(".,;:!?)")) is not None

    def is_initial(self, k: int) -> bool:
        """Tell whether the word is one letter with a full stop, several so, or one capital."""
        return 0 <= k <= self.last and _INITIAL.fullmatch(self.words[k].rstrip(",")) is not None

    def is_sign(self, k: int) -> bool:
        """Tell whether the word is '&', '+' or the like."""
        if not 0 <= k <= self.last:
            return False
        word = self.words[k]
        if word in ("x", "×", "X"):
            return self.is_name(k - 1) and self.is_name(k + 1) and word != "X"
        return word.casefold() in self.table.words["signs"]

    def is_conjunction(self, k: int) -> bool:
        """Tell whether the word is 'and' between two names."""
        between = self.language.conjunctions | self.table.words["joiners"]
        if not 0 < k < self.last or self.bare[k] not in between or self.stops(k):
            return False
        if self.all_capitals and any(c.isupper() for w in self.words for c in w):
            return len(self.words) <= ALL_CAPITALS_PAIR
        return self.is_name(k - 1) and self.is_name(k + 1) and self.bare[k + 1] not in self.language.leads

    def is_title(self, k: int) -> bool:
        """Tell whether the word is a title or an abbreviation before a name."""
        if self.has(k, "dotted_titles"):
            return self.words[k].endswith(".") and self.words[k][0].islower()
        if not self.has(k, "titles"):
            return False
        word = self.words[k]
        dotted = word.endswith(".")
        return dotted or (
            word[:1].isupper() and len(word) > 1 and word not in ("Me", "No", "Pt", "Fa", "Em", "Ing", "As")
        )

    def is_ornament(self, k: int) -> bool:
        """Tell whether the word is a heart, a star or a dot, and nothing else."""
        if not 0 <= k <= self.last:
            return False
        return all(
            unicodedata.category(c) in ("So", "Sk", "Mn", "Cf") or c in DOTS or c in "†‡*" for c in self.words[k]
        )

    def is_lone(self, k: int) -> bool:
        """Tell whether the word may have a line of its own between two names, as '&' often has."""
        return 0 < k < self.last and (self.is_sign(k) or self.is_conjunction(k)) and not self.is_number(k + 1)

    def letters(self, k: int) -> int:
        """Return how many letters and figures the word has."""
        return sum(c.isalnum() for c in self.words[k]) if 0 <= k <= self.last else 0
