"""The test piece: true widths, on its scrap, in the normal form; its figures kept and used."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from pathlib import Path

import pytest
import shapely
import tomlkit
from click.testing import CliRunner
from read_pdf import page_texts
from shapely import box, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cli import main
from engrave.geometry.flattening import flatten
from engrave.geometry.regions import centre_lines, region
from engrave.making import environment
from engrave.output.sheets import test_piece_sheet, test_piece_svg
from engrave.output.svg import check_svg
from engrave.shop import ShopError, load_shop
from engrave.testpiece.design import BAR_LENGTH, PIECE_HEIGHT, PIECE_WIDTH, WIDTH_STEPS, TestPiece, circle, test_piece
from engrave.testpiece.record import with_figures
from engrave.typefaces import Shelf, load_shelf
from engrave.verbs import AskedWrong, record_figures, try_words

SHOP = load_shop()


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return load_shelf(None)


def made(shelf: Shelf, cutter: str, wood: str) -> TestPiece:
    return test_piece(SHOP, shelf, cutter, wood)


def test_every_pair_of_the_shop_fits_its_scrap_in_the_normal_form(shelf: Shelf) -> None:
    pairs = sorted({(r.cutter, r.wood) for r in SHOP.recipes if r.wood in ("maple", "oak", "walnut")})
    assert len(pairs) > 20
    for cutter, wood in pairs:
        piece = made(shelf, cutter, wood)
        assert check_svg(test_piece_svg(piece)) == ()
        lines = centre_lines(piece.lines).buffer(piece.groove / 2)
        every = union_all([lines, *(region(shape) for shape in piece.shapes)])
        assert box(0, 0, PIECE_WIDTH, PIECE_HEIGHT).contains(every), (cutter, wood)


def runs_of(drawn: BaseGeometry, upright: bool, at: tuple[float, float]) -> list[float]:
    """Lengths cut and left in turn along a line through the middle of a row."""
    x, y = at
    ray = (
        [(x, y + BAR_LENGTH / 2), (x + 37, y + BAR_LENGTH / 2)]
        if upright
        else [(x + BAR_LENGTH / 2, y), (x + BAR_LENGTH / 2, y + 37)]
    )
    crossed = shapely.LineString(ray).intersection(drawn)
    k = 0 if upright else 1
    ends = sorted(
        (min(c[k] for c in g.coords), max(c[k] for c in g.coords)) for g in getattr(crossed, "geoms", [crossed])
    )
    flat = [v for e in ends for v in e]
    return [b - a for a, b in zip(flat, flat[1:], strict=False)]


@pytest.mark.parametrize("upright", [True, False])
def test_bars_are_as_wide_as_the_sheet_says(shelf: Shelf, upright: bool) -> None:
    piece = made(shelf, "v60", "maple")
    drawn = union_all([region(s) for s in piece.shapes])
    runs = runs_of(drawn, upright, (2.0, 3.0) if upright else (3.0, 15.0))
    assert piece.bars == WIDTH_STEPS[3:]  # its tip is 0.2 mm wide
    assert runs[::2][: len(piece.bars)] == pytest.approx(piece.bars)


@pytest.mark.parametrize(
    ("cutter", "upright", "mark"),
    [("v60", True, 0.0), ("v60", False, 0.0), ("diode-450", True, 0.12), ("diode-450", False, 0.18)],
)
def test_gaps_leave_the_wood_that_the_sheet_says(shelf: Shelf, cutter: str, upright: bool, mark: float) -> None:
    """A beam's mark takes its width from each gap, by its direction: drawn wider by that, the gap stands."""
    piece = made(shelf, cutter, "maple")
    drawn = union_all([region(s) for s in piece.shapes])
    runs = runs_of(drawn, upright, (40.5, 3.0) if upright else (17.0, 15.0))
    gaps = [g - mark for g in runs[1::2]][: len(piece.gaps)]
    assert gaps == pytest.approx(piece.gaps, abs=1e-6)


def test_gaps_between_grooves_of_a_cutter_that_only_follows_lines(shelf: Shelf) -> None:
    piece = made(shelf, "half-round-20", "maple")
    assert not piece.shapes
    drawn = centre_lines(piece.lines).buffer(piece.groove / 2, quad_segs=32)
    runs = runs_of(drawn, True, (40.5, 3.0))
    assert runs[1::4][: len(WIDTH_STEPS)] == pytest.approx(WIDTH_STEPS, abs=0.002)
    assert runs[0::2] == pytest.approx([piece.groove] * len(runs[0::2]), abs=0.002)


WIDE = """[wide]
like = "{like}"
title = "Wide"
diameter = {diameter}
"""
WIDE_RECIPES = """[wide-letters]
like = "{like}-letters"
cutter = "wide"
depth = {depth}
[wide-lines]
like = "{like}-lines"
cutter = "wide"
"""


@pytest.mark.parametrize(
    ("like", "diameter", "depth"),
    [("mill-2", d, 1.0) for d in (3, 4, 6, 8, 12)] + [("ball-2", 6, 1.0), ("ball-2", 12, 2.0)],
)
def test_a_wide_bit_has_bars_that_it_can_cut_on_the_same_scrap(
    tmp_path: Path, shelf: Shelf, like: str, diameter: float, depth: float
) -> None:
    (tmp_path / "cutters.toml").write_text(WIDE.format(like=like, diameter=diameter), encoding="utf-8")
    (tmp_path / "recipes.toml").write_text(WIDE_RECIPES.format(like=like, depth=depth), encoding="utf-8")
    shop = load_shop(tmp_path)
    piece = test_piece(shop, shelf, "wide", "maple")
    filled = union_all([region(shape) for shape in piece.shapes])
    assert box(0, 0, PIECE_WIDTH, PIECE_HEIGHT).contains(filled)
    assert box(0, 0, PIECE_WIDTH, PIECE_HEIGHT).contains(centre_lines(piece.labels).buffer(0.2))
    assert len(piece.bars) >= 1
    assert len(piece.gaps) >= 1
    recipe = next(r for r in shop.recipes if (r.cutter, r.wood, r.method) == ("wide", "maple", "pocket"))
    assert min(piece.bars) == pytest.approx(shop.cutters["wide"].groove_at(depth, recipe))
    runs = runs_of(filled, True, (2.0, 3.0))
    assert runs[::2][: len(piece.bars)] == pytest.approx(piece.bars)


@pytest.mark.parametrize(
    ("cutter", "on_wood"), [("v60", True), ("co2-tube", True), ("mill-08", False), ("mill-2", False), ("ball-1", False)]
)
def test_labels_that_a_bit_is_too_wide_to_write_stand_on_the_sheet(shelf: Shelf, cutter: str, on_wood: bool) -> None:
    piece = made(shelf, cutter, "maple")
    svg, sheet = test_piece_svg(piece), read(test_piece_sheet(piece, load_shop()))
    assert piece.labels
    assert svg.count("<path") == len(piece.shapes) + len(piece.lines) + (len(piece.labels) if on_wood else 0)
    assert ("too wide to write" in sheet) != on_wood
    assert ("The labels come last" in sheet) == on_wood


def test_figures_that_are_cut_stand_apart(shelf: Shelf) -> None:
    """Those of a ball nose of 1 mm, which writes 0.6 mm wide, once ran into one another."""
    for cutter in sorted({r.cutter for r in SHOP.recipes if r.wood == "maple"}):
        piece = made(shelf, cutter, "maple")
        fine, cut = (
            len(union_all([centre_lines([line]).buffer(wide / 2) for line in piece.labels]).geoms)
            for wide in (0.02, piece.label_groove)
        )
        assert not piece.labels_cut or fine - cut <= 2, cutter  # letters of one word may meet


def read(sheet: bytes) -> str:
    """Return the words of a sheet of one page, as another reader finds them."""
    (page,) = page_texts(sheet)
    return " ".join(page.split())


def test_circles_are_round() -> None:
    ring = flatten(circle((3.0, 4.0), 2.0), 1e-5)
    away = shapely.distance(shapely.Point(3, 4), shapely.points(ring))
    assert away == pytest.approx(2.0, rel=3e-4)


def test_the_sheet_names_the_command_and_only_a_beam_has_a_mark(shelf: Shelf) -> None:
    beam, bit = (read(test_piece_sheet(made(shelf, c, "maple"), load_shop())) for c in ("co2-tube", "v60"))
    asked = "--cutter co2-tube --wood maple --shop FOLDER --record along=____ across=____ stroke=____ clean=____ clean_lines=____ mark=____"
    assert asked in beam
    assert "mark=" not in bit and "clean" not in bit
    assert "--record wall_along=____ wall_across=____ stroke=____" in bit
    assert "manual, local rules" in bit


def test_written_at_the_command_line(tmp_path: Path) -> None:
    svg, sheet = tmp_path / "piece.svg", tmp_path / "piece.pdf"
    asked = ["testpiece", "--cutter", "v60", "--wood", "oak", "--svg", str(svg), "--sheet", str(sheet)]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    first = svg.read_bytes(), sheet.read_bytes()
    assert check_svg(first[0].decode()) == ()
    CliRunner().invoke(main, asked)
    assert first == (svg.read_bytes(), sheet.read_bytes())


@pytest.mark.parametrize(
    ("cutter", "wood", "says"),
    [("v61", "oak", "v61"), ("v60", "balsa", "balsa"), ("mill-05", "oak", "no recipe for mill-05 in oak")],
)
def test_a_pair_that_the_shop_has_not(tmp_path: Path, cutter: str, wood: str, says: str) -> None:
    done = CliRunner().invoke(main, ["testpiece", "--cutter", cutter, "--wood", wood, "--svg", str(tmp_path / "x.svg")])
    assert done.exit_code == 2
    assert says in done.output
    assert not list(tmp_path.iterdir())


# --- figures kept ----------------------------------------------------------------------------------------------------


def record(folder: Path, *figures: str, cutter: str = "co2-tube", wood: str = "oak") -> str:
    asked = ["testpiece", "--cutter", cutter, "--wood", wood, "--shop", str(folder), "--json", "--record", *figures]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    return done.output


def test_figures_are_kept_for_the_pair_and_used_by_the_check(tmp_path: Path) -> None:
    """By our table this web is too thin for oak; the shop's own test piece says that it holds."""
    words = {"lid": "round-caddy", "typeface": "noto-sans", "cutter": "co2-tube", "wood": "oak"}
    before = try_words("Willi Ritter", message="with all our love", **words).entries[0].piece
    assert [p.code for p in before.problems if p.level == "hold"] == ["web-too-thin"]
    told = json.loads(record(tmp_path, "along=0.1", "across=0.15", "mark_x=0.2", "mark_y=0.16", "stroke=0.3"))
    assert told["kept"] is None
    own = load_shop(tmp_path)
    for recipe in own.recipes:
        mine = (recipe.cutter, recipe.wood) == ("co2-tube", "oak")
        figures = (recipe.web_along, recipe.web_across, recipe.mark_x, recipe.mark_y, recipe.least_stroke)
        assert figures == ((0.1, 0.15, 0.2, 0.16, 0.3) if mine else (None,) * 5)
    after = try_words("Willi Ritter", message="with all our love", env=environment(tmp_path), **words).entries[0].piece
    assert not [p for p in after.problems if p.level == "hold"]


OWN = """# Our recipes.
[our-lines]                       # slower in oak
cutter = "co2-tube"
method = "follow"
woods = ["oak", "ash"]
feed_mm_min = 1800   # since spring
by_wood.ash = { feed_mm_min = 1700 }

[our-rows]
cutter = "co2-tube"
method = "raster"
woods = ["oak"]
row_pitch = 0.12
"""


def test_comments_stay_and_the_old_table_is_kept(tmp_path: Path) -> None:
    table = tmp_path / "recipes.toml"
    table.write_text(OWN, encoding="utf-8")
    kept = Path(json.loads(record(tmp_path, "across=1/32 in"))["kept"])
    assert kept.read_text(encoding="utf-8") == OWN
    now = table.read_text(encoding="utf-8")
    for line in OWN.splitlines():
        assert line in now
    by = {(r.wood, r.method): r for r in load_shop(tmp_path).recipes if r.cutter == "co2-tube"}
    assert by["oak", "follow"].web_across == by["oak", "raster"].web_across == pytest.approx(0.79375)
    assert by["ash", "follow"].web_across is None
    assert by["oak", "follow"].feed == 30.0
    assert by["oak", "raster"].row_pitch == 0.12
    again = Path(json.loads(record(tmp_path, "across=0.7"))["kept"])
    assert (kept.name, again.name) == ("recipes.toml", "recipes-2.toml")
    assert kept.parent == again.parent == tmp_path / "earlier" / kept.parent.name
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", kept.parent.name)
    assert {r.web_across for r in load_shop(tmp_path).recipes if (r.cutter, r.wood) == ("co2-tube", "oak")} == {0.7}


LIKE = {
    "like ours": """[mine]
like = "co2-lines"
woods = ["oak", "ash"]
feed_mm_min = 1800
""",
    "ours, changed": """[co2-lines]
feed_mm_min = 1800
""",
    "like its own": """[base]
cutter = "co2-tube"
method = "follow"
woods = ["ash"]
feed_mm_min = 1800
by_wood.ash = { power = "70 %" }
[mine]
like = "base"
woods = ["oak"]
""",
}


@pytest.mark.parametrize("own", LIKE.values(), ids=LIKE)
def test_a_recipe_that_takes_its_cutter_and_woods_from_another(tmp_path: Path, own: str) -> None:
    """The figures go into that entry, for this wood alone; what it took over stays."""
    (tmp_path / "recipes.toml").write_text(own, encoding="utf-8")
    record(tmp_path, "across=0.7", wood="ash")
    by = {(r.wood, r.method): r for r in load_shop(tmp_path).recipes if r.cutter == "co2-tube"}
    assert [by["ash", method].web_across for method in ("follow", "raster")] == [0.7, 0.7]
    assert {r.web_across for (wood, _), r in by.items() if wood != "ash"} == {None}
    assert by["oak", "follow"].feed == by["ash", "follow"].feed == 30.0
    record(tmp_path, "across=0.8", wood="oak")
    by = {(r.wood, r.method): r for r in load_shop(tmp_path).recipes if r.cutter == "co2-tube"}
    assert [by[wood, "follow"].web_across for wood in ("ash", "oak")] == [0.7, 0.8]
    assert (tmp_path / "recipes.toml").read_text(encoding="utf-8").startswith(own.splitlines()[0])


def test_an_entry_for_all_woods_is_changed_for_one() -> None:
    text = with_figures('[a]\ncutter = "v60"\nmethod = "vee"\nwoods = "all"\n', "v60", "oak", ["vee"], {"along": 0.5})
    assert tomlkit.parse(text).unwrap()["a"]["by_wood"] == {"oak": {"web_along": 0.5}}


@pytest.mark.parametrize(
    ("figures", "says"),
    [
        (["depth=3"], "no figure of a test piece"),
        (["along"], "not a length"),
        (["along=thin"], "not a length"),
        (["mark=0.2"], "only a beam"),
    ],
)
def test_what_is_no_figure_changes_nothing(tmp_path: Path, figures: list[str], says: str) -> None:
    with pytest.raises(AskedWrong, match=says):
        record_figures("v60", "oak", figures, tmp_path)
    assert not list(tmp_path.iterdir())


def test_a_figure_that_the_table_does_not_bear_leaves_the_old_one(tmp_path: Path) -> None:
    with pytest.raises(ShopError):
        record_figures("v60", "oak", ["along=40"], tmp_path)
    assert not (tmp_path / "recipes.toml").exists()
    (tmp_path / "recipes.toml").write_text(OWN, encoding="utf-8")
    with pytest.raises(ShopError):
        record_figures("co2-tube", "oak", ["along=0"], tmp_path)
    assert (tmp_path / "recipes.toml").read_text(encoding="utf-8") == OWN


def test_the_circles_are_of_the_stated_radii_and_stand_apart(shelf: Shelf) -> None:
    """Each two radii wide and 2 mm from the next, but for the smallest, which this groove would fill."""
    piece = test_piece(load_shop(), shelf, "v30", "maple")
    rings = [c for c in piece.lines if c.closed]
    boxes = [shapely.LineString(flatten(c, 1e-4)).bounds for c in rings]
    assert [(x1 - x0) / 2.0 for x0, _, x1, _ in boxes] == pytest.approx([1.0, 1.5, 2.2], abs=1e-2)
    assert all(right[0] - left[2] == pytest.approx(2.0, abs=2e-2) for left, right in pairwise(boxes))
