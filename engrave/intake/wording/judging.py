"""From a cell's words to remarks about them: which parts read like what, and whether words are left to cut."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from engrave.findings import FindingCode
from engrave.intake.wording import rules as book
from engrave.intake.wording.lexicon import BREAK, LITERALS, kind_sign, tagged
from engrave.intake.wording.tokens import Token, fold, tokens
from engrave.intake.wording.weighing import weighed, weights


@dataclass(frozen=True, slots=True)
class Remark:
    """What one part of a cell reads like. found: that part as it stands. is_all: no words to cut are left beside it."""

    code: FindingCode
    found: str
    is_all: bool


@dataclass(frozen=True, slots=True)
class _Cell:
    """A cell taken apart: tokens, their kinds, the kinds as one string, and all kinds that occur."""

    words: str
    field: str
    tokens: list[Token]
    kinds: list[set[str]]
    line: str
    starts: dict[int, int]
    present: set[str]
    mask: int


@dataclass(frozen=True, slots=True)
class _Find:
    code: FindingCode
    first: int
    last: int
    takes: str


@lru_cache(maxsize=512)
def remarks(words: str, field: str) -> tuple[Remark, ...]:
    """Return what a cell's words read like besides words to cut; nothing for words that look sound.

    field: 'name', 'message' or 'foot'; some rules hold in one of them only.
    """
    whole = _whole(words)
    if whole:
        return (Remark(whole, " ".join(words.split()), True),)
    cell = _taken_apart(words, field)
    finds = [f for f in _finds(cell) if f.first <= f.last]
    if not finds:
        return ()
    is_all = not _left_over(cell, finds)
    apart: list[_Find] = []
    for find in finds:
        told = any((find.first <= o.last and o.first <= find.last) or find.code == o.code for o in apart)
        if not told:
            apart.append(find)
    kept = apart[:1] if is_all else apart
    return tuple(Remark(f.code, _text(cell, f), is_all) for f in kept)


_WRAPPING = " .,;:!-–—_*~\"'()[]{}<>/\\|“”‘’«»"
_POLITE = re.compile(r"(?:[ ,.!]+(?:please|pls|plz|thanks|thank you|thx|ta|bitte|danke|svp|merci|por favor|gracias|grazie|"
                     r"per favore|obrigad[oa]|aub|graag|bedankt|prosze|dziekuje|prosim|dekuji|tack|takk|tak|lutfen|"
                     r"дякую|спасибо|пожалуиста|ευχαριστω|παρακαλω))+$")  # fmt: skip


_SLASH = re.compile(r"\s*/\s*")


def _whole(words: str) -> FindingCode | None:
    """Return the code of a cell that is known as a whole, with or without brackets and politeness around it; None if not."""
    known = book.whole_cells()
    folded = _SLASH.sub("/", " ".join(fold(words).split()))
    core = folded.strip(_WRAPPING)
    return known.get(folded) or known.get(core) or known.get(_POLITE.sub("", core))


def _taken_apart(words: str, field: str) -> _Cell:
    found = tokens(words)
    kinds = tagged(found)
    starts, line = {}, []
    at = 0
    for i, kind in enumerate(kinds):
        starts[at] = i
        # the sign of a break stands last, where a rule's look behind expects it
        line.append("".join(sorted(kind - {BREAK})) + (BREAK if BREAK in kind else "") + " ")
        at += len(line[-1])
    starts[at] = len(kinds)
    present = set[str]().union(*kinds)
    return _Cell(words, field, found, kinds, "".join(line), starts, present, book.mask(present))


def _finds(cell: _Cell) -> Iterator[_Find]:
    """Yield what each rule finds, in the order of the rules, then what no order of kinds can tell.

    Only sure rules are listened to where all signs together, what the other rules find among them, say that these are
    words for a lid: a rule knows an order of kinds, not the rest.
    """
    found = [(rule, find) for rule in book.rules() if (find := _by_rule(cell, rule)) is not None]
    total = weighed(cell.words, cell.field, cell.tokens, cell.kinds, [rule.code for rule, _ in found])
    is_talk = total.total >= weights().talk
    yield from (find for rule, find in found if is_talk or rule.is_sure)
    yield from _twins(cell)
    yield from _spelt_out(cell)
    if is_talk and total.telling:
        yield _Find("instruction", total.telling[0], total.telling[-1], "match")


def rules_finding(words: str, field: str) -> list[FindingCode]:
    """Return the codes of all rules that find something in a cell, listened to or not: what `weighing` takes as signs."""
    cell = _taken_apart(words, field)
    return [rule.code for rule in book.rules() if _by_rule(cell, rule) is not None]


def _by_rule(cell: _Cell, rule: book.Rule) -> _Find | None:
    """Return what one rule finds, None if nothing or if it holds its tongue."""
    if cell.field not in rule.fields:
        return None
    found = _by_pattern(cell, rule) or _by_parts(cell, rule)
    return None if found and any(p.search(cell.line, cell.mask) for p in rule.unless) else found


def _by_pattern(cell: _Cell, rule: book.Rule) -> _Find | None:
    for pattern in rule.patterns:
        found = pattern.search(cell.line, cell.mask)
        if found:
            first, last = cell.starts[found.start()], cell.starts[found.end()] - 1
            return _Find(rule.code, first, last, rule.takes)
    return None


def _by_parts(cell: _Cell, rule: book.Rule) -> _Find | None:
    """Find the cell, or a part behind the first, that is made of certain kinds only and holds one of some."""
    if not rule.made_of or rule.holding.isdisjoint(cell.present):
        return None
    parts = [(0, len(cell.tokens))] if rule.where == "cell" else _parts(cell)
    covered = [all(_is_made_of(k, rule.made_of) for k in cell.kinds[a:b]) for a, b in parts]
    if rule.where == "part" and all(covered):
        return None
    for i, (a, b) in enumerate(parts):
        if not covered[i] or (rule.where == "part" and i == 0):
            continue
        if any(not k.isdisjoint(rule.holding) for k in cell.kinds[a:b]):
            return _Find(rule.code, a, b - 1, rule.takes)
    return None


def _is_made_of(kinds: set[str], allowed: frozenset[str]) -> bool:
    return BREAK in kinds or kind_sign("SIGN") in kinds or not kinds.isdisjoint(allowed)


def _parts(cell: _Cell) -> list[tuple[int, int]]:
    """Return the parts between breaks, as (first, behind the last) tokens."""
    out, first = [], 0
    for i, kinds in enumerate(cell.kinds):
        if BREAK in kinds:
            out.append((first, i))
            first = i + 1
    out.append((first, len(cell.kinds)))
    return [(a, b) for a, b in out if b > a]


_ALIKE = 0.6
"""Likeness (matching letters over all letters) from which two words are two spellings of one: Mum and Mom have 0.67."""

_OR = frozenset(["or", "oder", "ou", "o", "of", "lub", "albo", "nebo", "eller", "veya", "ya", "або", "чи", "или", "ή"])
_NOT = frozenset(["not", "nicht", "pas", "no", "non", "niet", "nie", "ne", "inte", "ikke", "degil", "не", "οχι", "nao"])


def _twins(cell: _Cell) -> Iterator[_Find]:
    """Yield two spellings of one word: 'Zoe or Zoey', 'Maé, pas Mae'."""
    for i, token in enumerate(cell.tokens[1:-1], 1):
        is_or, is_not = token.text in _OR, token.text in _NOT
        if not is_or and not is_not:
            continue
        after = cell.tokens[i + 1]
        small = kind_sign("FUNC")
        before = [t for t, kinds in zip(cell.tokens[:i], cell.kinds, strict=False) if t.is_word and small not in kinds][
            -3:
        ]
        for other in reversed(before):
            if _are_twins(cell.words[other.start : other.end], cell.words[after.start : after.end]):
                yield _Find(
                    "undecided" if is_or else "spelling", cell.tokens.index(other) if is_or else i, i + 1, "match"
                )
                return


_FEWEST_SPELT = 2
"""Letters standing alone, of which more are a word spelt out where that word stands before them."""

_LETTER_BY_LETTER = re.compile(r"\w(?:[-.·]\w){2,}\.?")
"""Letters of a word with signs between: N-I-A-M-H, A.D.A."""


def _spelt_out(cell: _Cell) -> Iterator[_Find]:
    """Yield a word that stands there once more letter by letter: 'Niamh (N-I-A-M-H)', 'Anika, that is A N I K A'."""
    plain = {t.text.replace("-", ""): i for i, t in reversed(list(enumerate(cell.tokens))) if t.is_word}
    first = -1
    letters = ""
    for i, token in enumerate(cell.tokens):
        if _LETTER_BY_LETTER.fullmatch(cell.words[token.start : token.end]):
            if plain.get(token.text.replace("-", ""), i) < i:
                yield _Find("spelling", i, i, "match")
                return
        elif len(token.text) == 1 and token.text.isalpha():
            first, letters = (first if letters else i), letters + token.text
            if len(letters) > _FEWEST_SPELT and plain.get(letters, first) < first:
                yield _Find("spelling", first, i, "match")
                return
        elif token.is_word:
            letters = ""


def _are_twins(one: str, other: str) -> bool:
    if (
        one.casefold() == other.casefold()
        or min(len(one), len(other)) < 3
        or not (one[0].isupper() or other[0].isupper())
    ):
        return False
    from difflib import SequenceMatcher  # few cells hold two words alike

    a, b = one.casefold(), other.casefold()
    return a[0] == b[0] and SequenceMatcher(None, a, b, autojunk=False).ratio() >= _ALIKE


_NAMES_TOO = ("ORNAMENT", "LOOKS", "FOND", "KIN", "NUMBER", "TALK", "COLOUR", "SIZE")
"""Kinds of which many words are names as well: Poppy, Rosa, Fleur."""

_YEAR = 4
"""Digits from which a number is a year or a date rather than a count, and is left to cut."""


def _left_over(cell: _Cell, finds: list[_Find]) -> bool:
    """Tell whether anything is left that could be cut: a word that no find speaks for and that is of no kind.

    So is a part between breaks that no find touches, a year, a name at the beginning.
    """
    spoken, within = set[int](), set[int]()
    for f in finds:
        within.update(range(f.first, f.last + 1))
        if f.takes == "rest":
            spoken.update(range(f.first, len(cell.tokens)))
    if _begins_with_a_name(cell):
        return True
    left = [i for i, t in enumerate(cell.tokens) if t.is_word and i not in spoken and _is_left(cell, i, within)]
    if left and not _is_only_odd(cell, left):
        return True
    polite = {kind_sign("PLEASE"), kind_sign("THANKS"), kind_sign("ASK")}
    for first, end in _parts(cell):
        inside = [i for i in range(first, end) if cell.tokens[i].is_word and cell.kinds[i].isdisjoint(polite)]
        if inside and within.isdisjoint(range(first, end)) and spoken.isdisjoint(range(first, end)):
            return True
    return False


_ODD = 4
"""Words for each one of no kind, from which that one is a word of the talk we do not know, not words to cut."""


def _is_only_odd(cell: _Cell, left: list[int]) -> bool:
    """Tell whether what is left is a rare unknown small word within talk: no name, number or quotation.

    The first and the last word are never odd ones: what is to be cut stands there ('add happy easter').
    """
    words = [i for i, token in enumerate(cell.tokens) if token.is_word]
    inner = words if cell.words.rstrip().endswith("?") else words[1:-1]  # a question ends in no words to cut
    if len(words) < _ODD * len(left) or not set(left) <= set(inner):
        return False
    return all(t.is_small and not t.text[0].isdigit() for t in (cell.tokens[i] for i in left)) and '"' not in cell.words


def _is_left(cell: _Cell, i: int, within: set[int]) -> bool:
    """Tell whether one word can be cut: of no kind, with a capital, a number that no find holds."""
    token, kinds = cell.tokens[i], cell.kinds[i]
    if not kinds.isdisjoint((kind_sign("OTHER"), kind_sign("READER"))) or token.is_capital:
        return kind_sign("NUM") not in kinds or i not in within or len(token.text) >= _YEAR
    return False


def _begins_with_a_name(cell: _Cell) -> bool:
    """Tell whether a cell of several words begins with what may be a name (Rosa, Bella, Mum), a year or a date."""
    words = [i for i, token in enumerate(cell.tokens) if token.is_word]
    if len(words) < 2 or words[0] != 0:
        return False
    own = {kind_sign(k) for k in ("WORD", "LABEL", "SEE", "ME", "YOU", "OTHER")}
    kinds = cell.kinds[0] - {kind for kind in cell.kinds[0] if kind >= LITERALS}
    if kind_sign("NUM") in kinds:
        return True
    names = {kind_sign(k) for k in (*_NAMES_TOO, "OTHER")}
    return cell.words[cell.tokens[0].start].isupper() and not kinds.isdisjoint(names) and kinds - own <= names


def _text(cell: _Cell, find: _Find) -> str:
    """Return a find as it stands in the cell, with the bracket that it opens or closes."""
    last = len(cell.tokens) - 1 if find.takes == "rest" else find.last
    text = cell.words[cell.tokens[find.first].start : cell.tokens[last].end]
    return " ".join(text.split()).strip(" ,;-–—")
