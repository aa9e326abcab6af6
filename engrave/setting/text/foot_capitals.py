"""A short foot in letterspaced capitals, as small capitals are used for dates and places: which words may be so drawn.

Only the drawing follows: an order's words stay as they came, and a note says it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from engrave.problems import Problem
from engrave.setting.text.joint_data import bare_word, joint_table
from engrave.typefaces import Typeface
from engrave.typefaces.characters import script_of

CAPITALS_SHARE = 0.85
"""Height of such capitals over what a foot in small letters would have: small capitals stand between both (our eye)."""

SCRIPTS_IN_CAPITALS = frozenset({"Latn", "Cyrl", "Zyyy", "Zinh"})
"""Scripts whose small letters have capitals that read the same; Greek ones lose their accents, others have none."""

TURKIC = frozenset("ğĞıİəƏ")
"""Letters of languages in which the capital of i has a dot."""

_BY_CASE = re.compile(
    r"\d+(st|nd|rd|th|er|re|ère|e|ème|de|ste|[oa])\b|\d[a-z]|[@/\\_]|www\.|\.(com|org|net)\b", re.IGNORECASE
)
"""Ordinals as 14th, addresses: in capitals they read wrong."""


def drawn_in_capitals(words: str, typeface: Typeface, longest: int) -> str:
    """Return a foot's words in capitals, letter for letter; as they are where that would lose or mistake anything."""
    bears = typeface.bears_capitals and not typeface.joined
    if not bears or sum(c.isalnum() for c in words) > longest or not _may_be(words):
        return words
    capitals = words.upper()
    lacks = {p.code for p in typeface.shape(capitals).problems} - {p.code for p in typeface.shape(words).problems}
    return words if lacks else capitals


def _may_be(words: str) -> bool:
    """Tell whether no letter of the words means something else, or nothing, as a capital."""
    if {script_of(c) for c in words} - SCRIPTS_IN_CAPITALS or _BY_CASE.search(words) or TURKIC & set(words):
        return False
    if any(len(c.upper()) != 1 or c.upper().lower() != c.lower() for c in words):
        return False
    return all(_plainly_written(w) for w in _letters(words)) and not _has_units(words)


def _letters(words: str) -> Iterator[str]:
    """Yield the runs of letters."""
    return (m.group() for m in re.finditer(r"[^\W\d_]+", words))


def _plainly_written(letters: str) -> bool:
    """Tell whether letters are all small, all capitals, or begin with a capital: 'McKay' and 'pH' are none of these."""
    return letters.islower() or letters.isupper() or (letters[0].isupper() and letters[1:].islower())


def _has_units(words: str) -> bool:
    """Tell whether a number is followed by a unit, whose case is its meaning."""
    units = joint_table().words["units"]
    parts = words.split()
    return any(a[-1:].isdigit() and bare_word(b) in units and not b.isupper() for a, b in pairwise(parts))


def told_of_capitals(words: str, drawn: str) -> Problem:
    """Return the note on a foot drawn in capitals."""
    says = f"The foot is cut in small capitals, as the setting asks: {drawn}. The order's words stay as they came."
    return Problem("foot-in-capitals", "note", says, where=f"foot: {words}")
