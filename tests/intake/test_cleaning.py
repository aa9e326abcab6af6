"""Words made safe: what goes, what stays, and that every change is told."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from intake_tables import SHOP, codes, typed

from engrave.intake import words_typed
from engrave.intake.cleaning import clean

ZWNJ, ZWJ = "\u200c", "\u200d"


@pytest.mark.parametrize(
    ("received", "safe", "code"),
    [
        ("Anna\tBen", "Anna Ben", "tab"),
        ("An\x07na", "Anna", "control-removed"),
        ("An\x00na", "Anna", "control-removed"),
        ("An\u200bna", "Anna", "invisible-removed"),
        ("\ufeffAnna", "Anna", "invisible-removed"),
        ("An\u00adna", "Anna", "invisible-removed"),
        ("Anna\u200f", "Anna", "invisible-removed"),
        ("\u2067Anna\u2069", "Anna", "invisible-removed"),
        ("❤\ufe0f", "❤", "invisible-removed"),
        (f"An{ZWJ}na", "Anna", "invisible-removed"),
        (f"An{ZWNJ}na", "Anna", "invisible-removed"),
        ("\u202eannA\u202c", "annA", "direction-removed"),
        ("  Anna ", "Anna", "spaces"),
        ("Anna   Ben", "Anna Ben", "spaces"),
        ("Anna\n\n\nBen", "Anna\nBen", "spaces"),
        ("\u00a0Anna", "Anna", "spaces"),
        ("\uf900", "\u8c48", "variant-letter"),
    ],
)
def test_what_is_removed_is_told_on_the_row(received: str, safe: str, code: str) -> None:
    order = typed(received)
    assert order.words.name == safe
    assert order.received.name == received
    assert code in codes(order)
    assert order.changes


@pytest.mark.parametrize(
    "words",
    [
        f"نمی{ZWNJ}خواهم",  # Persian: the joiner keeps two letters apart (Unicode Standard 9.2)
        f"क्{ZWJ}ष",  # Devanagari: half form asked for (Unicode Standard 12.1)
        f"ශ්{ZWJ}රී",  # Sinhala: every Sri Lanka is written with it
        f"ക്{ZWJ}",  # Malayalam: an old chillu ends in a joiner
        f"র{ZWJ}্য",  # Bengali: ya-phalaa after ra
        "José\u00a0María", "M.\u202fDupont", "Zoë", "Kahoʻokele", "अनन्या", "שָׂרָה", "愛\u3000心", "👩\u200d🚀", "١٢\u06dd",
    ],
)  # fmt: skip
def test_what_is_part_of_the_words_stays(words: str) -> None:
    order = typed(words)
    assert order.words.name == unicodedata.normalize("NFC", words)
    assert order.changes == ()
    assert order.problems == ()


@pytest.mark.parametrize(
    "asked", ["Anna|Ben", "Anna\nBen", "Anna\r\nBen", "Anna\rBen", "Anna \u2028 Ben", "Anna | Ben"]
)
def test_a_break_is_a_break_however_it_is_asked_for(asked: str) -> None:
    assert typed(asked).words.name == "Anna\nBen"


def test_composing_is_no_change_to_the_eye() -> None:
    order = typed("Zoe\u0308")
    assert (order.words.name, order.changes, order.problems) == ("Zoë", (), ())


@pytest.mark.parametrize(
    ("straight", "curly"),
    [
        ("O'Neill", "O’Neill"), ("the \"best\" box", "the “best” box"), ("'Anna' says", "‘Anna’ says"), ("rock 'n' roll", "rock ’n’ roll"),
        ("class of '98", "class of ’98"), ("'tis the season", "’tis the season"), ("5'3\" tall", "5'3\" tall"), ("Jonas' box", "Jonas’ box"),
        ("(\"Anna\")", "(“Anna”)"), ("Anna\n\"Ben\"", "Anna\n“Ben”"), ("\"'Tis he,\" she said", "“’Tis he,” she said"),
        ("\"the '90s\"", "“the ’90s”"), ("'s-Hertogenbosch", "’s-Hertogenbosch"), ("L'été", "L’été"), ("O’Neill", "O’Neill"),
        ("the \"best of 12\"", "the “best of 12”"), ("50°21'N 4°08'30\"W", "50°21'N 4°08'30\"W"), ("the '21'ers", "the ’21’ers"),
    ],
)  # fmt: skip
def test_straight_quotes_are_made_curly_by_the_house_rule(straight: str, curly: str) -> None:
    order = typed(straight)
    assert order.words.name == curly
    assert "curly-quotes" not in codes(order)
    assert bool(order.changes) == (straight != curly)
    plain = words_typed(straight, "", "", SHOP.__class__(**{**fields(), "curly_quotes": False}))
    assert plain.words.name == straight


def fields() -> dict[str, object]:
    return {name: getattr(SHOP, name) for name in SHOP.__slots__}


LETTERS = st.text(st.characters(categories=["L", "M", "N", "P", "S", "Zs"], exclude_characters="|"), max_size=30)


@given(LETTERS, st.booleans())
def test_cleaning_twice_changes_nothing_more(words: str, curly: bool) -> None:
    once, _ = clean(words, curly)
    assert clean(once, curly)[0] == once


@pytest.mark.source("W3C, XML 1.0, section 2.2: characters")
@given(st.text(max_size=40), st.booleans())
def test_whatever_comes_in_what_goes_out_can_be_set_and_written(words: str, curly: bool) -> None:
    """XML 1.0 (section 2.2) allows no control characters but tab and line ends: none may be left."""
    safe, changes = clean(words, curly)
    kinds = {unicodedata.category(c) for c in safe if c != "\n"}
    assert not kinds & {"Cc", "Cs"}
    assert safe == unicodedata.normalize("NFC", safe)
    assert not any(line != line.strip(" ") or not line for line in safe.split("\n")) or safe == ""
    ends = words.replace("|", "\n")
    unchanged = unicodedata.normalize("NFC", ends)
    assert changes or safe == unchanged or any(c in ends for c in "\r\v\f\x85\u2028\u2029")


@given(LETTERS)
def test_no_visible_letter_is_ever_lost(words: str) -> None:
    """Everything but spaces and the few signs that choose a presentation comes out, in order, composed."""

    def visible(text: str) -> list[str]:
        plain = unicodedata.normalize("NFC", text)
        return [c for c in plain if not c.isspace() and c not in "\ufe0e\ufe0f" and unicodedata.category(c) != "Cf"]

    assert visible(clean(words, False)[0]) == visible(words)
