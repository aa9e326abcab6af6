"""What to call a place in lettering, so that a person finds it: 'the second n of Hannah'."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from engrave.setting.lettering import NO_LINE, Lettering
from engrave.typefaces.characters import clusters

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


@dataclass(slots=True)
class _Word:
    """A word of a line, and its marks in the order in which they are read. of: how it is called after 'of'."""

    text: str
    marks: tuple[int, ...]
    of: str = ""


class PlaceNames:
    """PlaceNames of a lettering's marks, by the word in which each stands."""

    def __init__(self, lettering: Lettering) -> None:
        """Take the lettering; its words are sought when a place is first named, since most pieces have none to name."""
        self._lettering = lettering

    @cached_property
    def _words(self) -> dict[int, _Word]:
        """For each mark the word it belongs to."""
        words = [word for index in range(len(self._lettering.lines)) for word in self._words_of(index)]
        total = Counter(word.text for word in words)
        seen: Counter[str] = Counter()
        for word in words:
            which = f"the {_ordinal(seen[word.text])} " if total[word.text] > 1 else ""
            word.of = which + _quoted(word.text)
            seen[word.text] += 1
        return {mark: word for word in words for mark in word.marks}

    def _words_of(self, index: int) -> list[_Word]:
        """Deal a line's marks out to its words; where they do not match letter by letter, to the whole line."""
        text = self._lettering.lines[index].text
        marks = [i for i, m in enumerate(self._lettering.marks) if m.line == index and m.text.strip()]
        rest = marks[::-1] if _reads_leftwards(text) else marks  # marks stand as they are seen, left to right
        dealt = []
        for word in text.split():
            own = self._find(word, rest)
            if own is None:
                return [_Word(text, tuple(marks))]
            rest = [mark for mark in rest if mark not in own]
            dealt.append(_Word(word, own))
        return [_Word(text, tuple(marks))] if rest else dealt

    def _find(self, word: str, rest: Sequence[int]) -> tuple[int, ...] | None:
        """Return the first marks in a row that spell the word in its own direction, in the order read."""
        rightwards = sorted(rest)
        order = rightwards[::-1] if _reads_leftwards(word) else rightwards
        place = {mark: k for k, mark in enumerate(rest)}
        starts = sorted(range(len(order)), key=lambda k: place[order[k]])
        return next((own for k in starts if (own := self._spelt(word, order[k:]))), None)

    def _spelt(self, word: str, marks: Sequence[int]) -> tuple[int, ...] | None:
        """Return the marks that spell the word from the first on; a letter with an accent of its own may be several."""
        at, last = 0, ""
        own: list[int] = []
        for mark in marks:
            text = self._text(mark)
            if at < len(word) and word.startswith(text, at):
                at += len(text)
            elif not (text == last and len(text) > 1):
                break
            own.append(mark)
            last = text
        return tuple(own) if at == len(word) else None

    def _text(self, mark: int) -> str:
        return "".join(self._lettering.marks[mark].text.split())

    def letter(self, mark: int) -> str:
        """Return 'the second n of Hannah', 'the H of Hannah', or the word alone where it is one letter."""
        if self._lettering.marks[mark].line == NO_LINE:
            return self._lettering.marks[mark].text
        text = self._text(mark)
        word = self._words.get(mark)
        if word is None or not text:
            return f"'{text or self._lettering.marks[mark].text}'"
        if word.text == text:
            return word.of if word.of.startswith("the ") else f"'{text}'"
        same = [m for m in word.marks if self._text(m) == text]
        count = min(len(same), max(1, _times(text, word.text)))  # several marks may be one letter
        which = _ordinal(same.index(mark) * count // len(same)) + " " if count > 1 else ""
        return f"the {which}{text} of {word.of}"

    def between(self, one: int, two: int) -> str:
        """Return 'between the a and the h of Hannah', or each with its word when they stand in two.

        Two marks of one letter, such as an accent and what it stands on, are named as that letter.
        """
        first, second = self.letter(one), self.letter(two)
        word = self._words.get(one)
        if word is None or two not in word.marks:
            return f"between {first} and {second}"
        if first == second:
            return first
        if self._text(one) != self._text(two):
            first = first.removesuffix(f" of {word.of}")
        return f"between {first} and {second}"


def _times(text: str, word: str) -> int:
    """Return how often a letter, or letters cut as one, stand in a word."""
    letters = clusters(word)
    return letters.count(text) if text in letters else word.count(text)


def _reads_leftwards(text: str) -> bool:
    """Tell whether text is read from right to left: by its first letter that has a direction (Unicode annex 9, P2)."""
    strong = (d for c in text if (d := unicodedata.bidirectional(c)) in ("L", "R", "AL"))
    return next(strong, "L") != "L"


def _quoted(word: str) -> str:
    """Return a word as it stands in a sentence: 'the n of and' would be misread."""
    return word if word[:1].isupper() else f"'{word}'"


def _ordinal(index: int) -> str:
    return _ORDINALS[index] if index < len(_ORDINALS) else f"{index + 1}th"
