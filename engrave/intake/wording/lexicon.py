"""The kinds of words: read from classes.toml and phrases.toml into one tree, and put on a cell's tokens.

A token's kinds are written as one string, one private character a kind, so that rules over the order of kinds are
plain regular expressions (see `rules`). A phrase puts its kind on each of its tokens.
"""

from __future__ import annotations

import tomllib
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from engrave.intake.wording.tokens import Token, fold, words_of

HERE = Path(__file__).parent
_FILES = ("classes.toml", "phrases.toml")
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


@dataclass(frozen=True, slots=True)
class Lexicon:
    """The tree by first letters, and the character of each kind and of each single word that a rule names."""

    root: Node
    by_start: dict[str, list[tuple[str, Node]]]
    signs: dict[str, str]


def kind_sign(name: str) -> str:
    """Return the private character of a kind."""
    return _signs()[name]


@cache
def _signs() -> dict[str, str]:
    names = [*_OWN, *(name for table in _tables() for name in table)]
    return {name: chr(_FIRST + i) for i, name in enumerate(names)}


@cache
def literal_sign(word: str) -> str:
    """Return the private character of a single word that a rule names, making one at first sight."""
    _LITERALS.setdefault(word, chr(_FIRST_LITERAL + len(_LITERALS)))
    return _LITERALS[word]


_LITERALS: dict[str, str] = {}


@cache
def _tables() -> tuple[dict[str, dict[str, str]], ...]:
    return tuple(tomllib.loads((HERE / name).read_text(encoding="utf-8")) for name in _FILES)


@cache
def lexicon() -> Lexicon:
    """Read both files once."""
    root = Node()
    for table in _tables():
        for kind, languages in table.items():
            for language, entries in languages.items():
                if language != "why":
                    for entry in fold(entries).split(";"):
                        _plant(root, entry, kind_sign(kind))
    by_start: dict[str, list[tuple[str, Node]]] = {}
    for start, node in root.begins:
        by_start.setdefault(start[:3], []).append((start, node))
    return Lexicon(root, by_start, _signs())


def _plant(root: Node, entry: str, sign: str) -> None:
    """Put a folded phrase into the tree; a star at a word's end stands for any ending."""
    node = root
    for part in entry.split():
        for text in words_of(part.rstrip("*")):
            node = _begin(node, text) if part[-1] == "*" else node.exact.setdefault(text, Node())
    if node is not root:
        node.kinds.add(sign)


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
    nodes = []
    for text in forms(cell[at]):
        nodes += [book.root.exact[text]] if text in book.root.exact else []
        nodes += [node for start, node in book.by_start.get(text[:3], ()) if text.startswith(start)]
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
    short = _chat().get(text)
    if short:
        return (text, short)
    known = _known()
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
def _chat() -> dict[str, str]:
    table = tomllib.loads((HERE / "chat.toml").read_text(encoding="utf-8"))["short"]
    return {word: plain for word, plain in table.items() if word != "why"}


@cache
def _known() -> frozenset[str]:
    """Return every word of the lexicon: none of them is a misspelling of another."""
    found, nodes = set(), [lexicon().root]
    while nodes:
        node = nodes.pop()
        found |= set(node.exact)
        nodes += [*node.exact.values(), *(after for _, after in node.begins)]
    return frozenset(found)


@cache
def _misspelled() -> dict[str, list[str]]:
    """Return known words by what is left of them without one letter."""
    chat = tomllib.loads((HERE / "chat.toml").read_text(encoding="utf-8"))["misspelled"]
    kinds = {k.strip() for k in chat["kinds"].split(";")}
    out: dict[str, list[str]] = {}
    for table in _tables():
        for kind in kinds & set(table):
            for word in sorted({w for w in words_of(fold(table[kind]["en"])) if len(w) >= _LEAST}):
                for left in _without_one(word):
                    out.setdefault(left, []).append(word)
    return out


def _looks(token: Token, kinds: set[str], signs: dict[str, str]) -> set[str]:
    literal = {_LITERALS[text] for text in (token.text, _chat().get(token.text, "")) if text in _LITERALS}
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
