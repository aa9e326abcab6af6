"""Our own tables against handbooks and rules of the trade."""

from __future__ import annotations

import colorsys
import re
from itertools import pairwise
from pathlib import Path

import pytest

from engrave.shop import Shop, load_shop
from engrave.shop.cautions import FIRST, FULL_LIST, TITLES, as_markdown
from engrave.shop.cutters import BallNose, EndMill
from engrave.shop.places import own_folder


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


@pytest.mark.source("USDA Wood Handbook, table 5-3 (some figures from memory, told beside them)")
@pytest.mark.parametrize(
    ("wood", "gravity", "lbf", "newtons"),
    [
        ("walnut", 0.55, 1010, 4500),
        ("cherry", 0.50, 950, 4200),
        ("maple", 0.63, 1450, 6400),
        ("oak", 0.63, 1290, 5700),
        ("white-oak", 0.68, 1360, 6000),
        ("ash", 0.60, 1320, 5900),
        ("beech", 0.64, 1300, 5800),
        ("birch", 0.62, 1260, 5600),
        ("alder", 0.41, 590, 2600),
        ("basswood", 0.37, 410, 1800),
        ("mahogany", 0.45, 800, 3600),
        ("pine", 0.35, 380, 1700),
        ("western-redcedar", 0.32, 350, 1600),
        ("eastern-redcedar", 0.47, 900, 4000),
    ],
)
def test_hardness_and_gravity(shop: Shop, wood: str, gravity: float, lbf: float, newtons: float) -> None:
    # USDA Wood Handbook, table 5-3 (inch-pound and metric), as quoted by others; metric figures are rounded to 100 N.
    # Basswood and the gravities of mahogany, pine and eastern redcedar: from memory.
    found = shop.woods[wood]
    assert found.gravity == gravity
    assert found.janka_n == pytest.approx(lbf * 4.44822, rel=1e-5)
    assert found.janka_n == pytest.approx(newtons, abs=60)


@pytest.mark.source("Hoadley, Identifying Wood: ring-porous woods")
def test_pores_follow_the_wood(shop: Shop) -> None:
    # Hoadley, Identifying Wood: oaks and ash ring-porous, conifers without pores.
    assert {w.id for w in shop.woods.values() if w.pores == "ring"} == {"oak", "white-oak", "ash"}
    for wood in shop.woods.values():
        assert wood.softwood == (wood.pores == "none")
        assert wood.web_along < wood.web_across, "wood splits along its grain: a wall across it must be thicker"


@pytest.mark.source("UK HSE, list of toxic woods; ACGIH, western redcedar")
def test_sensitising_woods_say_so(shop: Shop) -> None:
    # UK HSE, list of toxic woods; ACGIH: western redcedar 0.5 mg/m3, other woods 1.
    assert "asthma" in shop.woods["western-redcedar"].caution
    assert all("sensitise" in shop.woods[w].caution for w in ("walnut", "mahogany"))
    assert all("nasal cancer" in shop.woods[w].caution for w in ("oak", "white-oak", "beech"))
    assert all(w.caution for w in shop.woods.values())


def test_colours_are_those_of_wood(shop: Shop) -> None:
    for wood in shop.woods.values():
        face = colorsys.rgb_to_hls(*(int(wood.colour[i : i + 2], 16) / 255 for i in (1, 3, 5)))
        burn = colorsys.rgb_to_hls(*(int(wood.burn[i : i + 2], 16) / 255 for i in (1, 3, 5)))
        assert 0.02 < face[0] < 0.14, f"{wood.id}: hue between red-brown and straw"
        assert face[2] < 0.65, f"{wood.id}: no pure colour"
        assert face[1] - burn[1] > 0.18, f"{wood.id}: a mark must show"


def test_greatest_depths_of_v_bits(shop: Shop) -> None:
    # Common practice, no source: 1.5, 2.5 and 3.0 mm for 30, 60 and 90 degrees.
    assert [shop.cutters[c].deepest for c in ("v30", "v60", "v90")] == [1.5, 2.5, 3.0]


def test_recipes_stay_within_their_cutters(shop: Shop) -> None:
    for recipe in shop.recipes:
        cutter, machine = shop.cutters[recipe.cutter], shop.machines[shop.cutters[recipe.cutter].machine]
        assert recipe.method in cutter.methods
        assert recipe.feed <= machine.vmax[0]
        assert recipe.pass_depth <= recipe.depth
        if cutter.is_beam:
            assert recipe.depth <= 0.5
        else:
            assert recipe.depth <= min(d for d in (cutter.deepest, cutter.flute) if d is not None)
            assert recipe.plunge < recipe.feed
        if recipe.method == "pocket":
            assert 0 < recipe.step_over <= 0.5 * cutter.groove_at(recipe.depth)
        if recipe.method == "raster":
            assert recipe.row_pitch <= max(cutter.kerf_x, cutter.kerf_y)


@pytest.mark.source("v^2 / 2a, any textbook of mechanics")
def test_run_out_reaches_speed(shop: Shop) -> None:
    # v^2 / 2a, any mechanics text.
    for recipe in shop.recipes:
        if recipe.method == "raster":
            reach = recipe.feed**2 / (2 * shop.machines[shop.cutters[recipe.cutter].machine].amax[0])
            assert recipe.run_out == pytest.approx(reach, abs=3.0)


@pytest.mark.source("asttooling.com, chip load charts")
def test_chips_of_bits_are_those_of_suppliers(shop: Shop) -> None:
    # Chip load charts print 1.6 to 3.2 % of 1/8 in for hardwood (asttooling.com); small bits are run at half of it.
    for recipe in shop.recipes:
        cutter = shop.cutters[recipe.cutter]
        turns = re.match(r"([\d,]+) turns a minute", recipe.power)
        if turns and isinstance(cutter, EndMill | BallNose) and cutter.flutes:
            chip = recipe.feed * 60 / (float(turns[1].replace(",", "")) * cutter.flutes)
            assert 0.008 <= chip / cutter.diameter <= 0.032, recipe


def test_every_wood_can_be_lettered_both_ways(shop: Shop) -> None:
    for wood in shop.woods:
        assert {r.method for r in shop.recipes if r.wood == wood} == {"follow", "raster", "pocket", "vee"}


def test_fine_bits_are_kept_out_of_coarse_woods(shop: Shop) -> None:
    coarse = {w.id for w in shop.woods.values() if w.pores == "ring"}
    assert not [r for r in shop.recipes if r.wood in coarse and r.cutter in ("v30", "mill-05", "half-round-20", "drag")]
    assert not [r for r in shop.recipes if r.cutter == "drag"]


@pytest.mark.source("ISO 3098, lettering type B: base lines apart")
def test_line_pitches_are_the_lettering_standard_s(shop: Shop) -> None:
    # ISO 3098, type B: base lines 13/10, 15/10 and 19/10 of the height apart.
    stack = shop.settings["stack"]
    assert (stack.pitch_capitals, stack.pitch_mixed, stack.pitch_accents) == (1.3, 1.5, 1.9)


@pytest.mark.source("NUREG-0700: heights of characters by minutes of arc")
def test_least_heights_can_be_read(shop: Shop) -> None:
    # NUREG-0700: H = 6.283 D (minutes of arc) / 21600; 20 preferred, 16 least; a box in the hand is 600 mm away.
    def height(minutes: float) -> float:
        return 6.283 * 600 * minutes / 21600

    for setting in shop.settings.values():
        assert setting.least_beam_fine >= height(20) - 0.01
        assert setting.least_beam_fine * setting.message_least >= height(16)


def test_lids_of_many_outlines(shop: Shop) -> None:
    text = (own_folder("shared") / "lids.toml").read_text(encoding="utf-8")
    for shape in ("circle", "ellipse", "rectangle", "corner", "sides", "polygon", "svg", "path"):
        assert f"{shape} = " in text
    assert len(shop.lids) >= 10
    assert {a.side for lid in shop.lids.values() for a in lid.areas} == {"top", "inside"}
    assert "7 1/4 in" in text
    assert shop.notes == ()


def test_left_handed_mirrors_keep_outs_and_hinge_only(shop: Shop) -> None:
    right, left = shop.lids["puzzle-box"], shop.lids["puzzle-box-left"]
    a, b = right.areas[0], left.areas[0]
    assert (right.hinge, left.hinge) == ("right", "left")
    assert a.outline == b.outline
    assert a.front == b.front
    for one, other in zip(a.keep_outs, b.keep_outs, strict=True):
        assert one.outline[0].start[0] == pytest.approx(170 - other.outline[0].start[0])
        assert one.outline[0].start[1] == pytest.approx(other.outline[0].start[1])


def test_inside_is_mirrored(shop: Shop) -> None:
    inside = shop.lids["letter-box"].areas[1]
    assert inside.side == "inside"
    assert [k.why for k in inside.keep_outs] == ["left hinge's leaf", "right hinge's leaf"]
    middles = [sum(s[-1][0] for s in k.outline[0].segments) / 4 for k in inside.keep_outs]
    assert middles == pytest.approx([140, 40]), "turned over left to right, the left hinge is on the right"


def test_every_figure_has_its_unit_or_reason_beside_it() -> None:
    for name in ("settings", "rates", "defaults"):
        lines = (own_folder("shared") / f"{name}.toml").read_text(encoding="utf-8").split("\n[")[0].splitlines()
        figures = [line for line in lines if re.match(r"\w+ = [\d.\[]", line)]
        assert all("#" in line for line in figures), [line for line in figures if "#" not in line]


def test_no_makers_are_named() -> None:
    text = "\n".join(p.read_text(encoding="utf-8") for p in sorted(Path(own_folder("shared")).glob("*.toml")))
    assert not re.search(r"®|™|\bLtd\b|\bInc\b|GmbH", text)


def test_the_full_list_of_cautions() -> None:
    assert {c.topic for c in FULL_LIST} == set(TITLES)
    page = as_markdown()
    assert page.startswith(FIRST)
    for body in ("IEC 60825-1", "EN 207", "NFPA 115", "NFPA 660", "UK HSE", "ACGIH", "29 CFR 1910.213"):
        assert body in page
    for word in ("interlocks", "eyewear", "running alone", "collector", "PVC", "Brass", "gloves", "Isolate", "Rags"):
        assert word in page


def test_settings_differ(shop: Shop) -> None:
    for one, other in pairwise(shop.settings.values()):
        assert one != other
