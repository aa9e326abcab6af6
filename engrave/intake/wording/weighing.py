"""How much a cell speaks like talk to a shop, as one number: what its words, neighbours and kinds of words weigh.

The weights stand in weights.txt, fitted by tests/tools/fit_wording.py on the labelled cells of tests/intake/data. What
the rules find are signs beside the others, each worth what it has proved to be: the number asks where no rule knows
anything, and keeps a rule from asking about sound words.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from engrave.findings import FindingCode
from engrave.intake.wording.lexicon import HERE, LITERALS, lexicon
from engrave.intake.wording.tokens import Token

WEIGHTS = HERE / "weights.txt"

_PASSED_OVER = ("WORD", "LOW", "CAP")
"""Kinds by look that nearly every word has: how a cell looks is counted once, for the whole of it."""

_VERSE = 14
"""Words from which signs come together by chance, as they do in verse: there their sum is shared out."""

_MOST = 8
"""Words from which a cell counts as a long one."""

_MOST_BESIDE = 4
"""Words from which a first word counts as one of a longer cell."""

_MOST_RULES = 3
"""Rules from which a cell counts as one that many rules tell something of."""

_BEGINNINGS = (3, 4, 5, 6)
"""Letters of a word's beginning that are signs of their own: they know a word's forms, in languages of many forms."""


_SOUGHT = 500
"""Signs sought by halves, line against line, before a map of all is made: that takes as long, and one text has fewer."""


class Weights:
    """start: the sum begun with. talk: the sum from which words are asked about. lines: the others, in order of their signs.

    There are forty thousand, of which a cell asks for a hundred.
    """

    def __init__(self, start: float, talk: float, lines: Sequence[bytes]) -> None:
        self.start, self.talk = start, talk
        self._lines = lines
        self._sought = 0
        self._map: dict[str, str] = {}

    def weight(self, sign: str) -> float | None:
        """Return what a sign weighs, None if it is not known."""
        told = (
            self._sign_sought(sign.encode("utf-8", "surrogatepass"))
            if self._sought < _SOUGHT
            else self._by_sign().get(sign)
        )
        return None if told is None else int(told) / 100

    def _sign_sought(self, sign: bytes) -> bytes | None:
        self._sought += 1
        at = bisect_left(self._lines, sign, key=_sign_of)
        found = self._lines[at] if at < len(self._lines) else b""
        return found.partition(b"\t")[0] if _sign_of(found) == sign else None

    def _by_sign(self) -> dict[str, str]:
        if not self._map:
            told = (line.split("\t", 1) for line in b"\n".join(self._lines).decode().split("\n"))
            self._map = {sign: weight for weight, sign in told}
        return self._map


def _sign_of(line: bytes) -> bytes:
    return line.partition(b"\t")[2]


@dataclass(frozen=True, slots=True)
class Weighed:
    """total: above 0 it is rather talk, below rather words to cut. telling: tokens that speak for talk."""

    total: float
    telling: tuple[int, ...]


@cache
def weights() -> Weights:
    """Read the weights: lines of a hundredfold weight, a tab and a sign; `start` and `talk` stand first, the rest in order."""
    lines = WEIGHTS.read_bytes().replace(b"\r", b"").rstrip(b"\n").split(b"\n")
    first = next(i for i, line in enumerate(lines) if not line.startswith(b"#"))
    start, talk = (int(line.partition(b"\t")[0]) / 100 for line in lines[first : first + 2])
    return Weights(start, talk, lines[first + 2 :])


def weighed(
    words: str, field: str, cell: Sequence[Token], kinds: Sequence[set[str]], codes: Sequence[FindingCode]
) -> Weighed:
    """Weigh a cell, taken apart into tokens and their kinds: the sum of all signs over the root of their number.

    codes: what each rule that found something in the cell would tell.
    """
    book = weights()
    found: dict[str, int] = {}
    for sign, at in signs(words, field, cell, kinds, codes):
        found.setdefault(sign, at)
    by_token: dict[int, float] = {}
    known = 0
    for sign, at in found.items():
        weight = book.weight(sign)
        known += weight is not None
        by_token[at] = by_token.get(at, 0.0) + (weight or 0.0)
    length = math.sqrt(max(1, known))
    telling = tuple(sorted(i for i, weight in by_token.items() if i >= 0 and weight > 0 and cell[i].is_word))
    total = book.start + sum(by_token[i] for i in sorted(by_token)) / length
    many = sum(token.is_word for token in cell)
    return Weighed(total * min(1.0, _VERSE / max(many, 1)), telling)


def signs(
    words: str, field: str, cell: Sequence[Token], kinds: Sequence[set[str]], codes: Sequence[FindingCode]
) -> Iterator[tuple[str, int]]:
    """Yield every sign of a cell with the token that bears it, -1 for signs of the whole cell.

    w: a word, b: two neighbours, o: two words with one between, p: a word's beginning, s: its last letters, first and
    last: the word that stands there, k: a kind, kk: kinds of neighbours, look: how the cell looks, rule: what a rule
    would tell. A number counts by its digits alone; ^ and $ are the cell's beginning and end.
    """
    texts = ["^", *(_plain(token, words) for token in cell), "$"]
    names = [["^"], *(_kinds(t, text, k) for t, text, k in zip(cell, texts[1:], kinds, strict=False)), ["$"]]
    last = len(cell) - 1
    for i, text in enumerate(texts[1:-1]):
        yield f"w:{text}", i
        if cell[i].is_word and len(text) > _BEGINNINGS[0]:
            for letters in _BEGINNINGS:
                if len(text) > letters:
                    yield f"p:{text[:letters]}", i
            yield f"s:{text[-3:]}", i
        for name in names[i + 1]:
            yield f"k:{name}", i
    for i in range(len(texts) - 1):
        at = min(i, last)
        yield f"b:{texts[i]} {texts[i + 1]}", at
        for one in names[i]:
            for other in names[i + 1]:
                yield f"kk:{one} {other}", at
    yield from _order([(i, texts[i + 1]) for i, token in enumerate(cell) if token.is_word])
    for look in _looks(words, field, cell):
        yield f"look:{look}", -1
    for code in codes:
        yield f"rule:{code}", -1
    yield f"look:rules {min(len(codes), _MOST_RULES)}", -1


def _order(inside: Sequence[tuple[int, str]]) -> Iterator[tuple[str, int]]:
    """Yield what the places of words say: the first, the last, and each with the next but one."""
    for (i, text), (_, other) in zip(inside, inside[2:], strict=False):
        yield f"o:{text} {other}", i
    if inside:
        (at, first), (behind, last) = inside[0], inside[-1]
        yield f"first:{first}", at
        yield f"first:{first} {min(len(inside), _MOST_BESIDE)}", at
        yield f"last:{last}", behind


_INITIALS = "A.B."
"""What stands for initials with their dots, whatever word they spell: F.O.N.T."""


_TIME = "0:00"
"""What stands for the time of a clock, and for a verse's number."""


def _plain(token: Token, words: str) -> str:
    if token.is_word and _is_initials(words[token.start : token.end]):
        return _INITIALS
    if token.is_word and token.text[0].isdigit():
        if ":" in token.text:
            return _TIME
        return "0" * min(len(token.text), 5)
    return "⏎" if token.text == "\n" else token.text


def _is_initials(word: str) -> bool:
    return word.count(".") > 1 and word.isupper()


@cache
def _names() -> dict[str, str]:
    return {sign: name for name, sign in lexicon().signs.items() if name not in _PASSED_OVER}


def _kinds(token: Token, text: str, kinds: set[str]) -> list[str]:
    """Return the names of a word's kinds, '?' where it has none; a sign is a kind of its own."""
    names = _names()
    if text == _INITIALS:
        return [_INITIALS]
    known = sorted(names[kind] for kind in kinds if kind < LITERALS and kind in names)
    return known or ["?" if token.is_word else text]


def _looks(words: str, field: str, cell: Sequence[Token]) -> Iterator[str]:
    """Yield how a cell looks: its length, its capitals, its signs, its field."""
    inside = [token for token in cell if token.is_word]
    many = min(len(inside), _MOST)
    yield f"words {many}"
    yield f"field {field}"
    is_cased = words.lower() != words.upper()
    if inside and inside[0].is_small:
        yield "begins small"
    if is_cased and words == words.lower():
        yield "small"
        yield f"small {min(many, 5)}"
    if is_cased and words == words.upper():
        yield "capitals"
    if any(token.is_capital for token in cell):
        yield "capital inside"
    for sign in "?(":
        if sign in words:
            yield sign
    if any(sign in words for sign in '"“„«'):
        yield "quotation"
