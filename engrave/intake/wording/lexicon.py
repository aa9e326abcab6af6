"""The kinds of words: read from classes.toml and phrases.toml into trees, and put on a cell's tokens.

A token's kinds are written as one string, one private character a kind, so that rules over the order of kinds are
plain regular expressions (see `rules`). A phrase puts its kind on each of its tokens.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from engrave.intake.wording.tokens import Token, fold, words_of
from engrave.kept_data import made_ready

HERE = Path(__file__).parent
_FILES = ("classes.toml", "phrases.toml")
_CHAT = "chat.toml"
SOURCES = tuple(HERE / name for name in (*_FILES, _CHAT, "lexicon.py", "tokens.py"))
"""What the lexicon is made from: the words as data, and the modules that read them."""

_PLAIN = re.compile(r"\s*(?:[a-z]+\*?\s+)*[a-z]+\*?\s*")
"""An entry of plain letters, which are words as they stand; nearly all are, and taking them apart as a cell took twice the time."""

_OWN = ("NUM", "LET", "LETS", "CAP", "LOW", "WORD", "SIGN", "EMO", "OTHER")
"""Kinds that a token has by its look: a number, one letter, letters in the plural ('two Ls'), a capital behind the first
word, a small letter at the beginning, letters at all, a sign that is no break, a drawn sign,
a word of no kind."""

BREAK = "\ue000"
_FIRST = 0xE100
_FIRST_LITERAL = 0xE800
LITERALS = chr(_FIRST_LITERAL)
"""The characters of single words that a rule names begin here, behind those of kinds."""


@dataclass(slots=True)
class Node:
    """A step in the tree of phrases: what may follow, exactly or by its beginning, and the kinds that end here."""

    exact: dict[str, Node] = field(default_factory=dict)
    begins: list[tuple[str, Node]] = field(default_factory=list)
    kinds: set[str] = field(default_factory=set)

    def steps(self, text: str) -> Iterator[Node]:
        """Yield the nodes that a token leads to."""
        if text in self.exact:
            yield self.exact[text]
        for start, node in self.begins:
            if text.startswith(start):
                yield node


class Lexicon:
    """All phrases by their first word, each first word's tree planted when a cell first holds it.

    signs: the character of each kind. known: every word that stands in a phrase. long: words of which a word with one
    letter wrong is a misspelling. short: what chat writes for a word.
    """

    def __init__(self, data: Mapping[str, Any]) -> None:
        """data: as `_data` makes it."""
        self.signs = {name: chr(_FIRST + i) for i, name in enumerate(data["kinds"])}
        self.known = frozenset(data["known"].split())
        self.long: list[str] = data["long"].split()
        self.short: dict[str, str] = data["short"]
        self._phrases: dict[str, str] = data["phrases"]
        self._begins: dict[str, list[str]] = {}
        for first in self._phrases:
            if first[-1] == "*":
                self._begins.setdefault(first[:-1][:3], []).append(first)
        self._planted: dict[str, Node] = {}

    def starts(self, text: str) -> Iterator[Node]:
        """Yield the nodes that a token leads to as the first of a phrase."""
        if text in self._phrases:
            yield self._node(text)
        for first in self._begins.get(text[:3], ()):
            if text.startswith(first[:-1]):
                yield self._node(first)

    def _node(self, first: str) -> Node:
        if first not in self._planted:
            self._planted[first] = top = Node()
            for phrase in self._phrases[first].split(";"):
                node = top
                for word in phrase[1:].split():
                    exact = word[-1] != "*"
                    node = node.exact.setdefault(word, Node()) if exact else _begin(node, word[:-1])
                node.kinds.add(phrase[0])
        return self._planted[first]


def kind_sign(name: str) -> str:
    """Return the private character of a kind."""
    return lexicon().signs[name]


@cache
def literal_sign(word: str) -> str:
    """Return the private character of a single word that a rule names, making one at first sight."""
    _LITERALS.setdefault(word, literal_at(len(_LITERALS)))
    return _LITERALS[word]


def literal_at(index: int) -> str:
    """Return the private character of the single word that was named so many others later than the first."""
    return chr(_FIRST_LITERAL + index)


def literals() -> list[str]:
    """Return the single words that rules name, in the order of their characters."""
    return list(_LITERALS)


_LITERALS: dict[str, str] = {}


@cache
def lexicon() -> Lexicon:
    """Read all files once, or what was made ready of them."""
    return Lexicon(made_ready("lexicon", SOURCES, _data))


def _data() -> dict[str, Any]:
    """Read the files: phrases by first word (a kind's sign, then the words that follow; a star: any ending), and words."""
    tables = [_table(name) for name in _FILES]
    kinds = [*_OWN, *(name for table in tables for name in table)]
    signs = {name: chr(_FIRST + i) for i, name in enumerate(kinds)}
    phrases: dict[str, dict[str, None]] = {}
    known: dict[str, None] = {}
    for table in tables:
        for kind, languages in table.items():
            for language, entries in languages.items():
                for words in _entries(entries) if language != "why" else ():
                    phrases.setdefault(words[0], {})[signs[kind] + " ".join(words[1:])] = None
                    for word in words:
                        if word[-1] != "*":
                            known[word] = None
    chat = _table(_CHAT)
    return {
        "kinds": kinds,
        "phrases": {first: ";".join(ends) for first, ends in phrases.items()},
        "known": " ".join(known),
        "long": " ".join(_long_words(tables, {k.strip() for k in chat["misspelled"]["kinds"].split(";")})),
        "short": {word: plain for word, plain in chat["short"].items() if word != "why"},
    }


def _table(name: str) -> dict[str, Any]:
    import tomllib  # read once and kept

    return tomllib.loads((HERE / name).read_text(encoding="utf-8"))


def _entries(entries: str) -> Iterator[list[str]]:
    """Yield each folded phrase as its words; a star at a word's end stands for any ending."""
    for entry in fold(entries).split(";"):
        if _PLAIN.fullmatch(entry):
            yield entry.split()
            continue
        parts = ((part, "*" if part[-1] == "*" else "") for part in entry.split())
        words = [word + star for part, star in parts for word in words_of(part.rstrip("*"))]
        if words:
            yield words


def _long_words(tables: Iterable[Mapping[str, Mapping[str, str]]], kinds: set[str]) -> list[str]:
    """Return the words long enough to be known again with one letter wrong, in order."""
    entries = (table[kind]["en"] for table in tables for kind in sorted(kinds & set(table)))
    return sorted({word for text in entries for word in words_of(fold(text)) if len(word) >= _LEAST})


def _begin(node: Node, start: str) -> Node:
    found = next((after for known, after in node.begins if known == start), None)
    if found is None:
        found = Node()
        node.begins.append((start, found))
    return found


def tagged(cell: list[Token]) -> list[set[str]]:
    """Return the kinds of each token, as private characters."""
    book = lexicon()
    kinds: list[set[str]] = [set() for _ in cell]
    for i, token in enumerate(cell):
        if token.is_word:
            _walk(book, cell, i, kinds)
    return [found | _looks(token, found, book.signs) for token, found in zip(cell, kinds, strict=True)]


def _walk(book: Lexicon, cell: list[Token], at: int, kinds: list[set[str]]) -> None:
    """Put the kinds of every phrase that begins at a token on its tokens; a phrase runs over no break."""
    nodes = [node for text in forms(cell[at]) for node in book.starts(text)]
    end = at
    while nodes:
        end += 1
        for node in nodes:
            for k in range(at, end) if node.kinds else ():
                kinds[k] |= node.kinds
        if end == len(cell) or not cell[end].is_word:
            return
        nodes = [after for node in nodes for text in forms(cell[end]) for after in node.steps(text)]


def forms(token: Token) -> tuple[str, ...]:
    """Return a token's text, what it is short for, and the known word of which it may be a form or a misspelling."""
    text = token.text
    short = lexicon().short.get(text)
    if short:
        return (text, short)
    known = lexicon().known
    if text in known:
        return (text,)
    stems = tuple(stem for stem in (text[:-1], text[:-2]) if len(stem) >= _STEM and stem in known)[:1]
    if stems or token.is_capital or len(text) < _LEAST:
        return (text, *stems)
    return (text, *sorted({word for left in _without_one(text) for word in _misspelled().get(left, ())})[:1])


_STEM = 5
"""Letters that a known word must have for the same word with one or two letters more to be taken for a form of it."""

_LEAST = 6
"""Letters from which a word is known again with one wrong: shorter ones have too many neighbours among names."""


def _without_one(text: str) -> Iterator[str]:
    """Yield a word and the word without each of its letters: two words that share one are a letter apart."""
    yield text
    for i in range(len(text)):
        yield text[:i] + text[i + 1 :]


@cache
def _misspelled() -> dict[str, list[str]]:
    """Return known words by what is left of them without one letter."""
    out: dict[str, list[str]] = {}
    for word in lexicon().long:
        for left in _without_one(word):
            out.setdefault(left, []).append(word)
    return out


def _looks(token: Token, kinds: set[str], signs: dict[str, str]) -> set[str]:
    literal = {_LITERALS[text] for text in (token.text, lexicon().short.get(token.text, "")) if text in _LITERALS}
    if token.is_break:
        return literal | {BREAK}
    if not token.is_word:
        is_drawn = unicodedata.category(token.text) in ("So", "Sk", "Cn")
        return literal | {signs["SIGN"]} | ({signs["EMO"]} if is_drawn else set())
    out = literal | {signs["WORD"]}
    if token.text[0].isdigit():
        out.add(signs["NUM"])
    elif len(token.text) == 1 and token.text.upper() != token.text:  # signs of Chinese are words, not letters
        out.add(signs["LET"])
    if token.is_letters:
        out.add(signs["LETS"])
    if token.is_capital:
        out.add(signs["CAP"])
    elif token.is_small:
        out.add(signs["LOW"])
    if not kinds:
        out.add(signs["OTHER"])
    return out
