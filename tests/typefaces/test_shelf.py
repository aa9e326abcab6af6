"""The shelf: ids, tables, licences, laziness, and what a shop drops into its own folder."""

from __future__ import annotations

import pickle
import re
import shutil
import time
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from typeface_facts import measured

from engrave.shop.places import own_folder
from engrave.typefaces import Shelf, TypefaceError, UnknownTypeface, load_shelf
from engrave.typefaces.typeface_table import digest, read_table

FOLDER = own_folder("fonts_open")


def test_about_twelve_outline_and_six_single_line_typefaces_are_at_hand(shelf: Shelf) -> None:
    kinds = list(shelf.kinds().values())
    assert kinds.count("outline") >= 12
    assert kinds.count("single-line") >= 6


def test_the_shelf_loads_without_opening_a_font() -> None:
    load_shelf()
    start = time.perf_counter()
    shelf = load_shelf()
    spent = time.perf_counter() - start
    assert all(shelf.get(i)._source is None for i in shelf.ids)
    assert spent < 0.2  # 8 ms when it was written; a busy machine is forgiven


def test_an_unknown_typeface_is_told_with_those_of_like_name(shelf: Shelf) -> None:
    with pytest.raises(UnknownTypeface, match="near it: noto-sans"):
        shelf.get("noto-san")


def test_a_shelf_travels_to_another_process(shelf: Shelf) -> None:
    again = pickle.loads(pickle.dumps(shelf))
    assert again.ids == shelf.ids
    one, two = (s.get("noto-sans").shape("Anna") for s in (shelf, again))
    assert one == two


@pytest.mark.parametrize("folder", sorted(p.parent.name for p in FOLDER.glob("*/typeface.toml")))
def test_every_typeface_has_its_licence_maker_source_and_files_as_they_came(folder: str) -> None:
    facts = read_table(FOLDER / folder)
    assert facts.id == folder
    assert facts.licence and facts.maker and facts.source and facts.version and facts.good_for
    texts = [p.read_text("utf-8") for p in (FOLDER / folder).glob("*.txt")]
    assert texts, "the licence text is missing"
    said = "\n".join(texts)
    if facts.licence == "OFL-1.1":
        assert "SIL OPEN FONT LICENSE Version 1.1" in said
        assert re.search(r"^Copyright .*(19|20)\d\d", said, re.MULTILINE), "the licence asks for its copyright line"
    if facts.licence == "Apache-2.0":
        assert re.search(r"^Copyright .*(19|20)\d\d", said, re.MULTILINE)
        assert "Apache License" in said and "Version 2.0, January 2004" in said
    if facts.digests:
        assert tuple(map(digest, facts.files)) == facts.digests, "a file was changed: the licences ask for a new name"
    if facts.reserved_name:
        assert facts.digests, "a reserved name forbids changing the file, so its digest must be kept"


def test_the_hershey_acknowledgement_travels_with_the_data() -> None:
    for folder in FOLDER.glob("hershey-*"):
        words = " ".join((folder / "ACKNOWLEDGEMENT.txt").read_text("utf-8").split())
        for needed in ("originally created by Dr. A. V. Hershey", "U. S. National Bureau of Standards", "James Hurt",
                       "Cognition, Inc.", "Billerica, MA 01821", "*EXCEPT* the format distributed by the U.S. NTIS"):  # fmt: skip
            assert needed in words


def test_companions_exist_and_are_of_the_same_kind(shelf: Shelf) -> None:
    for ident in shelf.ids:
        for other in shelf.facts(ident).companions:
            assert shelf.get(other).kind == shelf.get(ident).kind, (ident, other)


@pytest.mark.parametrize("ident", ["great-vibes", "roboto-slab", "hershey-sans", "noto-sans-devanagari"])
def test_measured_facts_are_those_that_the_command_makes(shelf: Shelf, ident: str) -> None:
    kept, now = shelf.facts(ident).measured, measured(shelf.get(ident))
    assert kept is not None
    for name in ("stroke", "web", "counter", "stem", "reads_from_mm"):
        a, b = getattr(kept, name), getattr(now, name)
        assert (a is None) == (b is None), name
        assert a is None or a == pytest.approx(b, abs=1e-3), name


@pytest.mark.source("Linux Libertine's Private dictionary, StdVW")
def test_a_measured_stem_is_the_one_that_the_font_publishes(shelf: Shelf) -> None:
    """Linux Libertine's own figure for its stems stands in the font (Type 2 Private dict, StdVW)."""
    facts = shelf.facts("linux-libertine")
    font = TTFont(facts.files[0])
    published = font["CFF "].cff.topDictIndex[0].Private.StdVW
    cap = shelf.get("linux-libertine").source.cap
    assert facts.measured is not None and facts.measured.stem is not None
    assert facts.measured.stem == pytest.approx(published / cap, rel=0.01)


@pytest.mark.source("OpenType specification, OS/2 sCapHeight")
@pytest.mark.parametrize("ident", ["noto-sans", "noto-sans-bold", "roboto-slab", "quicksand", "saira-stencil",
                                   "dancing-script", "gfs-didot"])  # fmt: skip
def test_cap_height_is_the_one_that_the_font_states(shelf: Shelf, ident: str) -> None:
    """OS/2 sCapHeight (OpenType specification); Great Vibes, Vollkorn and Blankenburg state one that is not their H."""
    font = TTFont(shelf.facts(ident).files[0])
    assert shelf.get(ident).source.cap == pytest.approx(font["OS/2"].sCapHeight, rel=0.005)


def test_a_shop_drops_its_own_fonts_and_they_are_used(tmp_path: Path) -> None:
    own = tmp_path / "typefaces"
    own.mkdir()
    shutil.copy(FOLDER / "quicksand" / "Quicksand-Medium.ttf", own / "Our House.ttf")
    shutil.copy(FOLDER / "ems-felix" / "EMSFelix.svg", own / "pen.svg")
    (own / "heart.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0L1 1"/></svg>')
    (own / "readme.txt").write_text("nothing")
    shelf = load_shelf(tmp_path)
    assert shelf.get("our-house").kind == "outline"
    assert shelf.get("pen").kind == "single-line"
    assert "heart" not in shelf.ids
    assert not shelf.notes
    assert shelf.get("our-house").shape("Ann").placed
    assert pickle.loads(pickle.dumps(shelf)).ids == shelf.ids


@pytest.mark.parametrize("as_folder", [True, False])
def test_no_typeface_is_called_what_our_ornaments_are(as_folder: bool, tmp_path: Path) -> None:
    """Its letters were taken for ornaments: no words, no lines."""
    own = tmp_path / "typefaces"
    own.mkdir()
    if as_folder:
        (own / "mine").mkdir()
        shutil.copy(FOLDER / "ems-felix" / "EMSFelix.svg", own / "mine" / "mine.svg")
        (own / "mine" / "typeface.toml").write_text('id = "ornament"\nfile = "mine.svg"\n')
    else:
        shutil.copy(FOLDER / "quicksand" / "Quicksand-Medium.ttf", own / "Ornament.ttf")
    shelf = load_shelf(tmp_path)
    assert "ornament" not in shelf.ids
    (note,) = shelf.notes
    assert "give the typeface another name" in note.says
    assert list(shelf.refused) == ["mine" if as_folder else "ornament"]


def test_a_shops_own_table_goes_over_ours(tmp_path: Path) -> None:
    own = tmp_path / "typefaces" / "withy"
    own.mkdir(parents=True)
    shutil.copy(FOLDER / "ems-felix" / "EMSFelix.svg", own / "mine.svg")
    (own / "typeface.toml").write_text('title = "Mine"\nfile = "mine.svg"\n')
    assert load_shelf(tmp_path).get("withy").title == "Mine"


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ('file = "x.ttf"', "x.ttf is not in the folder"),
        ("files = []", "found none"),
        ('file = "mine.svg"\ncolor = "red"', "color: no such key"),
        ('file = "mine.svg"\nkind = "bold"', "allowed are 'outline' and 'single-line'"),
        ('file = "mine.svg"\nreference_height = -3', "a height above 0"),
        ('file = "mine.svg"\njoined = "yes"', "a bool is needed"),
        ("file = ", "cannot be read"),
    ],
)
def test_a_mistake_in_a_table_names_file_key_found_and_allowed(tmp_path: Path, table: str, says: str) -> None:
    (tmp_path / "mine.svg").write_text("<svg/>")
    (tmp_path / "typeface.toml").write_text(table)
    with pytest.raises(TypefaceError, match=says) as caught:
        read_table(tmp_path)
    assert "typeface.toml" in str(caught.value)


def test_a_typeface_may_want_more_space_than_its_file_has(shelf: Shelf, tmp_path: Path) -> None:
    """EMS Felix stands close, for a pen: its table asks for more, and a shop's own table may as well."""
    felix = shelf.get("ems-felix")
    one, two = (p.x for p in felix.shape("nn").placed)
    assert two - one == pytest.approx(felix.shape("n").placed[0].glyph.advance + felix.facts.spacing)
    own = tmp_path / "typefaces" / "felix"
    shutil.copytree(felix.facts.files[0].parent, own)
    table = own / "typeface.toml"
    table.write_text(re.sub(r"^spacing = \S+", "spacing = 9", table.read_text("utf-8"), flags=re.M), encoding="utf-8")
    assert any("spacing" in note.says for note in load_shelf(tmp_path).notes)
