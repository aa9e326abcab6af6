"""Rows made definite: names found, tools chosen, and every refusal with its reason and what is allowed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.intake.order import Order, Words
from engrave.problems import Problem
from engrave.shop import Lid, Shop, load_shop
from engrave.shop.cutters import EndMill, VBit
from engrave.tasks import Plain, Refused, Task, deepest, define_all, method_for

KINDS = {"vollkorn": "outline", "roboto-slab": "outline", "withy": "single-line", "hershey-sans": "single-line"}
SHOP = load_shop()


def row(name: str = "Wanda", message: str = "", foot: str = "", **other: object) -> Order:
    words = Words(name, message, foot)
    known: dict[str, object] = {"id": "A1", "piece": 1, "row": 7, "words": words, "received": words}
    return Order(**(known | other))  # type: ignore[arg-type]


def one(order: Order, shop: Shop = SHOP) -> Task:
    (found,) = define_all([order], shop, KINDS)
    assert isinstance(found, Task), found
    return found


def refused(order: Order, shop: Shop = SHOP) -> dict[str, Problem]:
    (found,) = define_all([order], shop, KINDS)
    assert isinstance(found, Refused), found
    assert all(p.level == "hold" for p in found.problems)
    return {p.code: p for p in found.problems}


# --- what a row becomes -----------------------------------------------------------------------------------------------


def test_an_order_that_names_nothing_gets_the_shops_defaults() -> None:
    task = one(row())
    assert (task.lid.id, task.wood.id, task.tool.cutter.id, task.setting.id) == (
        "round-caddy", "cherry", "diode-450", "stack",
    )  # fmt: skip
    assert task.typeface("name") == "vollkorn"
    assert task.tool.machine.id == "gantry-laser"
    assert task.problems == ()


def test_a_lids_own_defaults_stand_before_the_shops() -> None:
    task = one(row(lid="reel-box"))
    assert (task.wood.id, task.tool.cutter.id, task.tool.method) == ("ash", "v60", "vee")
    assert one(row(lid="reel-box", wood="pine", cutter="diode-450")).tool.method == "raster"
    assert one(row(lid="dice-cup")).setting.id == "rim"
    assert one(row(lid="dice-cup", setting="stack")).setting.id == "stack"


@pytest.mark.parametrize("cutter", ["half-round-20", "drag"])
def test_a_cutter_that_only_follows_lines_takes_the_shops_single_line_typeface(cutter: str) -> None:
    assert method_for(SHOP.cutters[cutter], "outline") is None
    recipes = (replace(next(r for r in SHOP.recipes if r.method == "follow"), cutter=cutter, wood="cherry"),)
    shop = replace(SHOP, recipes=recipes)
    task = one(row(cutter=cutter), shop)
    assert (task.typeface("name"), task.tool.method) == ("withy", "follow")
    assert [(p.code, p.level) for p in task.problems if p.code == "single-line-instead"] == [
        ("single-line-instead", "note")
    ]

    lids = {"round-caddy": replace(SHOP.lids["round-caddy"], typeface="roboto-slab")}
    own = one(row(cutter=cutter), replace(shop, lids=lids))
    assert own.typeface("name") == "withy"
    assert [p.level for p in own.problems if p.code == "single-line-instead"] == ["look"]


def test_without_a_single_line_typeface_of_the_shop_it_is_still_refused() -> None:
    for lines in (None, "roboto-slab", "not-there"):
        shop = replace(SHOP, defaults=replace(SHOP.defaults, single_line_typeface=lines))
        assert "outline-needs-area" in refused(row(cutter="half-round-20"), shop)


def test_a_cutter_that_makes_bodies_keeps_the_shops_typeface() -> None:
    assert one(row(cutter="v60")).typeface("name") == "vollkorn"


@pytest.mark.parametrize("written", ["heart-box", "Heart box", "HEART_BOX", " heart-box ", "Button box, heart"])
def test_names_are_found_in_any_spelling_of_case_and_spaces(written: str) -> None:
    assert one(row(lid=written)).lid.id == "heart-box"


def test_words_typed_by_hand_have_no_row() -> None:
    assert refused(row(row=0, wood="tulip"))["unknown-wood"].where == "wood"


@pytest.mark.parametrize(
    ("cutter", "typeface", "method"),
    [
        ("diode-450", "withy", "follow"),
        ("diode-450", "vollkorn", "raster"),
        ("v60", "withy", "follow"),
        ("v60", "vollkorn", "vee"),
        ("mill-1", "withy", "follow"),
        ("mill-1", "vollkorn", "pocket"),
        ("ball-2", "withy", "follow"),
        ("ball-2", "vollkorn", "pocket"),
        ("half-round-20", "withy", "follow"),
    ],
)
def test_the_method_follows_from_cutter_and_typeface(cutter: str, typeface: str, method: str) -> None:
    tool = one(row(cutter=cutter, typeface=typeface)).tool
    assert tool.method == tool.recipe.method == method
    assert tool.groove == tool.cutter.groove_at(tool.depth, tool.recipe)


def test_what_limits_a_stroke() -> None:
    # A V-bit's tip, an end mill's diameter, a beam's mark.
    limits = {c: one(row(cutter=c)).tool.diameter for c in ("v60", "mill-1", "diode-450")}
    assert limits == {"v60": 0.2, "mill-1": 1.0, "diode-450": 0.18}
    assert one(row(cutter="ball-2")).tool.diameter == pytest.approx(2.0)


def test_a_lid_with_two_areas_gives_a_piece_for_each_that_has_words() -> None:
    both = define_all([row("Wanda", "for the evenings", "2024", lid="letter-box")], SHOP, KINDS)
    assert [(w.piece, w.area.name, w.words) for w in both if isinstance(w, Task)] == [
        (1, "lid", Words("Wanda", "", "2024")),
        (2, "inside", Words("", "for the evenings", "")),
    ]
    assert one(row("Wanda", lid="letter-box")).area.name == "lid"
    assert one(row("", "for the evenings", lid="letter-box")).area.name == "inside"
    assert [w.setting.id for w in both if isinstance(w, Task)] == ["stack", "message-first"]


def test_pieces_are_numbered_within_their_order() -> None:
    rows = [row(lid="letter-box", message="a"), row(id="B2"), row(wood="tulip"), row(name="", blank=True), row()]
    found = define_all(rows, SHOP, KINDS)
    assert [(w.order.id, w.piece, type(w).__name__) for w in found] == [
        ("A1", 1, "Task"), ("A1", 2, "Task"), ("B2", 1, "Task"), ("A1", 3, "Refused"), ("A1", 4, "Plain"), ("A1", 5, "Task"),
    ]  # fmt: skip


def test_a_plain_lid_is_no_task_and_no_refusal() -> None:
    (found,) = define_all([row(name="", blank=True, lid="card-box")], SHOP, KINDS)
    assert isinstance(found, Plain)
    assert found.lid.id == "card-box"
    assert "unknown-lid" in refused(row(name="", blank=True, lid="cardboard tube"))


def test_a_blank_lid_with_a_drawing_is_no_plain_lid() -> None:
    (found,) = define_all([row(name="", blank=True, lid="card-box", artwork="boat")], SHOP, KINDS)
    assert isinstance(found, Refused), "this shop has no drawing"
    assert [p.code for p in found.problems] == ["unknown-artwork"]


def test_message_and_foot_may_have_a_typeface_of_their_own() -> None:
    shop = replace(SHOP, defaults=replace(SHOP.defaults, message_typeface="roboto-slab", foot_typeface="withy"))
    found = one(row("Wanda", "hello", "2024"), shop)
    assert found.typefaces == (("name", "vollkorn"), ("message", "roboto-slab"), ("foot", "vollkorn"))
    ordered = one(row("Wanda", "hello", typeface="vollkorn"), shop)
    assert ordered.typefaces == (("name", "vollkorn"), ("message", "vollkorn")), "what is ordered holds for all words"


# --- refusals ---------------------------------------------------------------------------------------------------------


def test_every_unknown_name_is_told_at_once_with_cell_and_likely_spelling() -> None:
    found = refused(row(lid="hart-box", wood="chery", typeface="Volkorn", cutter="v 6O", setting="rimm"))
    assert {c: (p.where, p.value, p.limit) for c, p in found.items()} == {
        "unknown-lid": ("row 7, column lid", "hart-box", "heart-box"),
        "unknown-wood": ("row 7, column wood", "chery", "cherry"),
        "unknown-typeface": ("row 7, column typeface", "Volkorn", "vollkorn"),
        "unknown-cutter": ("row 7, column cutter", "v 6O", "v60"),
        "unknown-setting": ("row 7, column setting", "rimm", "rim"),
    }
    assert found["unknown-lid"].says.startswith(
        "The lid 'hart-box' is not in the shop's tables. Did you mean 'heart-box'? Known: round-caddy, puzzle-box,"
    )


def test_a_default_that_is_not_on_the_shelf_is_not_the_rows_fault() -> None:
    shop = replace(SHOP, defaults=replace(SHOP.defaults, typeface="garamund"))
    problem = refused(row(), shop)["unknown-typeface"]
    assert problem.where == "row 7"
    assert problem.says.startswith("The typeface 'garamund', which is taken when the row names none, is not")


def test_a_row_without_words() -> None:
    problem = refused(row(name="", foot=" "))["no-words"]
    assert problem.says.endswith("say so in the column 'blank'; else ask the buyer.")
    known = Problem("nothing-to-cut", "hold", "'N/A' is no name.")
    assert refused(row(name="", problems=(known,))) == {}, "the row is held already, for a better reason"


def test_words_on_a_lid_with_an_area_for_a_drawing_alone() -> None:
    """The order of its fields was looked up in a list of words, and one such row ended the whole week."""
    lid = SHOP.lids["puzzle-box"]
    for fields, carries in ((("name",), "which carries name. "), ((), "which carries a drawing and no words. ")):
        areas = (
            replace(lid.areas[0], fields=fields or ("artwork",)),
            replace(lid.areas[0], name="f", fields=("artwork",)),
        )
        shop = replace(SHOP, lids={"puzzle-box": replace(lid, areas=areas)})
        problem = refused(row("", "hello", lid="puzzle-box"), shop)["no-place-for-words"]
        assert carries in problem.says


def test_words_that_have_no_place_on_the_lid() -> None:
    found = one(row("Wanda", foot="2024", lid="puzzle-box"))
    assert found.problems == ()
    shop = replace(SHOP, lids={**SHOP.lids, "narrow": _only_names(SHOP.lids["card-box"])})
    task = one(row("Wanda", "hello", lid="narrow"), shop)
    assert task.words == Words("Wanda")
    assert [(p.code, p.level, p.where) for p in task.problems] == [
        ("no-place-for-words", "hold", "row 7, column message")
    ]
    assert "which carries name." in task.problems[0].says
    assert "no-place-for-words" in refused(row("", "hello", lid="narrow"), shop)


def _only_names(lid: Lid) -> Lid:
    return replace(lid, id="narrow", areas=(replace(lid.areas[0], fields=("name",)),))


def test_letters_with_a_body_need_another_cutter() -> None:
    problem = refused(row(cutter="half-round-20", typeface="vollkorn"))["outline-needs-area"]
    assert problem.where == "row 7, column typeface"
    assert "single-line typeface (withy, hershey-sans)" in problem.says
    assert "a cutter that makes letters with a body (v30, v60," in problem.says


def test_a_pair_without_a_recipe_says_which_pairs_have_one() -> None:
    problem = refused(row(cutter="mill-05", wood="oak"))["no-recipe"]
    assert problem.says.startswith("There is no recipe for the end mill 0.5 mm in red oak by pocket.")
    assert "Cutters that have one for such letters in red oak: v60, v90, ball-2," in problem.says
    assert problem.says.endswith(
        "Woods that have one for this cutter: maple, beech, birch, cherry, walnut, alder, mahogany."
    )
    drag = refused(row(cutter="drag", typeface="withy"))["no-recipe"]
    assert "in bare wood fibres tear" in drag.says
    assert drag.says.endswith("Woods that have one for this cutter: none.")


def test_a_lid_beyond_the_machines_reach() -> None:
    machine = replace(SHOP.machines["gantry-laser"], bed=(200.0, 150.0))
    shop = replace(SHOP, machines={**SHOP.machines, "gantry-laser": machine})
    assert one(row(lid="letter-box"), shop).problems == ()
    problem = one(row(lid="paint-box"), shop).problems[0]
    assert (problem.code, problem.level) == ("off-bed", "hold")
    assert "The lid is 240 x 160 mm; the gantry laser with a diode reaches 200 x 150 mm" in problem.says


@pytest.mark.parametrize(
    ("bed", "reaches"),
    [
        ((240.0, 160.0), True),
        ((160.0, 240.0), True),  # whichever way it is laid
        ((239.0, 400.0), True),
        ((239.0, 160.0), False),  # too long
        ((400.0, 159.0), False),  # long enough, and too narrow
        ((159.0, 239.0), False),
    ],
)
def test_a_lid_must_go_both_ways_onto_the_bed(bed: tuple[float, float], reaches: bool) -> None:
    """The paint box's lid is 240 x 160 mm."""
    shop = replace(SHOP, machines={i: replace(m, bed=bed) for i, m in SHOP.machines.items()})
    assert ("off-bed" not in {p.code for p in one(row(lid="paint-box"), shop).problems}) is reaches


def test_a_title_that_two_entries_have_names_neither() -> None:
    """By its id each is still found; what could mean two is asked about."""
    lids = {"a-box": replace(SHOP.lids["card-box"], id="a-box", title="Tea  Box"),
            "b-box": replace(SHOP.lids["card-box"], id="b-box", title="tea box")}  # fmt: skip
    shop = replace(SHOP, lids={**SHOP.lids, **lids})
    assert "unknown-lid" in refused(row(lid="Tea box"), shop)
    assert one(row(lid="a-box"), shop).lid.id == "a-box"
    assert one(row(lid="B-BOX"), shop).lid.id == "b-box"
    only = replace(SHOP, lids={**SHOP.lids, "a-box": lids["a-box"]})
    assert one(row(lid="Tea box"), only).lid.id == "a-box"


# --- depth ------------------------------------------------------------------------------------------------------------


def thin(thickness: float) -> Shop:
    return replace(SHOP, lids={"thin": replace(SHOP.lids["card-box"], id="thin", thickness=thickness)})


@pytest.mark.parametrize(
    ("thickness", "cutter", "depth", "why"),
    [
        (30.0, "v60", 2.5, "the greatest depth of the V-bit 60°, tip 0.2 mm"),
        (30.0, "mill-05", 1.0, "the greatest depth of the end mill 0.5 mm"),
        (6.0, "v90", 2.0, "a third of the lid's thickness of 6 mm"),
        (4.0, "v90", 1.0, "the 3 mm of solid wood to be left under it"),
        (4.2, "diode-450", 1.2, "the 3 mm of solid wood to be left under it"),
    ],
)
def test_what_limits_the_depth(thickness: float, cutter: str, depth: float, why: str) -> None:
    limit = deepest(SHOP.cutters[cutter], thin(thickness).lids["thin"])
    assert limit.depth == pytest.approx(depth)
    assert limit.says == why


def test_flute_and_cone_limit_too() -> None:
    lid = thin(60.0).lids["thin"]
    mill = EndMill(id="m", title="End mill", machine="bench-router", diameter=2, flute=1.5)
    assert deepest(mill, lid).says == "the flute of the end mill"
    cone = VBit(id="v", title="V-bit", machine="bench-router", diameter=3, angle=90, tip=0.2, deepest=9)
    assert deepest(cone, lid).depth == pytest.approx(1.4)
    assert deepest(cone, lid).says == "the cone of the V-bit"


def test_a_shallower_cut_is_said_and_its_groove_is_narrower() -> None:
    task = one(row(lid="thin", typeface="withy", cutter="v60", wood="oak"), thin(3.6))
    assert task.tool.depth == pytest.approx(0.6)
    assert task.tool.groove == pytest.approx(0.2 + 2 * 0.6 * 0.57735, abs=1e-4)
    (problem,) = task.problems
    assert (problem.code, problem.level, problem.value, problem.limit) == ("depth-limited", "look", 1.2, 0.6)
    assert problem.says == (
        "Cut 0.60 mm deep instead of the recipe's 1.20 mm: the limit is the 3 mm of solid wood to be left under it."
    )
    vee = one(row(lid="thin", cutter="v60"), thin(6.0))
    assert [(p.code, p.level) for p in vee.problems] == [("depth-limited", "note")]


def test_a_lid_too_thin_to_be_cut() -> None:
    problem = refused(row(lid="thin"), thin(3.0))["lid-too-thin"]
    assert "leaves 0.00 mm" in problem.says


def test_a_bit_travels_above_what_stands_proud() -> None:
    task = one(row(cutter="v60"))
    assert task.tool.machine.retract == 21.0
    (problem,) = task.problems
    assert (problem.code, problem.level) == ("travel-height", "note")
    assert "The knob stands 18 mm proud: have the machine travel at least 21 mm above" in problem.says
    assert one(row(cutter="v60", lid="card-box")).tool.machine == SHOP.machines["bench-router"]
    assert one(row()).tool.machine == SHOP.machines["gantry-laser"]


# --- all pairs --------------------------------------------------------------------------------------------------------

NAMES = st.sampled_from(["", "Wanda", "Ørjan"])


@settings(max_examples=150)
@given(
    st.sampled_from(["", *SHOP.lids]), st.sampled_from(["", *SHOP.woods]), st.sampled_from(["", *SHOP.cutters]),
    st.sampled_from(["", *KINDS]), st.sampled_from(["", *SHOP.settings]), NAMES, NAMES, NAMES, st.booleans(),
)  # fmt: skip
def test_every_row_is_answered(
    lid: str, wood: str, cutter: str, typeface: str, setting: str, name: str, message: str, foot: str, blank: bool
) -> None:
    order = row(name, message, foot, lid=lid, wood=wood, cutter=cutter, typeface=typeface, setting=setting, blank=blank)
    found = define_all([order], SHOP, KINDS)
    assert found
    for what in found:
        if isinstance(what, Refused):
            assert what.problems
        if isinstance(what, Task):
            assert what.tool.method == method_for(what.tool.cutter, KINDS[what.typefaces[0][1]])
            assert 0 < what.tool.depth <= what.lid.thickness / 3 + 1e-9
            assert what.tool.diameter > 0
            assert what.words.filled()
    kept = {(f, w) for what in found if isinstance(what, Task) for f, w in what.words.filled()}
    if not any(isinstance(what, Refused) for what in found) and order.words.filled():
        assert kept == set(order.words.filled()), "no words are lost on the way"
