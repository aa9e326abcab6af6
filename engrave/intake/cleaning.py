"""Words made safe to set, every change told: nothing that can be seen is altered without a word about it.

What goes: control characters, invisible characters, direction marks, spaces at the ends and in heaps. What stays:
no-break spaces, and zero-width joiners where a joining script needs them (Unicode Standard, sections 9.2, 12.1, 23.2).
Straight quotes become curly by the shop's own rule. Case and spelling are never touched.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass

from engrave.findings import FindingCode
from engrave.problems import Level


@dataclass(frozen=True, slots=True)
class Cleaned:
    """One thing that was altered in one field. quiet: a house rule, told once a week and not on every order."""

    code: FindingCode
    says: str
    level: Level = "note"
    quiet: bool = False


_BREAKS = re.compile("\r\n|[\r\v\f\x85\u2028\u2029]")
_OVERRIDES = "\u202d\u202e"
_JOINERS = "\u200c\u200d\u180e"
_KEPT_FORMAT = {"\u0600", "\u0601", "\u0602", "\u0603", "\u0604", "\u0605", "\u06dd", "\u070f", "\u08e2", "\U000110bd"}
"""Format characters that are drawn: number and year signs of Arabic and its neighbours."""

_JOINING = {
    "Arab", "Syrc", "Mong", "Nkoo", "Mand", "Phag", "Adlm", "Rohg",                                    # cursive
    "Deva", "Beng", "Guru", "Gujr", "Orya", "Taml", "Telu", "Knda", "Mlym", "Sinh", "Khmr", "Mymr", "Tibt", "Thai",
}  # fmt: skip
_PRESENTATION = {"\ufe0e", "\ufe0f"}
"""Variation selectors that only choose between a drawn and a coloured sign; those that choose a letter's form stay."""

_NAMES = {"\ufeff": "byte order mark", "\u00ad": "soft hyphen", "\ufe0f": "emoji selector", "\ufe0e": "text selector"}


_NOTHING_TO_DO = re.compile(r"[!#-&(-{}~]+(?: [!#-&(-{}~]+)*")
"""Plain ASCII words with single spaces and no quotes or bars: most cells of most tables, and none of the steps' work."""


def clean(text: str, curly_quotes: bool) -> tuple[str, tuple[Cleaned, ...]]:
    """Return words made safe and what was altered, in the order in which it was done."""
    if not text or _NOTHING_TO_DO.fullmatch(text):
        return text, ()
    steps: list[Callable[[str], tuple[str, list[Cleaned]]]] = [_breaks, _controls, _invisible, _composed, _spaces]
    if curly_quotes:
        steps.append(_quotes)
    changes: list[Cleaned] = []
    for step in steps:
        text, found = step(text)
        changes += found
    return text, tuple(changes)


def _breaks(text: str) -> tuple[str, list[Cleaned]]:
    text = _BREAKS.sub("\n", text)
    if "|" not in text:
        return text, []
    return text.replace("|", "\n"), [Cleaned("asked-break", "'|' read as a line break", quiet=True)]


def _controls(text: str) -> tuple[str, list[Cleaned]]:
    """Drop control characters (general category Cc) other than the line feed; a tab becomes a space."""
    tabless = text.replace("\t", " ")
    halves = "".join("\ufffd" if unicodedata.category(c) == "Cs" else c for c in tabless)
    kept = "".join(c for c in halves if c == "\n" or unicodedata.category(c) != "Cc")
    changes = [Cleaned("tab", "a tab made a space")] if tabless != text else []
    if kept != halves:
        left = set(kept)
        gone = sum(c not in left for c in halves)
        says = f"{gone} sign{'s' if gone > 1 else ''} that only computers read removed"
        if "\0" in halves:
            says += "; the file is damaged there, so compare the words with the order"
        changes.append(Cleaned("control-removed", says, "look" if "\0" in halves else "note"))
    return kept, changes


def _invisible(text: str) -> tuple[str, list[Cleaned]]:
    """Drop what cannot be seen (category Cf and the like), but joiners where they shape letters."""
    kept, gone = [], []
    for i, c in enumerate(text):
        if _is_invisible(c) and not (c in _JOINERS and _joiner_works(text, i)):
            gone.append(c)
        else:
            kept.append(c)
    if not gone:
        return text, []
    names = ", ".join(dict.fromkeys(_name(c) for c in gone))
    if any(c in _OVERRIDES for c in gone):
        says = f"a mark that turns the reading direction round was removed ({names}); check the order of the letters"
        return "".join(kept), [Cleaned("direction-removed", says, "look")]
    return "".join(kept), [Cleaned("invisible-removed", f"invisible characters removed ({names})")]


def _is_invisible(c: str) -> bool:
    return (unicodedata.category(c) == "Cf" and c not in _KEPT_FORMAT) or c in _PRESENTATION


def _name(c: str) -> str:
    return _NAMES.get(c, unicodedata.name(c, "a sign without a name").lower())


def _joiner_works(text: str, i: int) -> bool:
    """Tell whether a joiner stands where it changes the letters' shapes, or holds a sign of several parts together."""
    before = text[i - 1] if i else ""
    after = text[i + 1] if i + 1 < len(text) else ""
    if not before:
        return False
    if unicodedata.category(before) == "So" or before in _PRESENTATION or "\U0001f3fb" <= before <= "\U0001f3ff":
        return text[i] == "\u200d" and bool(after) and unicodedata.category(after) == "So"
    if not _joins(before):
        return False
    return _joins(after) or unicodedata.combining(before) == _VIRAMA


_VIRAMA = 9
"""Canonical combining class of the sign that takes a letter's vowel away; a joiner after it chooses the form."""


def _joins(c: str) -> bool:
    if not c or c.isascii() or unicodedata.category(c)[0] not in "LM":
        return False
    from fontTools.unicodedata import script  # large, and asked only beside invisible signs

    return script(c) in _JOINING or script(c) == "Zinh"


def _composed(text: str) -> tuple[str, list[Cleaned]]:
    """Compose letters and accents (NFC): the same to the eye, except for a few Chinese letters, which is told."""
    composed = unicodedata.normalize("NFC", text)
    variants = [c for c in text if "\uf900" <= c <= "\ufaff" or "\U0002f800" <= c <= "\U0002fa1f"]
    seen = [f"{c} by {unicodedata.normalize('NFC', c)}" for c in variants if unicodedata.normalize("NFC", c) != c]
    if not seen:
        return composed, []
    return composed, [Cleaned("variant-letter", f"replaced by its plain form: {', '.join(seen)}", "look")]


def _spaces(text: str) -> tuple[str, list[Cleaned]]:
    """Take spaces from the ends of lines, heaps of spaces to one, and lines without words away."""
    lines = [re.sub(" {2,}", " ", line).strip(" \u00a0\u3000\u202f") for line in text.split("\n")]
    tidy = "\n".join(line for line in lines if line)
    if tidy == text:
        return text, []
    if not tidy:
        return "", [Cleaned("spaces", "nothing but spaces")]
    what = []
    if re.search("  ", text.strip(" ")):
        what.append("several spaces made one")
    if "" in lines:
        what.append("empty lines left out")
    if any(line != line.strip(" \u00a0\u3000\u202f") for line in text.split("\n")):
        what.append("spaces at the ends left out")
    return tidy, [Cleaned("spaces", ", ".join(what))]


# --- quotes -----------------------------------------------------------------------------------------------------------

_OPENS_AFTER = set(" \n\u00a0\u202f([{/-–—\u2018\u201c¿¡")
_ELISIONS = re.compile(r"(?<!\w)'(?=(?:tis|twas|twere|til|till|cause|em|n|bout|round|s|t|k)\b|\d\ds?\b)", re.IGNORECASE)
"""Words that begin with an apostrophe ('tis, 'n', '90s; Dutch 's, 't): never an opening quote."""


def _quotes(text: str) -> tuple[str, list[Cleaned]]:
    """Make straight quotes curly; feet, inches, minutes and seconds behind a figure stay straight."""
    if "'" not in text and '"' not in text:
        return text, []
    out = _ELISIONS.sub("\u2019", text)
    out = _paired_quotes(out, '"', "\u201c", "\u201d")
    out = _paired_quotes(out, "'", "\u2018", "\u2019")
    if out == text:
        return text, []
    return out, [Cleaned("curly-quotes", "straight quotes made curly", quiet=True)]


_QUARTER = re.compile(r"[NSEWO]{1,2}(?!\w)", re.IGNORECASE)


def _is_bearing(text: str, i: int) -> bool:
    """Tell whether minutes or seconds of an angle end here with a quarter of the sky: 50°21'N."""
    return _QUARTER.match(text, i + 1) is not None and "°" in text[:i]


def _paired_quotes(text: str, straight: str, opening: str, closing: str) -> str:
    out: list[str] = []
    is_open = False
    for i, c in enumerate(text):
        before = out[-1] if out else " "
        after = text[i + 1] if i + 1 < len(text) else " "
        if c != straight:
            out.append(c)
        elif before in _OPENS_AFTER and after not in " \n":
            out.append(opening)
            is_open = True
        elif before.isdigit() and not is_open and (not after.isalpha() or _is_bearing(text, i)):
            out.append(c)
        else:
            out.append(closing)
            is_open = False
    return "".join(out)
