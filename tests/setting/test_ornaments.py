"""What is set with the words and is none: ornaments, frames, monograms, arches, pairs."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engrave.geometry.regions import centre_lines, polygons, region
from engrave.making import Env, environment, make, set_and_checked
from engrave.output.svg import check_svg, lid_svg
from engrave.output.svg.proof_codes import proof_code
from engrave.setting import Lettering, frame_of, is_inside, place, placing_key
from engrave.setting.ornament.initials import initials_of
from engrave.setting.ornament.inking import least_line
from engrave.tasks import Task
from engrave.typefaces import Shelf
from tests.promises import promised

Make = Callable[..., Task]

LIDS = ("dice-cup", "seed-box", "heart-box", "domino-box", "round-caddy", "fly-box")
"""Round, rectangle, heart, octagon with an inlay, round with a knob, rectangle with hinge and clasp."""

DRESSED = ("arch", "name-rule", "name-sprig", "frame", "frame-double", "pair")


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def letters(text: str) -> str:
    return "".join(text.split())


def inside(task: Task, laid: Lettering) -> bool:
    return is_inside(laid, frame_of(task.area, task.tool.machine, task.tool.cutter, laid.groove))


def shape(laid: Lettering, ornaments: bool) -> shapely.Geometry:
    """The ornaments, or the letters, of a lettering as they stand on the lid."""
    made = centre_lines if laid.kind == "single-line" else region
    return shapely.union_all([made(m.path()) for m in laid.marks if m.is_ornament == ornaments])


@pytest.mark.parametrize("lid", LIDS)
@pytest.mark.parametrize("setting", DRESSED)
@pytest.mark.parametrize("typeface", ["vollkorn", "withy"])
def test_inside_and_as_the_buyer_wrote(lid: str, setting: str, typeface: str, task: Make, shelf: Shelf) -> None:
    t = task(lid, "Jørgen & Åse", "since 1987", setting=setting, typeface=typeface)
    laid = place(t, shelf)
    assert laid.marks, [p.says for p in laid.problems]
    assert inside(t, laid)
    assert letters("".join(line.text for line in laid.lines)) == "Jørgen&Åsesince1987"
    assert letters("".join(m.text for m in laid.marks if not m.is_ornament)) == "Jørgen&Åsesince1987"
    assert setting == "arch" or any(m.is_ornament for m in laid.marks)
    assert all((m.line < 0) == m.is_ornament for m in laid.marks)


@pytest.mark.slow
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.lists(st.sampled_from(["Eve", "Åse", "&", "and", "Maximiliane", "Tim", "J.", "von", "Жанна", "Ζωή"]), min_size=1, max_size=4),
    broken=st.booleans(),
    message=st.sampled_from(["", "with love", "from all of us at the Ferry House"]),
    lid=st.sampled_from(LIDS),
    setting=st.sampled_from(DRESSED),
)  # fmt: skip
def test_words_are_never_changed(
    name: list[str], broken: bool, message: str, lid: str, setting: str, task: Make, shelf: Shelf
) -> None:
    """Whatever is drawn with them: words keep their order, a break of the buyer's stays one, and all lies inside."""
    words = ("\n" if broken else " ").join(name)
    t = task(lid, words, message, setting=setting, typeface="noto-sans")
    laid = place(t, shelf)
    if not laid.marks:
        return
    assert inside(t, laid)
    lines = [line for line in laid.lines if line.field == "name"]
    assert letters("".join(line.text for line in lines)) == letters(words)
    if broken and setting != "arch":
        ends = set(np.cumsum([len(letters(line.text)) for line in lines]).tolist())
        assert set(np.cumsum([len(letters(w)) for w in name]).tolist()) <= ends


def test_a_frame_follows_the_outline(task: Make, shelf: Shelf) -> None:
    """Everywhere as far from the edge, and the words are all within it."""
    t = task("dice-cup", "Eve", setting="frame", typeface="withy")
    laid = place(t, shelf)
    ring = shape(laid, ornaments=True)
    edge = region(t.area.outline).exterior
    away = [shapely.Point(p).distance(edge) for p in shapely.get_coordinates(shapely.segmentize(ring, 1.0))]
    assert max(away) - min(away) < 0.1
    assert 6.0 < min(away) < 6.5  # 2 mm of edge, 4 mm of margin, half a groove
    assert shapely.Polygon(shapely.get_coordinates(ring)).contains(shape(laid, ornaments=False))


@pytest.mark.parametrize("setting", ["frame", "frame-double", "name-sprig", "stack"])
def test_what_was_set_for_another_cutter_is_as_if_set_anew(setting: str, task: Make, shelf: Shelf) -> None:
    """A frame is as thick as the cutter clears: a cutter that makes no line as thin was given the finer one's."""
    first = task("seed-box", "Eve", setting=setting, typeface="vollkorn", wood="cherry", cutter="mill-1")
    recipe = replace(first.tool.recipe, least_stroke=3.0)
    tools = (first.tool, replace(first.tool, diameter=2.0), replace(first.tool, recipe=recipe))
    kept: dict[object, Lettering] = {}
    for one in (replace(first, tool=tool) for tool in tools):
        warm = kept.setdefault(placing_key(one, shelf), place(one, shelf))
        assert warm == place(one, shelf)
    assert len(kept) == (1 if setting == "stack" else 3), "plain words stand alike for all of them"


def test_a_frame_goes_round_what_cuts_into_the_edge(task: Make, shelf: Shelf) -> None:
    """On the fly box it gives way to the clasp, and on mirrored lids it is mirrored."""
    t = task("fly-box", "Eve", setting="frame", typeface="withy")
    clasp = region(t.area.keep_outs[1].outline)
    assert shape(place(t, shelf), ornaments=True).distance(clasp) >= t.area.keep_outs[1].clearance
    right, left = (
        shape(place(task(lid, "Eve", setting="frame", typeface="withy"), shelf), ornaments=True)
        for lid in ("puzzle-box", "puzzle-box-left")
    )
    mirrored = shapely.affinity.scale(left, -1, 1, origin=(85.0, 0.0))
    assert right.hausdorff_distance(mirrored) < 0.1


def test_a_double_frame_has_sprigs_only_in_corners(task: Make, shelf: Shelf) -> None:
    names = {
        lid: sorted(m.text for m in place(task(lid, "Eve", setting="frame-double"), shelf).marks if m.is_ornament)
        for lid in ("seed-box", "dice-cup")
    }
    assert names["seed-box"] == ["the corner's sprig"] * 4 + ["the frame"] * 2
    assert names["dice-cup"] == ["the frame"] * 2 + ["the lozenge"] * 4


def test_no_frame_where_there_is_no_room(task: Make, shelf: Shelf) -> None:
    t = task("needle-box", "Eve", setting="frame-double")
    low = replace(t, area=replace(t.area, margin=21.5))
    laid = place(low, shelf)
    assert not laid.marks
    assert [p.code for p in laid.problems if p.level == "hold"] in (["no-frame"], ["does-not-fit"])


@pytest.mark.parametrize("text", ["A", "ABC", "A B", "A.B.C.", "J & Å", "א ב", "מ"])
def test_initials(text: str) -> None:
    assert 1 <= len(initials_of(text)) <= 3


@pytest.mark.parametrize("text", ["Bo", "Eve", "ABCD", "A B C D", "Li Wu", "3", "", "דן"])
def test_no_initials(text: str) -> None:
    assert not initials_of(text)


def test_monogram(task: Make, shelf: Shelf) -> None:
    """The middle one is the largest, they stand in the order written, and the ring is round all of them."""
    laid = place(task("dice-cup", "M.K.F.", "since 1987", setting="monogram", typeface="withy"), shelf)
    three = [m for m in laid.marks if m.line == 0]
    assert [m.text for m in three] == ["M", "K", "F"]
    assert three[1].cap_mm > 1.5 * three[0].cap_mm == pytest.approx(1.5 * three[2].cap_mm)
    assert [m.matrix[4] for m in three] == sorted(m.matrix[4] for m in three)
    (ring,) = [m for m in laid.marks if m.is_ornament]
    within = shapely.Polygon(centre_lines(ring.path()).geoms[0].coords)
    assert within.contains(shapely.union_all([centre_lines(m.path()) for m in three]))
    assert laid.lines[0].text == "M.K.F."


def test_a_name_makes_no_monogram(task: Make, shelf: Shelf) -> None:
    laid = place(task("dice-cup", "Wanda", setting="monogram"), shelf)
    assert not laid.marks
    assert [p.code for p in laid.problems] == ["no-initials"]


def test_initials_that_read_leftwards(task: Make, shelf: Shelf) -> None:
    laid = place(task("dice-cup", "א ב ד", setting="monogram", typeface="noto-sans-hebrew"), shelf)
    first, last = (next(m for m in laid.marks if m.text == c) for c in "אד")
    assert first.matrix[4] > last.matrix[4]


def test_a_sign_that_a_monogram_leaves_out_is_told(task: Make, shelf: Shelf) -> None:
    for name, told in (("J & Å", ["initials-alone"]), ("M.K.F.", [])):
        assert [p.code for p in place(task("seed-box", name, setting="monogram"), shelf).problems] == told


@pytest.mark.parametrize("name", ["Mum & Dad", "A & B", "आरती & राहुल"])
def test_two_short_names_are_a_pair_as_well(name: str, task: Make, shelf: Shelf) -> None:
    """They are one line by themselves, and had the ornament below them where a pair was asked for."""
    laid = place(task("seed-box", name, setting="pair", typeface="noto-sans-devanagari"), shelf)
    assert [line.text for line in laid.lines] == name.split()
    assert place(task("seed-box", "Mr & Mrs Berg", setting="pair"), shelf).lines[0].text.startswith("Mr & Mrs")


def test_a_pair_has_its_ampersand_between(task: Make, shelf: Shelf) -> None:
    laid = place(task("seed-box", "Wanda and Tomás", setting="pair"), shelf)
    assert [line.text for line in laid.lines] == ["Wanda", "and", "Tomás"]
    assert laid.lines[1].cap_mm < laid.lines[0].cap_mm == laid.lines[2].cap_mm
    typed = place(task("seed-box", "Wanda\nTomás", setting="pair"), shelf)
    assert [line.text for line in typed.lines] == ["Wanda", "Tomás"]
    tops = {m.text: m.matrix[5] for m in typed.marks}
    assert tops["W"] < tops["the leaf"] < tops["T"]


def test_a_rule_below_a_name_alone_is_near_it_and_short(task: Make, shelf: Shelf) -> None:
    """As wide as between name and message it waited for a line that did not come, or lay alone beyond the knob."""
    for lid in ("seed-box", "dice-cup", "round-caddy", "puzzle-box"):
        for setting in ("name-rule", "arch"):
            alone = place(task(lid, "Charlotte", setting=setting), shelf)
            rule, name = shape(alone, ornaments=True), shape(alone, ornaments=False)
            assert shapely.distance(rule, name) < 0.6 * alone.cap_mm
            wide = [g.bounds[2] - g.bounds[0] for g in (rule, name)]
            assert 0 < wide[0] < 0.4 * wide[1]


@pytest.mark.parametrize("lid", ["round-caddy", "domino-box"])
def test_a_name_with_a_rule_stands_over_the_knob_as_it_does_without(lid: str, task: Make, shelf: Shelf) -> None:
    """A little larger below it, calm and air dropped it there again."""
    for setting in ("stack", "name-rule"):
        t = task(lid, "Eve", setting=setting, typeface="vollkorn")
        assert place(t, shelf).lines[0].baseline < t.area.height / 2


def test_a_block_from_the_left_has_air_beside_what_stands_in_the_lid(task: Make, shelf: Shelf) -> None:
    """Its edge touched the notch: a quarter of the smallest capitals is kept clear, whatever that takes of the size."""
    t = task(
        "puzzle-box", "Maximiliane Featherstone", "with love from Mum and Dad", "Christmas 2024", setting="stack-left"
    )
    laid = place(t, shelf)
    fittings = shapely.union_all([region(k.outline).buffer(k.clearance) for k in t.area.keep_outs])
    smallest = min(line.cap_mm for line in laid.lines)
    assert shapely.distance(fittings, shape(laid, ornaments=False)) > 0.9 * t.setting.air * smallest


def test_an_arch_stands_over_its_lines(task: Make, shelf: Shelf) -> None:
    laid = place(task("seed-box", "Charlotte", "with love", setting="arch"), shelf)
    turns = [np.degrees(np.arctan2(m.matrix[1], m.matrix[0])) for m in laid.marks if m.line == 0]
    assert turns == sorted(turns)
    assert turns[0] < -10 < 10 < turns[-1] < 75
    assert {m.matrix[1] for m in laid.marks if m.line == 1} == {0.0}
    bottom = max(m.matrix[5] for m in laid.marks if m.line == 0)
    assert min(m.matrix[5] for m in laid.marks if m.line == 1) > min(m.matrix[5] for m in laid.marks if m.line == 0)
    assert bottom < 110.0


def test_a_name_too_long_for_an_arch_says_so(task: Make, shelf: Shelf) -> None:
    laid = place(task("heart-box", "Maximiliane Featherstone", "with love", setting="arch"), shelf)
    assert laid.marks
    assert "no-arch" in [p.code for p in laid.problems]


def test_the_middle_of_a_rim_is_not_left_bare(task: Make, shelf: Shelf) -> None:
    """An ornament stands there, but for a lid with a knob, and where a foot stands."""
    drawn = {
        (lid, foot): [m.text for m in place(task(lid, "Charlotte", "with love", foot, setting="rim-both"), shelf).marks if m.is_ornament]
        for lid, foot in (("dice-cup", ""), ("dice-cup", "2024"))
    }  # fmt: skip
    assert drawn == {("dice-cup", ""): ["the leaf"], ("dice-cup", "2024"): []}


@pytest.mark.parametrize("setting", ["name-rule", "name-sprig", "pair"])
@pytest.mark.parametrize("cutter", ["v60", "mill-1"])
def test_a_tool_can_make_the_ornaments(setting: str, cutter: str, task: Make, env: Env) -> None:
    """Their thinnest stroke is as wide as what the cutter clears, and they are part of file, code and time."""
    t = task("seed-box", "Wanda & Tomás", setting=setting, typeface="noto-sans-bold", cutter=cutter)
    piece = set_and_checked(t, env)
    assert piece.lettering is not None
    for m in (m for m in piece.lettering.marks if m.is_ornament):
        drawn = region(m.path())
        opened = drawn.buffer(-0.48 * t.tool.diameter)
        assert len(polygons(opened)) == len(polygons(drawn)) > 0  # it does not fall apart where it is thinnest
    assert least_line(t.tool) > t.tool.diameter
    named = [p for p in piece.problems if p.level == "hold" and re.search("the (rule|sprig|leaf)", p.says)]
    assert not named


@promised("Ornaments and frames are checked, timed and priced as letters are.")
@pytest.mark.parametrize("typeface", ["vollkorn", "withy"])
def test_a_frame_is_in_file_code_and_time(typeface: str, task: Make, env: Env) -> None:
    plain, framed = (
        make(task("seed-box", "Wanda", setting=s, typeface=typeface, line_weight="0"), env)
        for s in ("stack", "frame-double")
    )
    assert plain.estimate is not None and framed.estimate is not None
    assert framed.estimate.seconds > plain.estimate.seconds
    assert proof_code(plain) != proof_code(framed)
    assert check_svg(lid_svg(framed, env.shop)) == ()
    assert framed.quote is not None


def test_a_small_leaf_has_no_loop_that_fills(task: Make, env: Env) -> None:
    """With 'Alexandra ben David' on the dice cup the open heart left 0.1 mm of wood inside it."""
    piece = set_and_checked(
        task("dice-cup", "אלכסנדרה בן דוד", "באהבה מאמא ומאבא", "2024", setting="pair", typeface="noto-sans-hebrew"),
        env,
    )
    assert piece.lettering is not None
    (leaf,) = [m for m in piece.lettering.marks if m.is_ornament]
    assert not any(p.interiors for p in polygons(region(leaf.path())))
    assert not [p for p in piece.problems if "the leaf" in p.says]
