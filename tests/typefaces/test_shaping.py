"""Shaping against HarfBuzz run apart on the file, FreeType's advances and the font's own hmtx table."""

from __future__ import annotations

import freetype
import pytest
import uharfbuzz as hb
from bidi import get_display
from fontTools import unicodedata as scripts
from fontTools.ttLib import TTFont
from glyph_names import glyph_names
from hypothesis import given, settings
from hypothesis import strategies as st
from uniseg.graphemecluster import grapheme_clusters

from engrave.typefaces import Shelf
from engrave.typefaces.characters import clusters, itemise, levels, script_of, visual

PLAIN = ("noto-sans", "noto-sans-bold", "roboto-slab", "vollkorn", "gfs-didot", "dancing-script", "quicksand",
         "blankenburg", "linux-libertine")  # fmt: skip
WORDS = ("AVATAR", "To Lyon", "Wanda & Tatjana", "Office fjord", "Yvette, 1997", "quick-witted")


def _apart(file: str, text: str, script: str, direction: str) -> tuple[list[int], list[tuple[int, int, int]]]:
    """Shape words with HarfBuzz alone: glyph ids, and (advance, x offset, y offset) of each."""
    font = hb.Font(hb.Face(hb.Blob.from_file_path(file)))
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.script, buffer.direction, buffer.language = script, direction, "und"
    hb.shape(font, buffer, {"lnum": True} if "Vollkorn" in file else {})  # its figures are old-style unless asked
    places = [(p.x_advance, p.x_offset, p.y_offset) for p in buffer.glyph_positions]
    return [i.codepoint for i in buffer.glyph_infos], places


def _expected(shelf: Shelf, ident: str, text: str, script: str, direction: str) -> tuple[list[str], list[float], float]:
    """Names and places of the glyphs that draw something, and the advance, in cap heights."""
    source = shelf.get(ident).source
    file = str(shelf.facts(ident).files[0])
    font = hb.Font(hb.Face(hb.Blob.from_file_path(file)))
    ids, places = _apart(file, text, script, direction)
    names, xs, x = [], [], 0
    for gid, (advance, dx, _) in zip(ids, places, strict=True):
        extents = font.get_glyph_extents(gid)
        if extents is not None and (extents.width or extents.height):
            names.append(font.glyph_to_string(gid))
            xs.append((x + dx) / source.cap)
        x += advance
    return names, xs, x / source.cap


@pytest.mark.source("HarfBuzz, run apart on the font's file")
@pytest.mark.parametrize("ident", PLAIN)
@pytest.mark.parametrize("words", WORDS)
def test_latin_words_are_set_as_harfbuzz_sets_them(shelf: Shelf, ident: str, words: str) -> None:
    run = shelf.get(ident).shape(words)
    names, xs, advance = _expected(shelf, ident, words, "Latn", "ltr")
    assert not run.problems
    assert glyph_names(run) == names
    assert [p.x for p in run.placed] == pytest.approx(xs, abs=1e-6)
    assert run.advance == pytest.approx(advance, abs=1e-6)


@pytest.mark.source("HarfBuzz, run apart on the font's file")
@pytest.mark.parametrize(
    ("ident", "words", "script", "direction"),
    [
        ("noto-sans-hebrew", "שרה לוי", "Hebr", "rtl"),
        ("noto-sans-hebrew", "שָׂרָה", "Hebr", "rtl"),
        ("noto-naskh-arabic", "خالد", "Arab", "rtl"),
        ("noto-naskh-arabic", "مُحَمَّد الزهراء", "Arab", "rtl"),
        ("noto-sans-devanagari", "अनन्या शर्मा", "Deva", "ltr"),
        ("noto-sans-devanagari", "श्रीकृष्ण", "Deva", "ltr"),
        ("noto-sans", "Ελένη Παπαδοπούλου", "Grek", "ltr"),
        ("vollkorn", "Наталья Щербакова", "Cyrl", "ltr"),
    ],
)
def test_other_scripts_come_out_as_their_readers_expect(
    shelf: Shelf, ident: str, words: str, script: str, direction: str
) -> None:
    run = shelf.get(ident).shape(words)
    names, xs, advance = _expected(shelf, ident, words, script, direction)
    assert glyph_names(run) == names
    assert [p.x for p in run.placed] == pytest.approx(xs, abs=1e-6)
    assert run.advance == pytest.approx(advance, abs=1e-6)
    assert not run.problems


@pytest.mark.source("FreeType, and the font's hmtx table")
@pytest.mark.parametrize("ident", PLAIN)
def test_single_letters_are_as_wide_as_freetype_and_hmtx_say(shelf: Shelf, ident: str) -> None:
    """One letter at a time, so that no kerning comes between; FreeType reads the file on its own."""
    file = str(shelf.facts(ident).files[0])
    face, font, cap = freetype.Face(file), TTFont(file), shelf.get(ident).source.cap
    for char in "HanoijgQ&" + "7" * (ident != "vollkorn"):  # Vollkorn's 7 is another glyph, by a feature
        face.load_char(char, freetype.FT_LOAD_NO_SCALE | freetype.FT_LOAD_NO_HINTING)
        advance = shelf.get(ident).shape(char).advance * cap
        assert advance == pytest.approx(face.glyph.metrics.horiAdvance, abs=1e-6)
        assert advance == pytest.approx(font["hmtx"][font.getBestCmap()[ord(char)]][0], abs=1e-6)


@pytest.mark.parametrize("ident", ["noto-sans", "roboto-slab", "linux-libertine"])
def test_kerning_brings_letters_nearer_than_their_widths(shelf: Shelf, ident: str) -> None:
    typeface = shelf.get(ident)
    widths = sum(typeface.shape(c).advance for c in "AVATAR")
    assert typeface.shape("AVATAR").advance < 0.99 * widths


def test_no_line_ever_holds_the_glyph_for_a_missing_character(shelf: Shelf) -> None:
    for ident in shelf.ids:
        run = shelf.get(ident).shape("A字 Łōw ☃ ш Ω ﷺ א\u0301 क्ष 😀")
        assert not any(n in (".notdef", "missing-glyph") for n in glyph_names(run)), ident


def test_a_turkish_f_and_i_keep_the_dot(shelf: Shelf) -> None:
    merged, apart = (glyph_names(shelf.get("vollkorn").shape(w))[:4] for w in ("Afife", "Afife Ağrı"))
    assert len(glyph_names(shelf.get("vollkorn").shape("Afife"))) < len("Afife"), "elsewhere f and i are one form"
    assert [n.split(".")[0] for n in apart] == ["A", "f", "i", "f"]
    assert merged != apart


def test_tracking_is_added_between_letters_only_and_never_in_joined_ones(shelf: Shelf) -> None:
    plain, wide = (shelf.get("noto-sans").shape("Otto", t) for t in (0.0, 0.1))
    assert wide.advance == pytest.approx(plain.advance + 0.3, abs=1e-9)
    assert [b.x - a.x for a, b in zip(plain.placed, wide.placed, strict=True)] == pytest.approx([0, 0.1, 0.2, 0.3])
    for ident, words in (("dancing-script", "Otto"), ("noto-sans", "خالد"), ("noto-sans", "अनन्या")):
        assert shelf.get(ident).shape(words, 0.1).advance == shelf.get(ident).shape(words).advance
    assert len(shelf.get("vollkorn").shape("fi", 0.1).placed) == 2, "no ligature stands in a spaced word"


def test_each_glyph_knows_the_characters_it_draws(shelf: Shelf) -> None:
    run = shelf.get("noto-sans").shape("Łódź e\u0301")
    assert [(p.text, p.start) for p in run.placed] == [("Ł", 0), ("ó", 1), ("d", 2), ("ź", 3), ("e\u0301", 5)]
    run = shelf.get("vollkorn").shape("fine")
    assert run.placed[0].text == "fi" or [p.text for p in run.placed] == list("fine")
    run = shelf.get("noto-sans").shape("Max שרה")
    assert {p.text for p in run.placed} == set("Maxשרה")
    for p in run.placed:
        assert run.text[p.start : p.start + len(p.text)] == p.text


def test_equal_keys_mean_equal_paths(shelf: Shelf) -> None:
    glyphs: dict[str, object] = {}
    for ident in shelf.ids:
        for p in shelf.get(ident).shape("Anna Łódź Ağrı").placed:
            assert glyphs.setdefault(p.glyph.key, p.glyph.path) == p.glyph.path


LETTERS = st.text(st.sampled_from("abcXYZ אבגשל ابن 123 .,-&()'"), min_size=1, max_size=24)


@pytest.mark.source("Unicode annex 9, by unicode-bidi (Rust)")
@settings(max_examples=300, deadline=None)
@given(LETTERS)
def test_lines_of_both_directions_are_ordered_as_another_implementation_orders_them(text: str) -> None:
    """Unicode annex 9, against the Rust implementation `unicode-bidi` (which also mirrors brackets)."""
    order = []
    for item in visual(itemise(text, [0] * len(text))):
        chars = list(text[item.start : item.end])
        order += reversed(chars) if item.right_to_left else chars
    flat = str.maketrans("()", "||")
    assert "".join(order).translate(flat) == get_display(text).translate(flat)


@pytest.mark.source("Unicode annex 29, by uniseg")
@settings(max_examples=300, deadline=None)
@given(st.text(max_size=12))
def test_clusters_are_unicodes_own(text: str) -> None:
    """Unicode annex 29, extended grapheme clusters, against the tables of Unicode 16 in uniseg."""
    assert clusters(text) == (list(text) if text.isascii() else list(grapheme_clusters(text)))


@pytest.mark.source("Unicode annex 24, by fontTools")
def test_scripts_of_plain_letters_are_unicodes_own() -> None:
    """Unicode annex 24 by the tables in fontTools, which are not loaded for plain letters."""
    assert [script_of(chr(i)) for i in range(256)] == [scripts.script(chr(i)) for i in range(256)]


@given(st.text(max_size=20))
def test_every_character_has_a_level(text: str) -> None:
    assert len(levels(text)) == len(text)
