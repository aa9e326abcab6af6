"""OpenType features, by a typeface's table and by a row: against HarfBuzz run apart, figures and small capitals."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from shutil import copytree

import pytest
import uharfbuzz as hb
from glyph_names import glyph_names

from engrave.geometry.flattening import bounds
from engrave.intake.letter_features import features_of
from engrave.typefaces import Run, Shelf, TypefaceError, load_shelf
from engrave.typefaces.typeface_table import read_table

WORDS = "14 June 2011, 3 & 1/2"


def _apart(file: Path, words: str, features: dict[str, bool]) -> tuple[list[str], float]:
    """Glyph names and advance in font units, by HarfBuzz alone on the file as it came."""
    font = hb.Font(hb.Face(hb.Blob.from_file_path(str(file))))
    buffer = hb.Buffer()
    buffer.add_str(words)
    buffer.guess_segment_properties()
    hb.shape(font, buffer, features)
    names = [font.glyph_to_string(info.codepoint) for info in buffer.glyph_infos]
    return [n for n in names if n != "space"], float(sum(p.x_advance for p in buffer.glyph_positions))


CASES = [
    ("vollkorn", (), {"lnum": True}),
    ("vollkorn", ("onum",), {"onum": True, "lnum": False, "ss11": True}),
    ("vollkorn", ("lnum",), {"lnum": True}),
    ("vollkorn", ("smcp",), {"lnum": True, "smcp": True}),
    ("gfs-didot", (), {}),
    ("gfs-didot", ("onum",), {"onum": True, "lnum": False}),
    ("noto-sans", ("onum", "smcp"), {"onum": True, "smcp": True}),
    ("noto-sans", ("-liga",), {"liga": False}),
    ("linux-libertine", ("ss02", "zero"), {"ss02": True, "zero": True}),
]


@pytest.mark.source("HarfBuzz, run apart on the font's file")
@pytest.mark.parametrize(("ident", "asked", "features"), CASES)
def test_features_give_the_glyphs_that_harfbuzz_gives(
    shelf: Shelf, ident: str, asked: tuple[str, ...], features: dict[str, bool]
) -> None:
    """Independent: HarfBuzz called on the font file by itself, with the features written out."""
    run = shelf.get(ident, asked).shape(WORDS)
    names, advance = _apart(shelf.facts(ident).files[0], WORDS, features)
    assert glyph_names(run) == names
    assert run.advance == pytest.approx(advance / shelf.get(ident).source.cap, rel=1e-9)


def _tops(run: Run) -> list[float]:
    return [box[3] for p in run.placed if (box := bounds(p.glyph.path, 0.001))]


def test_figures_stand_as_high_as_capitals_unless_a_row_asks_otherwise(shelf: Shelf) -> None:
    standing = [i for i in shelf.ids if "lnum" in shelf.get(i).source.features and shelf.get(i).kind == "outline"]
    assert len(standing) >= 5
    for ident in (*standing, "withy"):
        assert min(_tops(shelf.get(ident).shape("10"))) > 0.9, ident
        if "onum" in shelf.get(ident).source.features:
            assert max(_tops(shelf.get(ident, ("onum",)).shape("10"))) < 0.8, ident


def test_an_old_style_one_is_no_capital_i(shelf: Shelf) -> None:
    """Vollkorn's own old-style 1 is a small I: serifs on both sides at its top. The one taken has its flag on the left."""
    (one,) = shelf.get("vollkorn", ("onum",)).shape("1").placed
    assert "onum" in one.glyph.key or "ss11" in one.glyph.key or one.glyph.key.split("/")[1] != "one"
    points = [p for c in one.glyph.path for s in c.segments for p in s]
    box = bounds(one.glyph.path, 0.001)
    assert box
    middle = (box[0] + box[2]) / 2
    right_at_top = max(x for x, y in points if y > 0.9 * box[3])
    assert right_at_top < middle + 0.3 * (box[2] - box[0])


@pytest.mark.parametrize("ident", ["withy", "hershey-sans", "ems-readability"])
def test_small_capitals_of_a_single_line_are_capitals_as_high_as_small_letters(shelf: Shelf, ident: str) -> None:
    plain, small = shelf.get(ident), shelf.get(ident, ("smcp",)).shape("Henry")
    assert small.problems == ()
    tall = _tops(small)
    assert tall[0] == pytest.approx(1.0, abs=0.03)
    assert tall[1:] == pytest.approx([1.06 * plain.x_height] * 4, rel=0.06)
    assert all(b.x > a.x for a, b in pairwise(small.placed))
    assert [len(p.glyph.path) for p in small.placed] == [len(p.glyph.path) for p in plain.shape("HENRY").placed]


def test_old_style_figures_of_withy_come_from_its_file(shelf: Shelf) -> None:
    assert glyph_names(shelf.get("withy", ("onum",)).shape("3 in 1")) == ["three.onum", "i", "n", "one.onum"]
    assert glyph_names(shelf.get("withy").shape("3 in 1")) == ["three", "i", "n", "one"]


def test_a_feature_that_is_not_there_is_said_and_changes_nothing(shelf: Shelf) -> None:
    run = shelf.get("quicksand", ("smcp",)).shape("Henry")
    assert [(p.code, p.level) for p in run.problems] == [("feature-missing", "note")]
    assert "small capitals" in run.problems[0].says
    assert glyph_names(run) == glyph_names(shelf.get("quicksand").shape("Henry"))


def test_a_shop_sets_features_in_its_typefaces_table(tmp_path: Path, shelf: Shelf) -> None:
    own = tmp_path / "typefaces" / "book"
    copytree(shelf.facts("vollkorn").files[0].parent, own)
    table = own / "typeface.toml"
    table.write_text(
        table.read_text("utf-8").replace('id = "vollkorn"', 'id = "book"\nfeatures = ["onum", "ss11"]'), "utf-8"
    )
    assert glyph_names(load_shelf(tmp_path).get("book").shape("14")) == glyph_names(
        shelf.get("vollkorn", ("onum",)).shape("14")
    )
    table.write_text(table.read_text("utf-8").replace('"ss11"]', '"old"]'), "utf-8")
    with pytest.raises(TypefaceError, match=r"features: found 'old'"):
        read_table(own, own=False)


@pytest.mark.parametrize(
    ("cell", "tags", "level"),
    [
        ("", "", "note"),
        ("old-style figures", "onum", "note"),
        ("Small Caps, lining figures", "smcp lnum", "note"),
        ("onum ss11", "onum ss11", "note"),
        ("no ligatures", "-liga", "note"),
        ("CV05", "cv05", "note"),
        ("knob on the left", "", "look"),
        ("bold please", "", "look"),
        ("ss1", "", "look"),
    ],
)
def test_a_row_asks_in_words_or_in_tags(cell: str, tags: str, level: str) -> None:
    read = features_of(cell)
    assert (read.value, read.level) == (tags, level)
    assert bool(read.says) == (level == "look")


def test_the_bar_of_allures_t_and_f_does_not_hang_over_the_next_letter(shelf: Shelf) -> None:
    """'To' read 'Tó': the bar ended in a hook above the o. Their files stay as they came; the table draws them anew."""
    for char in "TF":
        (letter,) = shelf.get("ems-allure").shape(char).placed
        points = [p for c in letter.glyph.path for s in c.segments for p in s]
        right = max(x for x, _ in points)
        assert [y for x, y in points if x > 0.8 * right and y < 0.9] == [], char
