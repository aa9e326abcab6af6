"""Rules over the order of kinds, read from rules.toml (its head explains how a rule is written) and made ready."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from engrave.findings import FindingCode, finding_code
from engrave.intake.wording.lexicon import BREAK, HERE, SOURCES, kind_sign, literal_at, literal_sign, literals
from engrave.intake.wording.tokens import fold
from engrave.kept_data import made_ready
from engrave.shop.house import WORD_FIELDS

RULES = HERE / "rules.toml"

_TOKEN_START = "(?<![^ ])"
_PART_START = rf"(?:\A|(?<={BREAK} ))"
_GAPS = {
    "..": rf"(?:[^ {BREAK}]* ){{0,3}}?",
    "...": rf"(?:[^ {BREAK}]* ){{0,7}}?",
    "....": r"(?:[^ ]* ){0,14}?",
    "_": rf"[^ {BREAK}]* ",
}


@dataclass(frozen=True, slots=True)
class Pattern:
    """One sequence. needs: kinds of which a cell must hold one each, else the sequence need not be tried."""

    expression: str
    needs: tuple[int, ...]

    def search(self, cell: str, present: int) -> re.Match[str] | None:
        """Find the sequence in a cell's kinds. present: the kinds that occur, as `mask` gives them."""
        for need in self.needs:
            if not present & need:
                return None
        return _compiled(self.expression).search(cell)  # most are never needed, and making them ready takes its time


def mask(kinds: Iterable[str]) -> int:
    """Return kinds as bits of one number, for quick comparison."""
    total = 0
    for kind in kinds:
        total |= 1 << (ord(kind) - ord(BREAK))
    return total


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of rules.toml. takes: what of the cell a find speaks for: 'match' or 'rest'.

    made_of, holding: a part of the cell wholly made of these kinds, holding one of those; where: 'cell' or 'part'.
    is_sure: found however little the whole cell weighs.
    """

    code: FindingCode
    patterns: tuple[Pattern, ...]
    unless: tuple[Pattern, ...]
    takes: str
    fields: frozenset[str]
    made_of: frozenset[str]
    holding: frozenset[str]
    where: str
    is_sure: bool


@cache
def rules() -> tuple[Rule, ...]:
    """Return all rules in the order in which they are told."""
    return tuple(_rule(entry) for entry in _book()["rules"])


@cache
def whole_cells() -> dict[str, FindingCode]:
    """Return whole cells by folded text, with their code: what says that there is nothing, what a form leaves."""
    return {cell: finding_code(code) for cell, code in _book()["whole"].items()}


def codes() -> frozenset[FindingCode]:
    """Return the codes of everything that can be found."""
    return frozenset({r.code for r in rules()} | set(whole_cells().values()) | {"instruction", "spelling", "undecided"})


@cache
def _book() -> dict[str, Any]:
    """Return the rules with their sequences written out, made ready in an earlier run if the words' signs are the same."""
    files = (RULES, *SOURCES, HERE / "rules.py")
    book: dict[str, Any] = made_ready("rules", files, _data)
    if [literal_sign(word) for word in book["literals"]] != [literal_at(i) for i in range(len(book["literals"]))]:
        return _data()  # a sequence made before has taken a sign
    return book


def _data() -> dict[str, Any]:
    """Read the file and write out the sequences of its rules. literals: single words that rules name, by their sign."""
    import tomllib  # read once and kept

    table = tomllib.loads(RULES.read_text(encoding="utf-8"))
    rules = [
        {
            **{key: value for key, value in entry.items() if key != "why"},
            **{key: [list(_written_out(text)) for text in entry.get(key, ())] for key in ("any", "unless")},
        }
        for entry in table["rule"]
    ]
    whole = {
        " ".join(cell.split()): group["code"]
        for group in table["whole"]
        for language, cells in group.items()
        if language not in ("code", "why")
        for cell in fold(cells).split(";")
        if cell.strip()
    }
    return {"rules": rules, "whole": whole, "literals": literals()}


def _rule(entry: dict[str, Any]) -> Rule:
    return Rule(
        code=finding_code(entry["code"]),
        patterns=tuple(_pattern(*made) for made in entry["any"]),
        unless=tuple(_pattern(*made) for made in entry["unless"]),
        takes=entry.get("takes", "match"),
        fields=frozenset(entry.get("fields", WORD_FIELDS)),
        made_of=frozenset(kind_sign(k) for k in entry.get("made_of", ())),
        holding=frozenset(kind_sign(k) for k in entry.get("holding", ())),
        where=entry.get("where", "cell"),
        is_sure=entry.get("sure", False),
    )


def _pattern(expression: str, needs: list[int]) -> Pattern:
    return Pattern(expression, tuple(needs))


def _written_out(text: str) -> tuple[str, list[int]]:
    """Return a sequence as a regular expression and the kinds it needs; rules.toml's head explains how it is written."""
    out, needs = [], []
    parts = text.split()
    if parts[0] not in ("^", "^^"):
        out.append(_TOKEN_START)
    for part in parts:
        regex, need = _element(part)
        out.append(regex)
        if need:
            needs.append(mask(need))
    return "".join(out), needs


@cache
def _compiled(expression: str) -> re.Pattern[str]:
    return re.compile(expression)


def _element(part: str) -> tuple[str, frozenset[str]]:
    polite = f"[{BREAK}{kind_sign('SIGN')}{kind_sign('PLEASE')}{kind_sign('THANKS')}]"
    if part == "^^":
        return rf"\A(?:[^ ]*[{BREAK}{kind_sign('EMO')}][^ ]* )*", frozenset()
    if part == "^":
        return _PART_START, frozenset()
    if part == "$$":
        return rf"(?:[^ ]*{polite}[^ ]* )*\Z", frozenset()
    if part == "$":
        return rf"(?:[^ {BREAK}]*{polite}[^ {BREAK}]* )*(?=\Z|[^ ]*{BREAK})", frozenset()
    if part in _GAPS:
        return _GAPS[part], frozenset()
    if part[0] == "!" and len(part) > 1:
        return f"(?!{_one(part[1:])[0]})", frozenset()
    is_optional = part[-1] == "?" and len(part) > 1
    regex, need = _one(part.removesuffix("?") if is_optional else part)
    return (f"(?:{regex})?", frozenset()) if is_optional else (regex, need)


_SINGLE = {"NUM", "LET", "CAP", "WORD", "SIGN", "OTHER"}


def _one(part: str) -> tuple[str, frozenset[str]]:
    """Return the expression of one element, of any of its alternatives, and the kinds it may be of."""
    is_small = part[0] == "~" and len(part) > 1
    names = part[1:].split("|") if is_small else (part.split("|") if part != "|" else [part])
    is_kind = {n: n.isascii() and n.isupper() and len(n) > 1 for n in names}
    signs = frozenset(kind_sign(n) if is_kind[n] else literal_sign(n) for n in names)
    several = any(is_kind[n] and n not in _SINGLE for n in names)
    guard = f"(?![^ ]*{kind_sign('CAP')})" if is_small else ""
    token = f"{guard}[^ ]*[{''.join(sorted(signs))}][^ ]* "
    return (f"(?:{token})+" if several else f"(?:{token})"), signs
