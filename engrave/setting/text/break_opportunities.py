"""Where a line of words may be broken, and what a break there would part.

Opportunities are those of the Unicode line breaking algorithm (annex 14), kept to spaces and to scripts written without
them: a name with a hyphen stays whole, and so does everything joined by a no-break space. What belongs together in
reading is told by its joint (see `joints`).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from engrave.setting.text.joined_words import JoinedWords
from engrave.setting.text.joint_data import bare_word, spoken_in
from engrave.setting.text.joints import Joint, joints_of

_PLAIN = re.compile(r"[A-Za-zÀ-ÖØ-öø-ɏ0-9]+(?:[ '’,.&-]+[A-Za-zÀ-ÖØ-öø-ɏ0-9&]+)*[.,]?")
"""Words for which the algorithm's answer, kept to blanks, is known: every blank (a test holds it against the library)."""

_AFTER_BLANKS = re.compile(r"[^ ]+ *")

END = Joint("stop")
"""The joint after the last word of a line: nothing follows."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a field's words that is never broken: text[start:end], blanks around it left out.

    joint: what ending a line with it would part. closes: the buyer breaks the line here. lone: an '&' or 'and' that may
    stand on a line of its own between two names. asked: inside a line of a field that the buyer broke by hand.
    """

    start: int
    end: int
    text: str
    joint: Joint
    closes: bool
    lone: bool = False
    asked: bool = False


@lru_cache(maxsize=1024)
def stretches(words: str) -> tuple[Stretch, ...]:
    """Return the stretches between which lines may be broken; a line feed is a break the buyer asked for."""
    language = spoken_in([bare_word(w) for w in words.split()])
    asked = "\n" in words.strip()
    out: list[Stretch] = []
    for start, line in _lines(words):
        found = list(_stretches(line))
        texts = [line[i:j] for i, j in found]
        unspaced = {k for k, (here, then) in enumerate(pairwise(found)) if here[1] == then[0]}
        between = (*joints_of(texts, language, unspaced), END)
        of = JoinedWords(texts, language, unspaced)
        last = len(found) - 1
        out += [
            Stretch(start + i, start + j, texts[k], between[k], k == last, _is_lone(of, between, k), asked and k < last)
            for k, (i, j) in enumerate(found)
        ]
    return tuple(out)


def _is_lone(of: JoinedWords, between: Sequence[Joint], k: int) -> bool:
    return of.is_lone(k) and between[k - 1].weight not in ("strong", "weak")


def _lines(words: str) -> Iterator[tuple[int, str]]:
    at = 0
    for line in words.split("\n"):
        yield at, line
        at += len(line) + 1


def _stretches(line: str) -> Iterator[tuple[int, int]]:
    """Yield (start, end) of stretches without their blanks."""
    at = start = 0
    for part in _opportunities(line):
        end = at + len(part)
        if end == len(line) or _breaks(line, end):
            bare = line[start:end].strip()
            if bare:
                first = start + line[start:end].index(bare)
                yield first, first + len(bare)
            start = end
        at = end


def _opportunities(line: str) -> Iterator[str]:
    """Yield the stretches between opportunities; words of plain letters need no more than their blanks."""
    if _PLAIN.fullmatch(line):
        yield from _AFTER_BLANKS.findall(line)
    else:
        from uniseg.linebreak import line_break_units  # large, and plain words do without

        yield from line_break_units(line)


def _breaks(line: str, at: int) -> bool:
    """Tell whether an opportunity is one of ours: after a blank, or between letters of a script without blanks."""
    before, after = line[at - 1], line[at]
    return (
        before in " \t\u200b\u3000"
        or (_unspaced(before) and _unspaced(after))
        or (before in "、。，" and _unspaced(after))
    )


def _unspaced(char: str) -> bool:
    return char in "ー、。" or unicodedata.name(char, "").startswith(("CJK UNIFIED", "HIRAGANA", "KATAKANA", "THAI"))
