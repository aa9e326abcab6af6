"""Letters that came through a wrong encoding, as suggestions only: 'JosÃ©' was José, 'Bj√∂rn' was Björn."""

from __future__ import annotations

import re
import unicodedata

from engrave.intake.decoding import LOST_LETTER

_MAC_SIGNS = "√¬ƒ≈∆‚"
"""Signs that begin almost every wrongly read letter on that code page, and that hardly any buyer's words hold."""

_TYPED_AFTER_CAPITALS = "\u2018\u2019\u201c\u201d\u2013\u2014\u2026"
"""Signs that rightly follow a capital ('JOSÉ’S', 'CAFÉ…'): such a pair is two letters of the buyer's, not one torn."""

_ROUNDS = 2
"""A text may have gone through the wrong encoding twice; a third time has not been met."""


def mended(text: str) -> str:
    """Return what the text probably was before it was read in a wrong code page, '' if nothing suggests that."""
    if text.isascii():
        return ""
    now = text
    for _ in range(_ROUNDS):
        now = _mended_once(now) or now
    return now if now != text else ""


def _mended_once(text: str) -> str:
    for encoding in ("cp1252", "mac_roman"):
        if encoding == "mac_roman" and not any(c in text for c in _MAC_SIGNS):
            continue
        words = re.split(r"([ \n]+)", text)
        better = [_unread(word, encoding) or word for word in words]
        if better != words:
            return "".join(better)
    return ""


def _unread(word: str, encoding: str) -> str:
    """Return a word's bytes in `encoding` read as UTF-8, '' if they cannot be or if that makes it no better."""
    if word.isascii() or _is_two_letters(word):
        return ""
    try:
        found = b"".join(_byte(c, encoding) for c in word).decode("utf-8")
    except UnicodeError:
        return ""
    likely = all(unicodedata.category(c)[0] in "LMNPSZ" and unicodedata.category(c) != "Sk" for c in found)
    return found if likely and not _is_phonetic(found) else ""


def _byte(c: str, encoding: str) -> bytes:
    """Encode one character; Windows leaves five bytes of its page undefined and passes them through as they are."""
    try:
        return c.encode(encoding)
    except UnicodeEncodeError:
        if encoding == "cp1252" and ord(c) < 0x100:
            return bytes([ord(c)])
        raise


def _is_two_letters(word: str) -> bool:
    """Tell whether all that looks torn is a capital with a sign that was typed behind it."""
    torn = re.findall(r"(.?)([À-ÿ])([\u0080-\u00bf\u0152-\u2122])", word)
    return bool(torn) and all(
        lead not in "ÃÂâ" and lead.isupper() and trail in _TYPED_AFTER_CAPITALS and (not before or before.isupper())
        for before, lead, trail in torn
    )


def _is_phonetic(text: str) -> bool:
    """Tell whether a text holds letters of phonetic writing or accents alone, which no mended name does."""
    return any("\u0250" <= c <= "\u02af" or "\u0591" <= c <= "\u05af" for c in text)


_ENTITY = re.compile(r"&(?:#\d{1,7}|#[xX][0-9a-fA-F]{1,6}|[A-Za-z][A-Za-z0-9]{1,30});")
_TAG = re.compile(r"</?(?:br|p|b|i|u|em|strong|div|span|small|big|font|h[1-6]|li|ul)\b[^<>]*>", re.IGNORECASE)


def without_markup(text: str) -> str:
    """Return the text without a web page's marks ('&amp;', '<br>'), '' if it has none."""
    if not _ENTITY.search(text) and not _TAG.search(text):
        return ""
    broken = re.sub(r"<br\s*/?>|</p>\s*<p[^<>]*>", "\n", text, flags=re.IGNORECASE)
    from html import unescape  # knows thousands of names, and few cells have any

    plain = unescape(_TAG.sub("", broken))
    return plain.strip() if plain != text else ""


def without_false_apostrophe(text: str) -> str:
    """Return the text with accents that were typed for an apostrophe set right ('O´Neill'), '' if it has none."""
    plain = re.sub(r"(?<=[^\W\d_])[`´](?=[^\W\d_])", "\u2019", text)
    return plain if plain != text else ""


def has_lost_letters(text: str) -> bool:
    """Tell whether a letter of the text could not be read at all."""
    return LOST_LETTER in text or any(unicodedata.category(c) == "Cs" for c in text)


def mixed_alphabet(text: str) -> str:
    """Return the first word that mixes Latin letters with Greek or Cyrillic ones that look alike, '' if none does."""
    for word in re.findall(r"[^\W\d_]+", text):
        found = {alphabet for c in word if (alphabet := unicodedata.name(c, "").split(" ")[0]) in _ALIKE}
        if len(found) > 1:
            return str(word)
    return ""


_ALIKE = {"LATIN", "GREEK", "CYRILLIC"}
