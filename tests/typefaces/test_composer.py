"""Letters made of parts: marks clear of their letters, on the right side, in the middle."""

from __future__ import annotations

import math
import re
import unicodedata

import pytest
from shapely import LineString, unary_union

from engrave.geometry.flattening import flatten
from engrave.geometry.paths import Contour, polygon_path
from engrave.geometry.regions import region
from engrave.typefaces import Shelf, load_shelf
from engrave.typefaces.contours.outline_union import overlaps, stroked, united
from engrave.typefaces.contours.path_pen import PathPen
from engrave.typefaces.letter_form import LetterForm

WESTERN = [chr(c) for c in range(0xC0, 0x100) if c not in (0xD7, 0xF7)]
EXTENDED = [chr(c) for c in range(0x100, 0x180) if chr(c) not in "ĸŉŊŋſ"]
VIETNAMESE = [chr(c) for c in range(0x1EA0, 0x1EFA)] + list("ƠơƯư")
POOR = ("dancing-script", "blankenburg", "ems-nixish", "ems-readability", "ems-tech", "ems-felix", "ems-allure",
        "hershey-sans", "hershey-script")  # fmt: skip
"""Typefaces that have Latin-1 at most."""
UPPER = "\u0300\u0301\u0302\u0303\u0304\u0306\u0307\u0308\u0309\u030a\u030b\u030c"
LOWER = "\u0323\u0326\u0327\u0328"


def _ink(form: LetterForm, single: bool) -> object:
    if single:
        return unary_union([LineString(flatten(c, 0.002)) for c in form.path])
    return region(form.path, 0.002)


@pytest.mark.slow
@pytest.mark.parametrize("ident", POOR)
def test_every_name_in_a_latin_alphabet_can_be_set(shelf: Shelf, ident: str) -> None:
    typeface = shelf.get(ident)
    lacking = [c for c in [*WESTERN, *EXTENDED, *VIETNAMESE] if not (typeface.own(c) or typeface.composed(c))]
    assert set(lacking) <= set("ÞðþŦŧ"), "thorn and eth come from a companion"


@pytest.mark.parametrize("ident", POOR)
def test_marks_stand_clear_over_or_under_their_letter(shelf: Shelf, ident: str) -> None:
    typeface = shelf.get(ident)
    for char in [*EXTENDED, *VIETNAMESE]:
        spelling = unicodedata.normalize("NFD", char)
        way = None if typeface.own(char) else typeface.composed(char)
        base = typeface.source.form(spelling[0])
        if way is None or way.made is None or base is None or len(spelling) < 2 or spelling[0] in "ijgdtlLkKnNrRG":
            continue
        box, under = way.made.box, base.box
        assert box is not None and under is not None
        if set(spelling[1:]) & set(UPPER):
            assert box[3] > under[3] + 0.05, char
        if set(spelling[1:]) & set(LOWER) and under[1] > -0.1:  # a swash below the line may reach as low
            assert box[1] < under[1] - 0.03, char
        if set(spelling[1:]) <= set(UPPER):
            assert box[1] == pytest.approx(under[1], abs=1e-6), char
            ink, letter = _ink(way.made, typeface.kind == "single-line"), _ink(base, typeface.kind == "single-line")
            more = ink.difference(letter.buffer(0.004))
            assert more.bounds[1] > 0.6 * under[3], f"{char}: the mark hangs into the letter"


@pytest.mark.parametrize("ident", POOR)
def test_marks_stand_over_the_middle(shelf: Shelf, ident: str) -> None:
    typeface = shelf.get(ident)
    for char in "āēōūǎěčňšžőű":
        way = typeface.composed(char)
        base = typeface.source.form(unicodedata.normalize("NFD", char)[0])
        if typeface.own(char) or way is None or way.made is None or base is None or base.box is None:
            continue
        marks = [c for c in way.made.path if flatten(c, 0.01)[:, 1].min() > base.box[3] - 0.02]
        if not marks:
            continue
        xs = [x for c in marks for x in flatten(c, 0.01)[:, 0]]
        middle = (base.box[0] + base.box[2]) / 2
        assert abs((min(xs) + max(xs)) / 2 - middle) < 0.22, char  # a slanted hand's marks stand to the right


@pytest.mark.parametrize("char", ["ł", "Ł", "đ", "Đ", "ø", "Ø", "ħ"])
@pytest.mark.parametrize("ident", ["ems-nixish", "hershey-sans", "dancing-script", "blankenburg"])
def test_strokes_go_through_their_letters(shelf: Shelf, ident: str, char: str) -> None:
    typeface = shelf.get(ident)
    form = typeface.source.form(char)
    if form is None:
        way = typeface.composed(char)
        assert way is not None and way.made is not None
        form = way.made
    plain = typeface.source.form({"ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ø": "o", "Ø": "O", "ħ": "h"}[char])
    single = typeface.kind == "single-line"
    letter, whole = _ink(plain, single), _ink(form, single)
    more = whole.difference(letter.buffer(0.003))
    parts = [g for g in getattr(more, "geoms", [more]) if g.length > 0.02]
    assert len(parts) >= 2, "a bar shows on both sides of the stem"


@pytest.mark.parametrize("ident", POOR)
def test_an_accent_over_an_i_replaces_its_dot(shelf: Shelf, ident: str) -> None:
    typeface = shelf.get(ident)
    for char in "ĩīĵ":
        way = typeface.composed(char)
        if typeface.own(char) or way is None or way.made is None:
            continue
        dotted = typeface.source.form("i" if char != "ĵ" else "j")
        assert len(way.made.path) <= len(dotted.path) + 1, char


@pytest.mark.parametrize("ident", ["hershey-sans", "ems-tech"])
def test_curly_quotes_are_set_and_nothing_is_said_since_nothing_is_seen(shelf: Shelf, ident: str) -> None:
    for words in ("O’Neill", "Kaʻiulani", "Oʼahu", "‘Tom’", "„Max“", "1914–1918"):
        run = shelf.get(ident).shape(words)
        assert not run.problems
        assert {p.text for p in run.placed} == set(words)


def test_outlines_made_of_parts_are_united(shelf: Shelf) -> None:
    for ident in ("dancing-script", "blankenburg"):
        for char in "łąęşĐņơ":
            way = shelf.get(ident).composed(char)
            assert way is not None
            assert way.made is None or not overlaps(way.made.path), (ident, char)


@pytest.mark.parametrize("ident", ["noto-sans", "noto-sans-devanagari", "great-vibes", "vollkorn", "roboto-slab"])
def test_no_glyph_overlaps_itself_and_the_union_keeps_its_area(shelf: Shelf, ident: str) -> None:
    source = shelf.get(ident).source
    first = source.slices[0]
    for gid in range(1, first.face.glyph_count, 23):
        pen = PathPen(first.scale)
        first.font.draw_glyph_with_pen(gid, pen)
        raw, made = pen.path, first.drawn(gid)
        assert not overlaps(made) or len(made) > 2, gid  # a solid inside a counter, as in a registered sign
        rings = unary_union([p.buffer(0) for p in (region((c,), 0.001) for c in made)])
        assert rings.is_valid
        if not overlaps(raw):
            assert made == raw


def test_the_union_keeps_curves_and_area() -> None:
    """Two overlapping discs: area of a union in closed form, pi (1 + 1) less the lens."""
    k = 0.5522847498

    def disc(x: float) -> tuple[object, ...]:
        return (Contour((x + 1, 0), (((x + 1, k), (x + k, 1), (x, 1)), ((x - k, 1), (x - 1, k), (x - 1, 0)),
                                     ((x - 1, -k), (x - k, -1), (x, -1)), ((x + k, -1), (x + 1, -k), (x + 1, 0))), True),)  # fmt: skip

    whole = united((*disc(0.0), *disc(1.0)))
    lens = 2 * math.acos(0.5) - 0.5 * math.sqrt(3)
    assert len(whole) == 1
    assert any(len(s) > 1 for s in whole[0].segments)
    assert region(whole, 1e-5).area == pytest.approx(2 * math.pi - lens, rel=1e-3)


def test_a_pen_along_a_line_leaves_a_round_ended_bar() -> None:
    """Area in closed form: length times width, and a disc."""
    bar = stroked((polygon_path([(0, 0), (1, 0)], closed=False),), 0.1)
    assert region(bar, 1e-5).area == pytest.approx(0.1 + math.pi * 0.05**2, rel=2e-3)


PAIRS = [a + b for a in ("ễ", "ź", "ğ", "ạ", "Ł", "ő", "ť") for b in "abcdefghijklmnopqrstuvwxyz"]


@pytest.mark.parametrize("ident", sorted(i for i, kind in load_shelf().kinds().items() if kind == "outline"))
def test_a_made_letter_never_swallows_its_neighbour(shelf: Shelf, ident: str) -> None:
    """'Nguyễn' in Great Vibes once came out as 'Nguyễ': its stand-in e went into a ligature with the n."""
    face = shelf.get(ident)
    for pair in ["Nguyễn", *PAIRS]:
        for text in (pair, pair[::-1]):
            made = [p for p in face.shape(text).placed if re.search(r"/u[0-9A-F]{4,5}/", p.glyph.key)]
            assert all(len(p.text) == 1 for p in made), (text, [p.text for p in made])
            drawn = {p.start for p in face.shape(text).placed}
            assert made == [] or len(drawn) == len(text), text


def test_the_stroke_of_a_script_l_goes_through_its_stem(shelf: Shelf) -> None:
    """In Hershey Script it once lay along the flourish before the stem, and Łukasz read Lukasz."""
    letter, bar = shelf.get("hershey-script").shape("Ł").placed[0].glyph.path
    line, stroke = LineString(flatten(letter, 0.002)), LineString(flatten(bar, 0.002))
    assert stroke.buffer(0.04).intersection(line).geom_type == "LineString"  # the stem alone
