"""What buyers write where words to cut are asked for: the patterns that are about signs and numbers, or about notes.

Every list is common practice, no source: gathered from how people fill a box that must not stay empty. They are kept
narrow on purpose; a name that is caught for nothing costs a shop more trust than an instruction that a person sees on
the proof. In the patterns of this file a space stands for one space, and an apostrophe for a straight or curly one.
"""

from __future__ import annotations

import re
from functools import cache


def _any(*patterns: str) -> str:
    return "(?:" + "|".join(patterns).replace("'", "['\u2019]") + ")"


def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(text, re.IGNORECASE | re.DOTALL)


NOTHING_IN_CAPITALS = frozenset({"NA", "N.A", "NULL", "NIL", "NONE"})
"""Whole cells that say so in capitals only: Na, Null and Nil are names too, and Noné is one."""

ELSEWHERE_IN_CAPITALS = frozenset({"TBA", "T.B.A.", "t.b.a."})
"""Whole cells that promise words for later in capitals or with full stops only: Tba may be short for a name."""

NAMES_THAT_LOOK_EMPTY = frozenset(
    {"Nan", "Noné", "Non", "Sí", "Si", "Sim", "Ano", "Tak", "Nada", "True", "Tom", "Nic", "Sem", "Da"}
)
"""Whole cells that look like an empty answer but for a capital or an accent; 'Nan' is a grandmother."""

WITHOUT_LETTERS = re.compile(r"^[\s\-‐‑–—_.…·•,;:/\\|*?!'\"()\[\]{}<>^#+=~×✕✖✗✘❌☒☐☑✓✔]+$")
"""Cells of punctuation, of crosses and ticks alone; hearts, stars and other ornaments are words of their own."""

CONTACT = _pattern(
    _any(
        r"[\w.+-]+@[\w-]+\.\w{2,}",
        r"\bhttps?://\S+",
        r"\bwww\.[\w-]\S*",
        r"(?<![\w@.])[a-z0-9-]{2,}\.(?:com|net|org|info|io|co\.uk|de|fr|nl|es|eu|ch|at)(?:/\S*)?(?![\w.])",
    )
)
"""An e-mail address or a page of the net."""

PHONE = re.compile(r"(?<![\w/.,])(?:\+|00?)[\d][\d\s()-]{6,}\d(?![\w/.,])")


@cache
def wish() -> re.Pattern[str]:
    """Return the pattern of what one writes to somebody one is fond of: words for a lid or for a card, not for a shop."""
    return _pattern(
        r"\b"
        + _any(
            r"happy (?:birthday|anniversary|christmas|retirement|wedding|father|mother|new|\d+)",
            r"merry christmas|congratulations|congrats|with (?:all )?(?:my |our )?love|lots of love|all (?:our|my) love",
            r"best wishes|in loving memory|love from|get well|well done",
            r"to my (?:dear|darling|wife|husband|mum|dad|mother|father)",
            r"alles gute|herzlichen glückwunsch|frohe weihnachten|in liebe",
            r"joyeux (?:anniversaire|noël)|bon anniversaire|avec (?:tout )?(?:mon|notre) amour|félicitations",
            r"feliz (?:cumplea[ñn]os|navidad|aniversario)|felicidades|con (?:todo )?(?:mi )?(?:amor|cariño)",
            r"gefeliciteerd|van harte|fijne verjaardag|met liefde",
        )
        + r"\b"
    )


@cache
def to_cut() -> re.Pattern[str]:
    """Return the pattern of a remark that asks for words on the lid, or changes them."""
    return _pattern(
        _any(
            r"\b(?:engrav\w*|personali[sz]\w*|lettering|inscri\w+|carve|initials|should (?:say|read)|to say)\b",
            r"\b(?:spelled|spelt|spelling|instead of|on the lid)\b",
            r"\b(?:gravur\w*|gravier\w*|eingravier\w*|beschrift\w*|graver\w*|gravure|gegraveerd)\b",
            r"\b(?:grabar|grabado|inscripci[óo]n)\b",
            r"\b(?:please|bitte|merci de|por favor|graag)\b.*"
            r"\b(?:names?|text|words?|letters?|write|put|add|schreiben|[ée]crire|escribir|schrijven)\b",
            r"^\W*(?:name|text|message|nom|nombre|naam|line ?\d)\s*:",
        )
    )
