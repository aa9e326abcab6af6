"""Single-line fonts mended: nothing drawn twice, ends that meet, true heights, chords become curves within the error."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, unary_union
from svgpathtools import parse_path

from engrave.geometry.flattening import flatten
from engrave.geometry.paths import Contour, polygon_path
from engrave.typefaces import Shelf, TypefaceError
from engrave.typefaces.contours.mend import ENDS_MEET, joined_ends, mended_lines, undoubled
from engrave.typefaces.contours.refit import FIT, SAG, refitted
from engrave.typefaces.read.line_font import read_line_font

SINGLE = (
    "ems-allure",
    "ems-felix",
    "ems-nixish",
    "ems-readability",
    "ems-tech",
    "hershey-sans",
    "hershey-script",
    "withy",
)
"""Hershey's script is drawn in two near lines where a pen would press: those are meant, so it is left out below."""
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789&ÄÖÜßéñçŞğ"


def _lines(path: tuple[Contour, ...]) -> list[LineString]:
    return [LineString(flatten(c, 0.0005)) for c in path]


def _drawn_twice(lines: list[LineString]) -> float:
    """Length that runs within 0.004 cap heights of another line, from the area that narrow strips share."""
    half = 0.002
    strips = unary_union([line.buffer(half, cap_style="flat") for line in lines])
    return float(sum(line.length for line in lines) - strips.area / (2 * half))


@pytest.mark.parametrize("ident", [i for i in SINGLE if i != "hershey-script"])
def test_no_letter_is_drawn_twice(shelf: Shelf, ident: str) -> None:
    """Crossings and sharp corners share a little; 0.1 cap heights is the length of the shortest serif."""
    source = shelf.get(ident).source
    over = {c: round(d, 3) for c in LETTERS if (f := source.form(c)) and (d := _drawn_twice(_lines(f.path))) > 0.1}
    assert not over


def test_the_files_do_draw_letters_twice(shelf: Shelf) -> None:
    """So that the test above cannot pass for want of anything to find."""
    source = shelf.get("ems-nixish").source
    raw = source._font.path("H", source.scale, source._base)
    assert _drawn_twice(_lines(raw)) > 0.2


@pytest.mark.parametrize("ident", SINGLE)
def test_ends_that_meet_are_joined(shelf: Shelf, ident: str) -> None:
    for char in LETTERS:
        form = shelf.get(ident).source.form(char)
        if form is None:
            continue
        ends = [p for c in form.path if not c.closed for p in (c.start, c.end)]
        loose = [(a, b) for k, a in enumerate(ends) for b in ends[k + 1 :] if 0 < math.dist(a, b) < ENDS_MEET / 3]
        assert not loose, (char, loose)


@pytest.mark.parametrize("ident", [i for i in SINGLE if i != "withy"])
def test_curves_keep_within_the_stated_error_of_the_points_given(shelf: Shelf, ident: str) -> None:
    """Every point of the file lies within 0.02 mm of a letter 10 mm high, and near points within what makes them one."""
    source = shelf.get(ident).source
    for char in "SOaegdBR&283":
        form = source.form(char)
        drawn = unary_union(_lines(form.path))
        for contour in source._font.path(char, source.scale, source._base):
            for p in (contour.start, *(s[-1] for s in contour.segments)):
                # 0.01: a line stored twice is dropped when it runs this near; 0.002: the fit
                assert drawn.distance(Point(p)) <= 0.01 + FIT, (char, p)


@pytest.mark.parametrize("ident", ["ems-readability", "hershey-sans", "ems-felix"])
def test_rounds_become_curves_and_points_fewer(shelf: Shelf, ident: str) -> None:
    source = shelf.get(ident).source
    before = after = curves = 0
    for char in "OSCGaegodbpq":
        form = source.form(char)
        before += sum(len(c.segments) for c in source._font.path(char))
        after += sum(len(c.segments) for c in form.path)
        curves += sum(len(s) == 3 for c in form.path for s in c.segments)
    assert after < 0.75 * before
    assert curves > 0.6 * after


@pytest.mark.parametrize("ident", ["ems-readability", "ems-nixish", "hershey-sans", "withy", "ems-tech", "ems-felix"])
def test_capitals_are_one_high_and_stand_on_the_line(shelf: Shelf, ident: str) -> None:
    typeface = shelf.get(ident)
    box = typeface.source.form("H").box
    assert box[3] == pytest.approx(1.0, abs=0.005)
    assert box[1] == pytest.approx(0.0, abs=0.03)
    assert typeface.source.form("x").box[3] == pytest.approx(typeface.x_height, abs=0.005)
    assert 0.4 < typeface.x_height < 0.8


@pytest.mark.source("ISO 3098-1, lettering type B")
def test_the_standard_proportions_of_our_own_typeface(shelf: Shelf) -> None:
    """ISO 3098-1, lettering type B: small letters are 7/10 of the capitals."""
    assert shelf.get("withy").x_height == pytest.approx(0.7, rel=0.02)


@pytest.mark.source("svgpathtools, lengths of paths")
def test_paths_are_read_as_another_reader_reads_them(shelf: Shelf) -> None:
    """Lengths against svgpathtools."""
    for ident in ("withy", "ems-nixish"):
        font = read_line_font(shelf.facts(ident).files[0])
        for char in "Bsg&8":
            ours = sum(LineString(flatten(c, 0.01)).length for c in font.path(char))
            assert ours == pytest.approx(parse_path(font.data[char]).length(), rel=1e-3)


def test_kerning_of_the_file_is_used(shelf: Shelf) -> None:
    withy = shelf.get("withy")
    assert withy.shape("AV").advance < withy.shape("A").advance + withy.shape("V").advance
    accented = withy.shape("ÁV").advance - withy.shape("Á").advance - withy.shape("V").advance
    assert accented < 0


def test_a_retraced_stem_is_drawn_once() -> None:
    lines = undoubled([[(0.0, 0.0), (0.0, 1.0), (0.0, 0.4), (0.5, 0.4)]])
    assert sum(LineString(line).length for line in lines) == pytest.approx(1.5)
    assert unary_union([LineString(line) for line in lines]).length == pytest.approx(1.5)


def test_strokes_join_where_they_run_on_straightest() -> None:
    cross = [((0.0, 0.0), (1.0, 0.0)), ((1.0, 0.0), (2.0, 0.0)), ((1.0, 0.0), (1.0, 1.0))]
    out = joined_ends(tuple(polygon_path(points, closed=False) for points in cross))
    assert len(out) == 2
    assert max(len(c.segments) for c in out) == 2
    assert {out[0].start, out[0].end} == {(0.0, 0.0), (2.0, 0.0)}


def test_a_square_stays_a_square_and_a_zigzag_keeps_its_corners() -> None:
    square = polygon_path([(0, 0), (0.5, 0), (0.5, 0.5), (0, 0.5)])
    assert refitted(square).segments == square.segments or all(len(s) == 1 for s in refitted(square).segments)
    zigzag = polygon_path([(0, 0), (0.2, 0.9), (0.4, 0), (0.6, 0.9)], closed=False)
    assert refitted(zigzag) == zigzag


@settings(max_examples=60, deadline=None)
@given(st.integers(8, 40), st.floats(0.08, 0.5), st.floats(0, 6.28), st.floats(0.5, 6.2))
def test_arcs_given_by_chords_come_back_as_arcs(points: int, radius: float, start: float, sweep: float) -> None:
    """Closed form: points of a circle; the fitted curve must keep to the circle better than its chords do."""
    angles = [start + sweep * k / (points - 1) for k in range(points)]
    chords = polygon_path([(radius * math.cos(a), radius * math.sin(a)) for a in angles], closed=False)
    step = sweep / (points - 1)
    sag, length = radius * (1 - math.cos(step / 2)), 2 * radius * math.sin(step / 2)
    if sag > SAG or length > 0.25 or length < 0.004 or step > math.radians(50):
        return
    off = [abs(math.hypot(*p) - radius) for p in flatten(refitted(chords), 1e-5)]
    assert max(off) <= max(FIT, 0.35 * sag) + 1e-4


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 10), st.integers(0, 10)), min_size=2, max_size=12))
def test_mending_keeps_every_place_that_was_drawn(points: list[tuple[int, int]]) -> None:
    given_line = [(x / 10, y / 10) for k, (x, y) in enumerate(points) if k == 0 or (x, y) != points[k - 1]]
    if len(given_line) < 2:
        return
    path = mended_lines((polygon_path(given_line, closed=False),), chords=False)
    drawn, before = unary_union(_lines(path)), LineString(given_line)
    assert before.hausdorff_distance(drawn) < 0.02
    assert sum(line.length for line in _lines(path)) <= before.length + 1e-9


def test_what_is_no_single_line_font_is_told_so(tmp_path: Path) -> None:
    file = tmp_path / "a.svg"
    for text, says in (
        ("<svg/>", "holds no <font>"),
        ("<svg", "cannot|read"),
        ("<svg><font/></svg>", "no glyph with a path"),
    ):
        file.write_text(text)
        with pytest.raises(TypefaceError, match=says):
            read_line_font(file)


def test_an_arc_of_eight_points_that_a_single_cubic_cannot_keep_is_parted() -> None:
    """Once 0.0023 cap off the circle between its points, each of which was within 0.002."""
    radius = 0.0859375
    angles = [0.5 * k for k in range(8)]
    chords = polygon_path([(radius * math.cos(a), radius * math.sin(a)) for a in angles], closed=False)
    off = [abs(math.hypot(*p) - radius) for p in flatten(refitted(chords), 1e-5)]
    assert max(off) <= FIT
