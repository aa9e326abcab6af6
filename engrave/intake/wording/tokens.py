"""Words taken apart into tokens that can be looked up: folded letters, punctuation as tokens of its own."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

_TOKEN = re.compile(
    r"(?:[^\W\d_]\.){2,}[^\W\d_]?(?!\w)|\d+(?::\d+)+|\d+(?=(?:mm|cm|in|inch|inches|pt|g|kg|lb|lbs|oz)\b)|\w+(?:['’ʼ\-]\w+)*|\n|[^\w\s]"
)
"""Dotted abbreviations, the time of a clock or a verse's number ('6:41'), a number before its unit ('20mm'), words with inner apostrophes and hyphens, line breaks, any other sign alone."""

_LETTERS = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "æ": "ae", "œ": "oe", "ı": "i", "’": "'", "ʼ": "'"})
_BREAKS = frozenset('.,;:!?()[]{}–—-/|\n"“”„«»=•·*…¿¡<>→')
"""Signs that end one part of a cell and begin another."""


@dataclass(frozen=True, slots=True)
class Token:
    """One token: its folded text, its place in the words (start, end), and what its letters look like.

    is_break: a sign between parts. is_capital: begins with a capital and is not the cell's first word, nor in a cell
    all in capitals: perhaps a name. is_small: begins with a small letter. is_letters: 'Ls', 'E's'.
    """

    text: str
    start: int
    end: int
    is_break: bool
    is_word: bool
    is_capital: bool
    is_small: bool
    is_letters: bool


_LETTERS_OF_A_WORD = re.compile(r"[A-Z]['’]?s|(?:[A-Za-z]-)+[A-Za-z]")
_NO_LETTERS = frozenset(("As", "Is", "Us"))


def fold(text: str) -> str:
    """Return letters without case, accents and curls, as they are looked up."""
    low = text.casefold()
    if not low.isascii():
        low = "".join(c for c in unicodedata.normalize("NFD", low.translate(_LETTERS)) if not unicodedata.combining(c))
    return low


def words_of(folded: str) -> list[str]:
    """Return the words of folded text without its signs, as `tokens` would."""
    return [t.replace(".", "") for t in _TOKEN.findall(folded) if t[0].isalnum()]


def tokens(words: str) -> list[Token]:
    """Take words apart. Signs that only choose how an emoji is drawn are left out."""
    shouted = words.upper() == words
    out: list[Token] = []
    for found in _TOKEN.finditer(words):
        text = found[0]
        is_word = text[0].isalnum() or len(text) > 1
        if not is_word and text != "\n" and unicodedata.category(text)[0] in "MC":
            continue
        is_capital = is_word and text[0].isupper() and not shouted and any(t.is_word for t in out)
        if not is_word:
            out.append(Token(text, *found.span(), text in _BREAKS, False, False, False, False))
            continue
        is_letters = bool(_LETTERS_OF_A_WORD.fullmatch(text)) and text not in _NO_LETTERS
        plain = fold(text).replace(".", "")
        out.append(Token(plain, *found.span(), False, True, is_capital, text[0].islower(), is_letters))
    return out
