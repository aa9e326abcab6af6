"""The rules and words of `joints.toml`: a weight and a reason for each rule, the little words of each language of the orders.

The languages are taken from the line itself: those whose little words it holds most of.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from engrave.kept_data import made_ready

Weight = Literal["strong", "weak", "plain", "phrase", "stop"]

_DATA = Path(__file__).with_name("joints.toml")


@dataclass(frozen=True, slots=True)
class Language:
    """Little words of one language, or of several together."""

    leads: frozenset[str]
    conjunctions: frozenset[str]
    signed: frozenset[str]
    dates: frozenset[str]
    of: frozenset[str]
    hard: bool

    def hits(self, bare: Iterable[str]) -> int:
        """Return how many words are little words of this language."""
        return sum(w in self.leads or w in self.conjunctions for w in bare)


@dataclass(frozen=True, slots=True)
class JointTable:
    """The data: rules by name with weight and reason, words by use, languages, months."""

    rules: Mapping[str, tuple[Weight, str]]
    words: Mapping[str, frozenset[str]]
    languages: Mapping[str, Language]
    months: frozenset[str]


@cache
def joint_table() -> JointTable:
    """Return the joints known, read once from the package's own data."""
    data = made_ready("joints", [_DATA], _parsed)
    rules = {name: (r["weight"], r["why"]) for name, r in data["rules"].items()}
    words = {name: frozenset(w) for name, w in data["words"].items()}
    languages = {name: _language([entry]) for name, entry in data["languages"].items()}
    return JointTable(rules, words, languages, frozenset(m for names in data["months"].values() for m in names))


def _parsed() -> dict[str, Any]:
    import tomllib  # parsed once and kept

    return tomllib.loads(_DATA.read_text(encoding="utf-8"))


def _language(entries: Sequence[Mapping[str, Any]]) -> Language:
    def every(key: str) -> frozenset[str]:
        return frozenset(w for e in entries for w in e[key])

    hard = any(e.get("hard", False) for e in entries)
    return Language(every("leads"), every("conjunctions"), every("from"), every("dates"), every("of"), hard)


def spoken_in(bare: Sequence[str]) -> Language:
    """Return the language of words by their little words; several together where they are level, English alone if it is."""
    known = joint_table().languages
    hits = {name: of.hits(bare) for name, of in known.items()}
    most = max(hits.values())
    named = [name for name, n in hits.items() if n == most] if most else []
    chosen = [known["en"]] if "en" in named else [known[name] for name in named]
    return Language(
        frozenset().union(*(c.leads for c in chosen)),
        frozenset().union(*(c.conjunctions for c in (chosen or known.values()))),
        frozenset().union(*(c.signed for c in chosen)),
        frozenset().union(*(c.dates for c in known.values())),
        frozenset().union(*(c.of for c in known.values())),
        any(c.hard for c in chosen),
    )


def bare_word(word: str) -> str:
    """Return a word in lower case, without the marks around it."""
    return word.strip('"“”„«»()[]¿¡').rstrip(".,;:!?…").casefold()
