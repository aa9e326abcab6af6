"""Fonts that are refused, each with its reason; fonts are built here so that each has one fault."""

from __future__ import annotations

from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables.DefaultTable import DefaultTable

from engrave.shop.places import own_folder
from engrave.typefaces import TypefaceError, load_shelf
from engrave.typefaces.read import acceptance
from engrave.typefaces.read.acceptance import accept
from engrave.typefaces.read.accepted import Accepted


def _square(size: int) -> object:
    pen = TTGlyphPen(None)
    for k, point in enumerate([(0, 0), (0, size), (size, size), (size, 0)]):
        (pen.lineTo if k else pen.moveTo)(point)
    pen.closePath()
    return pen.glyph()


def _font(path: Path, fs_type: int = 0, extra: str = "", axes: bool = False) -> Path:
    built = FontBuilder(1000)
    built.setupGlyphOrder([".notdef", "H"])
    built.setupCharacterMap({72: "H"})
    built.setupGlyf({".notdef": _square(100), "H": _square(700)})
    built.setupHorizontalMetrics({".notdef": (500, 0), "H": (800, 50)})
    built.setupHorizontalHeader(ascent=800, descent=-200)
    built.setupNameTable({"familyName": "Built", "styleName": "Regular"})
    built.setupOS2(fsType=fs_type, sCapHeight=700)
    built.setupPost()
    if axes:
        built.setupFvar([("wght", 100, 400, 900, "Weight")], [
            {"location": {"wght": 700}, "stylename": "Bold"}, {"location": {"wght": 300}, "stylename": "Light"}])  # fmt: skip
        built.setupGvar({})
    if extra:
        table = DefaultTable(extra)
        table.data = b"\0" * 16
        built.font[extra] = table
    built.save(path)
    return path


@pytest.mark.parametrize("table", ["CBDT", "sbix", "COLR", "SVG "])
def test_colour_fonts_are_refused(tmp_path: Path, table: str) -> None:
    with pytest.raises(TypefaceError, match="colour font"):
        accept(_font(tmp_path / "a.ttf", extra=table))


@pytest.mark.source("OpenType specification, OS/2 fsType")
@pytest.mark.parametrize("bits", [0x0002, 0x0200, 0x0202])
def test_fonts_whose_maker_forbids_embedding_are_cut_with_a_note_and_go_into_no_page(tmp_path: Path, bits: int) -> None:
    """OpenType specification, OS/2 fsType: bit 1 restricted licence, bit 9 bitmap embedding only."""
    file = _font(tmp_path / "a.ttf", fs_type=bits)
    assert not accept(file).embeddable
    shelf = load_shelf(tmp_path)
    assert [(p.code, p.level) for p in shelf.notes] == [("typeface-not-embedded", "note")]
    assert not shelf.get("a").source.embeddable
    assert shelf.get("a").shape("H").placed


@pytest.mark.source("OpenType specification, OS/2 fsType")
@pytest.mark.parametrize("bits", [0x0000, 0x0004, 0x0008, 0x0100, 0x000C])
def test_fonts_that_may_be_embedded_are_accepted(tmp_path: Path, bits: int) -> None:
    file = _font(tmp_path / "a.ttf", fs_type=bits)
    assert accept(file).cap_height == 700
    assert accept(file).embeddable
    assert load_shelf(tmp_path).notes == ()


def test_a_variable_font_stands_at_its_default_with_a_note_or_at_the_instance_asked(tmp_path: Path) -> None:
    file = _font(tmp_path / "a.ttf", axes=True)
    assert "Bold, Light" in accept(file).note
    assert accept(file, "Bold").place == {"wght": 700}
    with pytest.raises(TypefaceError, match="allowed are Bold, Light"):
        accept(file, "Heavy")
    with pytest.raises(TypefaceError, match="no variable font"):
        accept(_font(tmp_path / "b.ttf"), "Bold")


def test_what_is_no_font_is_told_so(tmp_path: Path) -> None:
    (tmp_path / "a.ttf").write_bytes(b"hello")
    with pytest.raises(TypefaceError, match="not a font that can be read"):
        accept(tmp_path / "a.ttf")


def test_a_refused_font_is_a_note_on_the_shelf_and_the_rest_still_loads(tmp_path: Path) -> None:
    _font(tmp_path / "bad.ttf", extra="COLR")
    _font(tmp_path / "good.ttf")
    (tmp_path / "broken.svg").write_text("<svg><font>")
    shelf = load_shelf(tmp_path)
    assert "good" in shelf.ids and "bad" not in shelf.ids
    said = [p.says for p in shelf.notes]
    assert any("bad.ttf" in s and "colour font" in s for s in said)
    assert any("broken.svg" in s for s in said)
    assert all(p.code == "typeface-refused" for p in shelf.notes)


@pytest.mark.source("fontTools, the same font packed as WOFF and WOFF2 (W3C)")
@pytest.mark.parametrize("flavor", ["woff", "woff2"])
def test_web_fonts_give_the_same_letters(tmp_path: Path, flavor: str) -> None:
    source = own_folder("fonts_open") / "quicksand" / "Quicksand-Medium.ttf"
    font = TTFont(source)
    font.flavor = flavor
    font.save(tmp_path / f"quick.{flavor}")
    packed, plain = load_shelf(tmp_path).get("quick"), load_shelf().get("quicksand")
    one, two = (t.shape("AVA Quito") for t in (packed, plain))
    assert [p.glyph.path for p in one.placed] == [p.glyph.path for p in two.placed]
    assert one.advance == two.advance


@pytest.mark.source("OpenType specification, OS/2 fsType")
def test_a_font_that_may_be_embedded_whole_only_goes_into_no_page(tmp_path: Path) -> None:
    """Bit 8, no subsetting: a PDF holds the letters used only."""
    file = _font(tmp_path / "a.ttf", fs_type=0x0100)
    assert accept(file).embeddable and not accept(file).in_part
    shelf = load_shelf(tmp_path)
    assert shelf.notes == () and shelf.carried() == ()
    (tmp_path / "b").mkdir()
    assert len(load_shelf(_font(tmp_path / "b" / "b.ttf").parent).carried()) == 1


OURS = sorted(f for f in own_folder("fonts_open").glob("*/*") if f.suffix in (".ttf", ".otf", ".woff2"))


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ENGRAVE_CACHE", str(tmp_path / "kept"))
    return tmp_path / "kept" / "ready"


def _never(*_: object) -> Accepted:
    raise AssertionError("looked at again")


@pytest.mark.parametrize("file", OURS, ids=lambda f: f.stem)
def test_our_fonts_come_back_from_the_cache_as_they_were_found(
    file: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = accept(file)
    monkeypatch.setattr("engrave.typefaces.read.font_tables.looked_at", _never)
    assert accept(file) == found
    (kept,) = cache.iterdir()
    kept.write_bytes(kept.read_bytes().replace(b'"in_part":true', b'"in_part":false'))
    with pytest.raises(TypefaceError, match="looked at again"):
        accept(file)


@pytest.mark.parametrize("kept", [{"unpacked": "?"}, {"unpacked": ""}, [], None, 7])
def test_a_kept_font_that_is_none_is_as_good_as_none(
    kept: object, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = accept(OURS[0])
    monkeypatch.setattr("engrave.typefaces.read.acceptance.made_ready", lambda *_: kept)
    assert accept(OURS[0]) == found


def test_a_font_of_the_shop_is_looked_at_each_time(tmp_path: Path, cache: Path) -> None:
    own = tmp_path / "fonts_open" / "mine" / OURS[0].name
    own.parent.mkdir(parents=True)
    own.write_bytes(OURS[0].read_bytes())
    assert accept(own) == accept(OURS[0])
    assert [kept.stem for kept in cache.iterdir()] == [f"font-{OURS[0].parent.name}-{OURS[0].stem}"]
    assert all(Path(acceptance.__file__).with_name(name).is_file() for name in acceptance.LOOKED_AT_BY)
