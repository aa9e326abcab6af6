"""Accents: where each sits, which letters show how a typeface draws it, and where else its strokes are found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Seat = Literal["above", "below", "tied", "tail", "horn", "apostrophe"]


@dataclass(frozen=True, slots=True)
class Accent:
    """A combining mark. name: for people. small, capitals: letters that carry it apart from their own strokes.

    spacing: the same mark as a character of its own, '' if none looks like it.
    """

    name: str
    seat: Seat
    small: str = ""
    capitals: str = ""
    spacing: str = ""


ACCENTS: Mapping[str, Accent] = {
    "\u0300": Accent("a grave accent", "above", "èàò", "ÈÀÒ", "`"),
    "\u0301": Accent("an acute accent", "above", "éáó", "ÉÁÓ", "´"),
    "\u0302": Accent("a circumflex", "above", "êâô", "ÊÂÔ", "ˆ"),
    "\u0303": Accent("a tilde", "above", "ñãõ", "ÑÃÕ", "˜"),
    "\u0304": Accent("a macron", "above", "ēāō", "ĒĀŌ", "¯"),
    "\u0306": Accent("a breve", "above", "ăŏğ", "ĂŎĞ", "˘"),
    "\u0307": Accent("a dot above", "above", "ėżċ", "İĖŻ", "˙"),
    "\u0308": Accent("a diaeresis", "above", "öëü", "ÖËÜ", "¨"),
    "\u0309": Accent("a hook above", "above", "ảẻỏ", "ẢẺỎ"),
    "\u030a": Accent("a ring", "above", "åů", "ÅŮ", "˚"),
    "\u030b": Accent("a double acute accent", "above", "őű", "ŐŰ", "˝"),
    "\u030c": Accent("a caron", "above", "ěčš", "ĚČŠ", "ˇ"),
    "\u030f": Accent("a double grave accent", "above"),
    "\u0311": Accent("an inverted breve", "above"),
    "\u0312": Accent("a turned comma above", "above"),
    "\u0313": Accent("a comma above", "above"),
    "\u0315": Accent("a comma beside it", "apostrophe"),
    "\u031b": Accent("a horn", "horn"),
    "\u0323": Accent("a dot below", "below", "ạẹọ", "ẠẸỌ"),
    "\u0324": Accent("a diaeresis below", "below"),
    "\u0326": Accent("a comma below", "below", "șț", "ȘȚ"),
    "\u0327": Accent("a cedilla", "tied", "", "", "¸"),
    "\u0328": Accent("an ogonek", "tail", "", "", "˛"),
    "\u032e": Accent("a breve below", "below"),
    "\u0331": Accent("a macron below", "below"),
}

EXCEPTIONS: Mapping[str, str] = {
    "ď": "d\u0315", "ľ": "l\u0315", "ť": "t\u0315", "Ľ": "L\u0315",
    "ģ": "g\u0312", "Ģ": "G\u0326", "ķ": "k\u0326", "Ķ": "K\u0326", "ļ": "l\u0326", "Ļ": "L\u0326",
    "ņ": "n\u0326", "Ņ": "N\u0326", "ŗ": "r\u0326", "Ŗ": "R\u0326",
}  # fmt: skip
"""Letters whose usual form differs from their decomposition: a caron that is an apostrophe, Latvian commas."""

SIDE_BY_SIDE = frozenset({("\u0302", "\u0300"), ("\u0302", "\u0301"), ("\u0302", "\u0309"),
                          ("\u0306", "\u0300"), ("\u0306", "\u0301"), ("\u0306", "\u0309")})  # fmt: skip
"""Pairs that Vietnamese sets beside each other, to keep the line low."""
