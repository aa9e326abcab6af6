"""What a maker reads off a test piece stands before the built-in limits: the same row again has another limit and reason."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from cutting.workbench import lid, region_lettering, tool, wood
from promises import promised
from read_pdf import page_texts
from shapely import box

from engrave.cli import main
from engrave.cutting import KeptMeasures, check
from engrave.cutting.judge.wood_limits import wall_needed
from engrave.problems import Problem
from engrave.shop import load_shop
from engrave.shop.models import Recipe
from engrave.tasks import Tool
from engrave.testpiece.design import LINE_GAPS, depths_of, recipes_of, test_piece
from engrave.typefaces import load_shelf


def asked(*words: str, status: int = 0) -> str:
    done = CliRunner().invoke(main, list(words))
    assert done.exit_code == status, done.output
    return done.output


def row(cutter: str, wood_id: str, folder: Path, status: int) -> list[dict[str, str]]:
    """What is found of the wood of one and the same row."""
    words = ["try", "Willi Ritter", "--message", "with all our love", "--cutter", cutter, "--wood", wood_id, "--json"]
    told = json.loads(
        asked(*words, "--lid", "round-caddy", "--typeface", "noto-sans", "--shop", str(folder), status=status)
    )
    return [p for p in told["problems"] if p["code"] in ("web-too-thin", "web-under-depth")]


@promised("Every later check of that cutter in that wood uses them, and its findings say so.")
@pytest.mark.parametrize(
    ("cutter", "wood_id", "was", "wider", "so", "narrower", "left"),
    [
        ("co2-tube", "oak", "needs 0.72 mm or it is charred", "clean=0.9 clean_lines=0.5", "0.90 mm or it is charred", "clean=0.15", 0),
        ("co2-tube", "oak", "needs 0.72 mm or it is charred", "across=0.8 clean=0.3", "0.80 mm or it breaks out", "across=0.1 clean=0.1", 0),
        ("v60", "oak", "needs 1.12 mm at the surface", "wall_across=0.6", "0.60 mm at the surface", "wall_along=0.3 wall_across=0.3", 1),
        ("mill-05", "maple", "needs 0.60 mm or it breaks", "across=0.59", "0.59 mm or it breaks", "along=0.3 across=0.3", 1),
    ],
)  # fmt: skip
def test_made_recorded_and_the_same_row_again(
    tmp_path: Path, cutter: str, wood_id: str, was: str, wider: str, so: str, narrower: str, left: int
) -> None:
    pair = ["--cutter", cutter, "--wood", wood_id]
    asked("testpiece", *pair, "--svg", str(tmp_path / "piece.svg"), "--sheet", str(tmp_path / "piece.pdf"))
    (sheet,) = page_texts((tmp_path / "piece.pdf").read_bytes())
    assert all(f"{word.partition('=')[0]}=____" in sheet for word in wider.split())
    shop = tmp_path / "shop"
    shop.mkdir()
    (before,) = row(cutter, wood_id, shop, 1)
    assert was in before["says"]
    assert "test piece" not in before["says"]
    asked("testpiece", *pair, "--shop", str(shop), "--record", *wider.split())
    (now,) = row(cutter, wood_id, shop, 1)
    assert "as your test piece showed" in now["says"]
    assert so in now["says"]
    asked("testpiece", *pair, "--shop", str(shop), "--record", *narrower.split())
    assert row(cutter, wood_id, shop, left) == []


# --- what the figures mean -------------------------------------------------------------------------------------------


def found(of: Tool, gap: float, web: float = 0.9) -> dict[str, Problem]:
    """What is found of two strokes 3 mm wide with a gap between them, the grain along it."""
    letters = [("i", box(0, 0, 3, 10)), ("i", box(3 + gap, 0, 6 + gap, 10))]
    told = check(region_lettering(letters, 10.0), of, wood(web, web), replace(lid(), grain="y"), KeptMeasures(None))
    return {p.code: p for p in told.problems}


def measured(of: Tool, **figures: float) -> Tool:
    return replace(of, recipe=replace(of.recipe, **figures))


def v_bit() -> Tool:
    return replace(tool(12.0, "vee", "v-bit", 2.5, angle=60.0, tip=0.2), diameter=0.2)


@pytest.mark.parametrize("ringed", [0.2, 0.5])
def test_a_wall_is_ringed_at_the_surface_and_held_against_that(ringed: float) -> None:
    """60 degrees, 1.13 mm deep beside it: it breaks where it is twice as thick, there as on a lid that is cut deeper."""
    of = measured(v_bit(), wall_along=ringed, tested_depth=1.126)
    assert "web-too-thin" not in found(of, ringed + 0.005)
    assert found(of, ringed - 0.005)["web-too-thin"].limit == pytest.approx(ringed, abs=1e-3)


@pytest.mark.source("Gere, Mechanics of Materials, tapered cantilever: bending stress F z / (w + m z)^2, widths alike")
@pytest.mark.parametrize(
    ("wall", "tested", "depth"), [(0.3, 0.1, 2.4), (0.3, 0.1, 0.2), (0.5, 1.1, 2.4), (0.8, 0.3, 0.5)]
)
def test_beside_deeper_cuts_a_wall_is_as_strong_as_the_one_that_stood(wall: float, tested: float, depth: float) -> None:
    """By another way: the greatest bending over many depths."""
    slope = 2.0 * math.tan(math.radians(30.0))

    def bent(top: float, deep: float) -> float:
        z = np.linspace(1e-6, deep, 20_001)
        return float((z / (top + slope * z) ** 2).max())

    needed = wall_needed(wall, tested, slope, depth)
    assert needed >= wall
    assert bent(needed, depth) == pytest.approx(bent(wall, tested), rel=1e-4) or needed == wall
    assert bent(needed, depth) <= bent(wall, tested) * (1.0 + 1e-6)


def test_a_wall_ringed_beside_shallow_cuts_must_be_thicker_beside_deep_ones() -> None:
    of = measured(v_bit(), wall_along=0.3, tested_depth=0.1)
    limit = found(of, 0.29)["web-too-thin"].limit
    assert limit == pytest.approx((0.3 + 0.11547) ** 2 / (4 * 0.11547), abs=1e-3)
    assert "web-too-thin" not in found(measured(v_bit(), wall_along=0.3, tested_depth=2.0), 0.31)


def test_what_stood_along_the_grain_holds_though_only_across_it_a_wall_was_ringed() -> None:
    """The wall across made the 0.5 mm that was measured along to a figure of 0.25 mm, thicker below by the bit's slope."""
    alone = measured(v_bit(), web_along=0.5)
    both = measured(alone, wall_across=0.3, tested_depth=1.1)
    assert [found(of, 0.45)["web-too-thin"].limit for of in (alone, both)] == [0.5, 0.5]
    assert "web-too-thin" not in found(both, 0.51)


def test_a_wall_that_stood_stands_in_the_check_however_high_it_was() -> None:
    """Without a test piece a wall needs half its height: 0.5 mm at 1 mm. One of 0.3 mm stood so high; at 2 mm 0.6 is asked."""
    of = tool(0.8, "pocket", "end-mill", 1.0)
    assert "web-under-depth" in found(of, 0.4, web=0.2)
    tried = measured(of, web_along=0.3, tested_depth=1.0)
    assert not {"web-too-thin", "web-under-depth"} & found(tried, 0.31, web=0.2).keys()
    assert "web-too-thin" in found(tried, 0.29, web=0.2)
    deeper = found(measured(tool(0.8, "pocket", "end-mill", 2.0), web_along=0.3, tested_depth=1.0), 0.5, web=0.2)
    assert deeper["web-under-depth"].limit == pytest.approx(0.6)
    assert "as your test piece showed" in deeper["web-under-depth"].says
    old = measured(of, web_along=0.3)  # recorded before depths were kept
    assert "web-under-depth" in found(old, 0.31, web=0.2)


# --- what is kept, and what is drawn ---------------------------------------------------------------------------------


def recipes(folder: Path, cutter: str, wood_id: str) -> dict[str, Recipe]:
    return {r.method: r for r in recipes_of(load_shop(folder), cutter, wood_id)}


def test_each_figure_goes_to_the_methods_it_is_of(tmp_path: Path) -> None:
    asked(
        "testpiece",
        "--cutter",
        "co2-tube",
        "--wood",
        "oak",
        "--shop",
        str(tmp_path),
        "--record",
        "clean=0.4",
        "clean_lines=0.2",
    )
    by = recipes(tmp_path, "co2-tube", "oak")
    assert (by["raster"].web_clean, by["follow"].web_clean) == (0.4, 0.2)
    assert by["raster"].tested_depth == by["raster"].depth
    asked("testpiece", "--cutter", "v60", "--wood", "oak", "--shop", str(tmp_path), "--record", "wall_along=0.2")
    by = recipes(tmp_path, "v60", "oak")
    assert (by["vee"].wall_along, by["follow"].wall_along, by["follow"].tested_depth) == (0.2, None, 0.0)
    assert by["vee"].tested_depth == pytest.approx(min(by["vee"].depth, (1.5 - 0.2) / 1.1547), abs=1e-3)
    asked("testpiece", "--cutter", "co2-tube", "--wood", "ash", "--shop", str(tmp_path), "--record", "clean=0.3")
    assert {r.web_clean for r in recipes(tmp_path, "co2-tube", "ash").values()} == {0.3}


@pytest.mark.parametrize(
    ("cutter", "figure", "says"),
    [
        ("v60", "clean=0.2", "only a beam"),
        ("co2-tube", "wall_along=0.2", "V-cuts"),
        ("mill-1", "wall_across=0.2", "V-cuts"),
    ],
)
def test_a_figure_of_another_kind_of_cutter_is_refused(tmp_path: Path, cutter: str, figure: str, says: str) -> None:
    pair = ["--cutter", cutter, "--wood", "maple", "--shop", str(tmp_path)]
    assert says in asked("testpiece", *pair, "--record", figure, status=2)
    assert not list(tmp_path.iterdir())


def test_a_beams_piece_has_gaps_between_lines_and_a_bits_has_none() -> None:
    shop, shelf = load_shop(), load_shelf(None)
    for cutter in ("co2-tube", "diode-450"):
        piece = test_piece(shop, shelf, cutter, "maple")
        assert piece.line_gaps == LINE_GAPS[: len(piece.line_gaps)]
        assert len(piece.line_gaps) >= 5
        pairs = sorted(c.start[0] for c in piece.lines if c.start[1] == 45.2)
        gaps = [b - a - piece.groove for a, b in zip(pairs[::2], pairs[1::2], strict=True)]
        assert gaps == pytest.approx(piece.line_gaps)
    assert test_piece(shop, shelf, "v60", "maple").line_gaps == ()
    assert depths_of(shop.cutters["mill-1"], recipes_of(shop, "mill-1", "maple"))["pocket"] > 0.0


def test_a_cutter_that_is_like_another_has_not_its_test_piece(tmp_path: Path) -> None:
    asked("testpiece", "--cutter", "v60", "--wood", "oak", "--shop", str(tmp_path), "--record", "wall_along=0.2")
    (tmp_path / "cutters.toml").write_text('[mine]\nlike = "v60"\ntitle = "Mine"\n', "utf-8")
    vee = recipes(tmp_path, "mine", "oak")["vee"]
    assert (vee.wall_along, vee.tested_depth) == (None, 0.0)
