"""What Unicode says of characters: scripts, direction, what belongs together, names for people."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

JOINING = frozenset({"Arab", "Deva", "Beng", "Guru", "Mong", "Syrc", "Nkoo", "Mand", "Adlm"})
"""Scripts whose letters touch: never letter-spaced (Unicode, chapters 9, 12 and 13)."""
CASED_SCRIPTS = frozenset({"Latn", "Grek", "Cyrl", "Armn", "Copt", "Glag"})
"""Scripts with capitals, whose height is the unit (Unicode, section 5.18). Georgian has capitals for whole words only
(section 7.7): its names are written without."""

SQUARE_SCRIPTS = frozenset({"Hani", "Hira", "Kana", "Hang", "Bopo"})
"""Scripts whose letters are made of strokes in a square: they stand higher than the capitals of their typeface, and
their strokes may meet or stand off by a hair (Unicode, section 18.1, from memory)."""


def capitals_or_letters(text: str) -> str:
    """Return what the height of words is told of: 'capitals', or 'letters' where none of their scripts has capitals."""
    return "capitals" if any(script_of(c) in CASED_SCRIPTS for c in text) else "letters"


_INVISIBLE = frozenset("\u200b\u200c\u200d\u200e\u200f\u2060\ufeff\u00ad\u061c\ufe0e\ufe0f\u034f")
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI"})


def invisible(char: str) -> bool:
    """Tell whether a character draws nothing by itself: joiners, marks of direction, variation selectors."""
    return char in _INVISIBLE or "\ufe00" <= char <= "\ufe0f" or "\U000e0000" <= char <= "\U000e01ef"


@lru_cache(4096)
def script_of(char: str) -> str:
    """Return the script of a character by its ISO 15924 code ('Latn'; 'Zyyy' common, 'Zinh' inherited)."""
    if char.isascii():
        return "Latn" if char.isalpha() else "Zyyy"
    from fontTools.unicodedata import script  # the tables of all scripts, which plain letters do not ask for

    return str(script(char))


def script_name(code: str) -> str:
    """Return the name of a script for people: 'Greek', 'Devanagari'."""
    from fontTools import unicodedata as scripts

    return str(scripts.script_name(code, code)).replace("_", " ")


@lru_cache(4096)
def name_of(char: str) -> str:
    """Return a character as people are told of it, by its Unicode name: '‘ł’ (Latin small letter l with stroke)'.

    A name that ends in the character's number, as those of Chinese letters do, says nothing more, and is left out.
    """
    name = unicodedata.name(char, "").lower()
    if not name or name.endswith(f"-{ord(char):x}"):
        return f"‘{char}’"
    script, _, rest = name.partition(" ")
    of_script = script == script_name(script_of(char)).lower()
    return f"‘{char}’ ({script.title() if of_script else script}{' ' if rest else ''}{rest})"


_ALONE = ((0x20, 0x300), (0x370, 0x483), (0x48A, 0x530), (0x1E00, 0x2000), (0x2010, 0x2028), (0x20A0, 0x20D0))
"""Blocks whose characters never join a cluster with another of them: Latin, Greek, Cyrillic, quotes, currency."""


@lru_cache(4096)
def _stands_alone(char: str) -> bool:
    return any(low <= ord(char) < high for low, high in _ALONE) and char != "\u00ad"


def clusters(text: str) -> list[str]:
    """Return what a reader takes for one character each (Unicode annex 29, extended grapheme clusters)."""
    if text.isascii() or all(map(_stands_alone, text)):
        return list(text)
    from uniseg.graphemecluster import grapheme_clusters  # large, and letters that stand alone do without

    return list(grapheme_clusters(text))


def has_right_to_left(text: str) -> bool:
    """Tell whether the bidirectional algorithm has anything to do."""
    return not text.isascii() and any(unicodedata.bidirectional(c) in _RIGHT_TO_LEFT for c in text)


_RESOLVED = frozenset(["L", "R", "AL", "EN", "ES", "ET", "AN", "CS", "NSM", "B", "S", "WS", "ON"])
"""Kinds of character that the library's rules know; it has none for isolates, which count as neutral here."""


def levels(text: str) -> list[int]:
    """Return the embedding level of each character (Unicode annex 9); the line's direction is its first letter's.

    Explicit embeddings and overrides are gone by now: intake takes them out with a note.
    """
    if not has_right_to_left(text):
        return [0] * len(text)
    from bidi import algorithm as bidi  # most words run one way

    storage = bidi.get_empty_storage()
    base = bidi.get_base_level(text)
    storage["base_level"], storage["base_dir"] = base, ("L", "R")[base]
    bidi.get_embedding_levels(text, storage)
    bidi.explicit_embed_and_overrides(storage)
    for c in storage["chars"]:
        if c["type"] not in _RESOLVED:
            c["type"] = "ON"
    bidi.resolve_weak_types(storage)
    _resolve_brackets(storage["chars"], storage["base_dir"])
    bidi.resolve_neutral_types(storage, False)
    bidi.resolve_implicit_levels(storage, False)
    found = [int(c["level"]) for c in storage["chars"]]
    return found if len(found) == len(text) else _with_removed(text, found, base)


_BRACKETS = {")": "(", "]": "[", "}": "{", "\u2046": "\u2045", "\u207e": "\u207d", "\u27e9": "\u27e8"}
_STRONG = {"L": "L", "R": "R", "EN": "R", "AN": "R"}
"""What counts as strong inside brackets: numbers count as right to left (annex 9, rule N0)."""


def _resolve_brackets(chars: Sequence[MutableMapping[str, str]], base: str) -> None:
    """Give a pair of brackets one direction (rule N0): the line's if what is inside has it, else the context's."""
    for start, end in _bracket_pairs(chars):
        inside = {_STRONG[c["type"]] for c in chars[start + 1 : end] if c["type"] in _STRONG}
        if not inside:
            continue
        before = next((_STRONG[c["type"]] for c in reversed(chars[:start]) if c["type"] in _STRONG), base)
        chars[start]["type"] = chars[end]["type"] = base if base in inside else before


def _bracket_pairs(chars: Sequence[Mapping[str, str]]) -> list[tuple[int, int]]:
    """Return the places of paired brackets in the order of the opening ones (rule BD16)."""
    waiting: list[tuple[str, int]] = []
    pairs: list[tuple[int, int]] = []
    for i, char in enumerate(chars):
        if char["ch"] in _BRACKETS.values():
            waiting.append((char["ch"], i))
        elif (opener := _BRACKETS.get(char["ch"])) and any(w[0] == opener for w in waiting):
            while waiting[-1][0] != opener:
                waiting.pop()
            pairs.append((waiting.pop()[1], i))
    return sorted(pairs)


def _with_removed(text: str, found: Sequence[int], base: int) -> list[int]:
    """Give the characters that rule X9 takes out (embeddings, boundary neutrals) the level of what comes before."""
    from bidi.algorithm import X9_REMOVED

    out: list[int] = []
    rest = iter(found)
    for char in text:
        gone = unicodedata.bidirectional(char) in X9_REMOVED
        out.append((out[-1] if out else base) if gone else next(rest, base))
    return out


def scripts_along(text: str) -> list[str]:
    """Return the script of each character, spaces and signs taking that of the letters before (else after) them."""
    out = [script_of(c) for c in text]
    last = next((s for s in out if s[0] != "Z"), "Latn")
    for i, script in enumerate(out):
        if script[0] == "Z":
            out[i] = last
        else:
            last = script
    return out


@dataclass(frozen=True, slots=True)
class Item:
    """A stretch of text of one direction, one script and one owner (whatever the caller means by it)."""

    start: int
    end: int
    level: int
    script: str
    owner: int

    @property
    def right_to_left(self) -> bool:
        """Odd levels run from right to left."""
        return self.level % 2 == 1


def itemise(text: str, owners: Sequence[int]) -> list[Item]:
    """Split a line where direction, script or owner change; in the order in which it is read."""
    level, script = levels(text), scripts_along(text)
    items: list[Item] = []
    start = 0
    for i in range(1, len(text) + 1):
        if i == len(text) or (level[i], script[i], owners[i]) != (level[start], script[start], owners[start]):
            items.append(Item(start, i, level[start], script[start], owners[start]))
            start = i
    return items


def visual(items: Sequence[Item]) -> list[Item]:
    """Return items from left to right (annex 9, rule L2): from the highest level down, stretches are reversed."""
    out = list(items)
    if not out:
        return out
    for level in range(max(i.level for i in out), 0, -1):
        start = 0
        while start < len(out):
            end = start
            while end < len(out) and out[end].level >= level:
                end += 1
            out[start:end] = reversed(out[start:end])
            start = max(end, start + 1)
    return out


_BARE = {
    "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ð": "o", "Ð": "D", "ħ": "h", "Ħ": "H", "ŧ": "t", "Ŧ": "T", "ø": "o",
    "Ø": "O", "ı": "i", "ŀ": "l", "Ŀ": "L", "ŋ": "n", "Ŋ": "N", "æ": "a", "Æ": "A", "œ": "o", "Œ": "O", "ß": "b",
    "þ": "p", "Þ": "P", "ĸ": "k", "ȷ": "j",
}  # fmt: skip
"""Letters that Unicode does not decompose, and the letter whose left side is most like theirs (for kerning)."""


def bare_letter(cluster: str) -> str:
    """Return the letter under the marks of a cluster, '' if it is no letter."""
    base = unicodedata.normalize("NFD", cluster)[0]
    base = _BARE.get(base, base)
    return base if base.isalpha() else ""


_LANGUAGES = (("tr", frozenset("ıİğĞ")), ("sr", frozenset("ђћџљњјЂЋЏЉЊЈ")), ("ro", frozenset("țșȚȘ")))


def language_of(text: str) -> str | None:
    """Guess a language whose letters ask for special forms: in Turkish an f and an i must not merge their dot."""
    if text.isascii():
        return None
    return next((tag for tag, letters in _LANGUAGES if letters.intersection(text)), None)
