"""Characters that are made of others: which, how, and how to say so."""

from __future__ import annotations

from collections.abc import Mapping

SAME_FORM: Mapping[str, str] = {
    "\u00a0": " ", "\u2000": " ", "\u2001": " ", "\u2002": " ", "\u2003": " ", "\u2004": " ", "\u2005": " ",
    "\u2006": " ", "\u2007": " ", "\u2008": " ", "\u2009": " ", "\u200a": " ", "\u202f": " ", "\u205f": " ",
    "\u3000": " ", "\t": " ",
    "\u2010": "-", "\u2011": "-", "\u2212": "–", "\u2015": "—", "\u2043": "-",
    "\u02bc": "’", "\u02bb": "‘", "\u02b9": "'", "\u02c8": "'", "\u2032": "'", "\u2033": '"', "\u201b": "‘",
    "\u02bd": "‘", "\u055a": "’", "\u0387": "·", "\u2219": "·", "\u22c5": "·", "\u2027": "·", "\u037e": ";",
    "\u2044": "/", "\u2215": "/", "\u2236": ":", "\u212a": "K", "\u212b": "Å", "\u2126": "Ω", "\u00b5": "μ",
    "\u03bc": "µ",
}  # fmt: skip
"""Characters of the same form (Unicode names them confusable, or canonically equal): set silently, nothing is seen."""

SEVERAL: Mapping[str, str] = {
    "ĳ": "ij", "Ĳ": "IJ", "ŀ": "l·", "Ŀ": "L·", "ŉ": "’n", "…": "...", "‥": "..", "ﬁ": "fi", "ﬂ": "fl", "ﬀ": "ff",
    "ﬃ": "ffi", "ﬄ": "ffl", "ǆ": "dž", "ǅ": "Dž", "Ǆ": "DŽ", "ǉ": "lj", "ǈ": "Lj", "Ǉ": "LJ", "ǌ": "nj", "ǋ": "Nj",
    "Ǌ": "NJ", "№": "Nº",
}  # fmt: skip
"""Characters that are several letters side by side (Unicode compatibility decompositions)."""

TURNED_SIGNS: Mapping[str, str] = {"ə": "e", "ɐ": "a", "ʌ": "v"}
"""Letters that are another upside down."""

LINKED: Mapping[str, str] = {"œ": "oe", "Œ": "OE", "æ": "ae", "Æ": "AE"}
"""Single lines only: two letters that touch."""

HALF_SIGNS: Mapping[str, tuple[str, bool]] = {"‘": ("“", True), "’": ("”", True), "‹": ("«", True), "›": ("»", True)}
"""Signs that are one half of a double one."""

STRUCK: Mapping[str, str] = {
    "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "Ð": "D", "ħ": "h", "Ħ": "H", "ŧ": "t", "Ŧ": "T", "ø": "o", "Ø": "O",
}  # fmt: skip
"""Letters with a stroke through them, which Unicode does not decompose."""
