"""What to call a place in lettering, so that a person finds it: 'the second n of Hannah'."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from engrave.setting.lettering import Lettering

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


class Names:
    """Names of a lettering's marks, by the word in which each stands."""

    def __init__(self, lettering: Lettering) -> None:
        """Find for each mark the word it belongs to."""
        self._lettering = lettering
        self._words: dict[int, tuple[str, tuple[int, ...]]] = {}
        for index, line in enumerate(lettering.lines):
            marks = [i for i, m in enumerate(lettering.marks) if m.line == index and m.text.strip()]
            self._name_line(line.text, marks)

    def _name_line(self, text: str, marks: Sequence[int]) -> None:
        """Deal a line's marks out to its words; where they do not match letter by letter, to the whole line."""
        for order in (list(marks), list(reversed(marks))):  # right-to-left words stand in visual order
            dealt = self._dealt(text.split(), order)
            if dealt is not None:
                break
        else:
            dealt = [(text, tuple(marks))]
        for word, own in dealt:
            for mark in own:
                self._words[mark] = (word, own)

    def _dealt(self, words: Sequence[str], marks: Sequence[int]) -> list[tuple[str, tuple[int, ...]]] | None:
        rest = list(marks)
        dealt = []
        for word in words:
            own: list[int] = []
            spelt = ""
            while rest and len(spelt) < len(word):
                spelt += self._text(rest[0])
                own.append(rest.pop(0))
            if spelt != word:
                return None
            dealt.append((word, tuple(own)))
        return None if rest else dealt

    def _text(self, mark: int) -> str:
        return "".join(self._lettering.marks[mark].text.split())

    def letter(self, mark: int) -> str:
        """Return 'the second n of Hannah', 'the H of Hannah', or the word alone where it is one letter."""
        text = self._text(mark)
        word, own = self._words.get(mark, (text, (mark,)))
        if word == text or not text:
            return f"'{text or self._lettering.marks[mark].text}'"
        same = [m for m in own if self._text(m) == text]
        which = "" if Counter(map(self._text, own))[text] == 1 else _ordinal(same.index(mark)) + " "
        return f"the {which}{text} of {_quoted(word)}"

    def between(self, one: int, two: int) -> str:
        """Return 'between the a and the h of Hannah', or each with its word when they stand in two."""
        word, own = self._words.get(one, ("", ()))
        if two in own and self._text(one) != self._text(two):
            return f"between {self.letter(one).removesuffix(f' of {_quoted(word)}')} and {self.letter(two)}"
        return f"between {self.letter(one)} and {self.letter(two)}"


def _quoted(word: str) -> str:
    """Return a word as it stands in a sentence: 'the n of and' would be misread."""
    return word if word[:1].isupper() else f"'{word}'"


def _ordinal(index: int) -> str:
    return _ORDINALS[index] if index < len(_ORDINALS) else f"{index + 1}th"
