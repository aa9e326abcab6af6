"""How wide single lines are drawn: asked by row, setting and recipe, and everything that follows from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from typefaces.test_weighting import holes

from engrave.approval.facts import facts_of
from engrave.approval.kept_orders import KeptOrders
from engrave.geometry.regions import centre_lines, region
from engrave.intake.cells import line_weight
from engrave.learning.read_back import read_lid
from engrave.making import Env, Piece, environment, remade
from engrave.output.svg import lid_svg, proof_code
from engrave.output.svg.svg_check import check_svg
from engrave.setting import frame_of, is_inside
from engrave.shop.line_weights import AUTO_SHARES, shares_told
from engrave.shop.mistakes import ShopError
from engrave.tasks import Task, define_all
from engrave.toolpath import course_of_file
from engrave.verbs import try_words
from engrave.week import Entry, make_unit
from engrave.week.one_size import at_one_size

BEAM = {"lid": "round-caddy", "typeface": "withy", "cutter": "diode-450", "wood": "walnut"}


@cache
def env() -> Env:
    return environment()


@cache
def tried(line_weight: str, name: str = "Wanda", message: str = "", **other: str) -> Piece:
    return try_words(name, message, env=env(), line_weight=line_weight, **(BEAM | other)).entries[0].piece  # type: ignore[arg-type]


def codes(piece: Piece) -> set[str]:
    return {p.code for p in piece.problems}


@pytest.mark.parametrize(
    ("cell", "told"),
    [("", ""), ("auto", "auto"), ("Auto ", "auto"), ("8 %", "8 %"), ("8", "8 %"), ("7,5%", "7.5 %"), ("0.08", "8 %"),
     ("1/10", "10 %"), ("1 / 14", "7.143 %"), ("0", "0 %"), ("plain", "0 %"), ("hairline", "0 %"), ("20", "20 %")],
)  # fmt: skip
def test_a_cell_says_how_wide(cell: str, told: str) -> None:
    assert line_weight(cell).value == told
    assert not line_weight(cell).says


@pytest.mark.parametrize("cell", ["heavy", "-3", "21 %", "1/0", "1/2", "8 mm", "٨٨٨٨"])
def test_what_is_no_weight_is_asked_about(cell: str) -> None:
    read = line_weight(cell)
    assert (read.value, read.level) == ("", "look")
    assert "8 %" in read.says


@pytest.mark.source("ISO 3098-1: type A draws strokes h/14, type B h/10")
def test_auto_is_what_lettering_standards_draw() -> None:
    assert shares_told("auto") == AUTO_SHARES
    assert (AUTO_SHARES[0], AUTO_SHARES[-1]) == (1 / 10, 1 / 14)
    assert shares_told("0 %") == ()


def test_a_weighted_piece_is_drawn_so_wide_inside_its_room() -> None:
    piece = tried("1/14")
    assert piece.is_made and piece.task is not None and piece.lettering is not None and piece.fitness is not None
    (line,) = piece.lettering.lines
    assert line.weight == pytest.approx(line.cap_mm / 14, rel=1e-3)
    assert piece.fitness.stroke is not None
    assert piece.fitness.stroke.width == pytest.approx(line.weight, rel=0.02)
    frame = frame_of(piece.task.area, piece.task.tool.machine, piece.task.tool.cutter, 0.0)
    assert frame is not None and is_inside(piece.lettering, frame)
    assert "groove-light" not in codes(piece)
    assert "groove-light" in codes(tried("plain"))


def test_wider_lines_take_longer_and_their_words_come_out_no_larger() -> None:
    plain, light, heavy = (tried(w) for w in ("plain", "1/14", "auto"))
    assert plain.lettering and light.lettering and heavy.lettering
    assert plain.lettering.cap_mm > light.lettering.cap_mm > heavy.lettering.cap_mm > 0.85 * plain.lettering.cap_mm
    assert plain.estimate and light.estimate and heavy.estimate
    assert plain.estimate.seconds < light.estimate.seconds < heavy.estimate.seconds


def test_a_message_has_lines_in_its_own_measure() -> None:
    piece = tried("auto", "Ben", "for the tea")
    assert piece.lettering is not None
    assert {round(line.weight / line.cap_mm, 4) for line in piece.lettering.lines} == {0.1}
    assert len({round(line.weight, 3) for line in piece.lettering.lines}) == 2


def test_the_file_holds_the_lines_side_by_side_and_is_read_back_as_timed(tmp_path: Path) -> None:
    piece = tried("auto")
    assert piece.task is not None and piece.toolpath is not None
    text = lid_svg(piece, env().shop)
    assert not check_svg(text)
    assert text.count("<path") == len(piece.toolpath.strokes)
    assert f'stroke-width="{piece.task.tool.groove:g}"' in text
    file = tmp_path / "lid.svg"
    file.write_text(text, "utf-8")
    lid = read_lid(file)
    course = course_of_file(lid.shapes, lid.kind, lid.groove, piece.task.tool)
    assert course.cut_mm == pytest.approx(piece.toolpath.course.cut_mm, rel=1e-3)
    assert course.starts == piece.toolpath.course.starts


def test_another_weight_is_another_proof() -> None:
    assert len({proof_code(tried(w)) for w in ("plain", "1/14", "auto")}) == 3


def test_lines_that_were_agreed_to_are_cut_so_whatever_is_usual_today(tmp_path: Path) -> None:
    """What a proof showed is kept: plain lines stay plain, and heavy ones heavy, when the shop's habit changes."""
    for then, today in (("auto", "plain"), ("plain", "auto")):
        agreed, now = tried(then), tried(today)
        facts = facts_of(agreed)
        assert facts is not None
        store = KeptOrders(tmp_path / then)
        code = store.keep([agreed], (facts,), [lid_svg(agreed, env().shop)].copy, "test")
        kept = store.find(code)
        assert kept is not None and now.task is not None
        again = remade(now.task, kept.letterings[0], env())
        assert again.is_made and again.toolpath is not None and agreed.toolpath is not None
        assert lid_svg(again, env().shop).count("<path") == len(agreed.toolpath.strokes)
        assert again.toolpath.strokes == agreed.toolpath.strokes
        assert facts_of(again) == facts


def test_a_proof_kept_before_lines_had_weights_is_still_read(tmp_path: Path) -> None:
    piece = tried("plain")
    facts = facts_of(piece)
    assert facts is not None
    store = KeptOrders(tmp_path / "kept")
    code = store.keep([piece], (facts,), lambda: [""], "an earlier version")
    file = tmp_path / "kept" / code / "facts.json"
    before = file.read_text("utf-8")
    assert '"weight": 0.0' in before
    file.write_text(before.replace(', "weight": 0.0', ""), "utf-8")
    assert store.find(code) is not None


def test_row_before_setting_before_recipe() -> None:
    shop = env().shop
    heavy = replace(shop.settings["stack"], line_weight="1/10")
    recipes = tuple(replace(r, line_weight="8 %") if r.method == "follow" else r for r in shop.recipes)

    def shares(row: str, in_setting: str) -> tuple[float, ...]:
        settings = {**shop.settings, "stack": replace(heavy, line_weight=in_setting)}
        other = replace(shop, settings=settings, recipes=recipes)
        order = replace(tried("plain").order, line_weight=row)
        (what,) = define_all([order], other, env().shelf.kinds())
        return what.weighting.shares  # type: ignore[union-attr]

    assert shares("", "recipe") == (0.08,)
    assert shares("", "6 %") == (0.06,)
    assert shares("5 %", "6 %") == (0.05,)
    assert shares("0 %", "6 %") == ()


def test_a_recipe_may_say_by_which_method() -> None:
    shop = env().shop
    recipes = tuple(replace(r, weight_method="raster") if r.method == "follow" else r for r in shop.recipes)
    other = replace(env(), shop=replace(shop, recipes=recipes))
    (piece,) = (e.piece for e in try_words("Ida", env=other, line_weight="auto", **BEAM).entries)  # type: ignore[arg-type]
    assert piece.task is not None and piece.task.tool.method == "raster"
    assert piece.is_made and piece.toolpath is not None and dict(piece.toolpath.facts)["rows"] > 50


def test_a_groove_that_is_as_wide_already_stays_alone() -> None:
    piece = tried("auto", "Ada", cutter="v60")
    assert piece.task is not None and piece.task.tool.method == "follow"
    assert "weight-there" in codes(piece)


def test_letters_with_a_body_have_no_lines() -> None:
    piece = tried("auto", "Ada", typeface="vollkorn")
    assert "no-lines-to-weigh" in codes(piece)


def test_lines_that_would_close_up_stay_lighter_or_plain() -> None:
    """'mmm' between narrow walls on oak: the heaviest that the wood bears is taken, and what is wrong stays unsaid."""
    for name in ("Wanda", "Gemma Mmm", "888 & 888"):
        piece, plain = tried("auto", name), tried("plain", name)
        assert piece.serious <= plain.serious


REEL = {"lid": "reel-box", "cutter": "co2-tube"}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("typeface", "name", "wood", "parts"),
    [("withy", "Wilhelmina", "oak", 10), ("ems-nixish", "Wilhelmina", "oak", 12),
     ("hershey-script", "Anna-Maria Kämmerer", "western-redcedar", 12), ("hershey-script", "Anna-Maria Kämmerer", "oak", 14),
     ("ems-tech", "Wilhelmina", "western-redcedar", 14)],
)  # fmt: skip
def test_auto_is_the_heaviest_of_three_that_the_wood_bears(typeface: str, name: str, wood: str, parts: int) -> None:
    """Each heavier one lacks wood: asked for by itself it is on hold."""
    piece = tried("auto", name, typeface=typeface, wood=wood, **REEL)
    assert piece.is_made and piece.lettering is not None
    assert {round(1 / (line.weight / line.cap_mm), 1) for line in piece.lettering.lines} == {parts}
    for heavier in (n for n in (10, 12) if n < parts):
        alone = tried(f"1/{heavier}", name, typeface=typeface, wood=wood, **REEL)
        assert alone.serious & {"web-too-thin", "loop-fills"}, heavier


def test_a_weight_that_the_wood_bears_nowhere_is_given_up_and_it_is_said_why() -> None:
    piece = tried("auto", "Wilhelmina", typeface="ems-felix", wood="oak", **REEL)
    assert piece.is_made and piece.lettering is not None and piece.task is not None
    assert [line.weight for line in piece.lettering.lines] == [0.0]
    (told,) = [p for p in piece.problems if p.code == "weight-given-up"]
    assert told.level == "note"
    assert "The lines stay plain, 0.18 mm wide: wider ones have no room. The wood left standing" in told.says
    assert piece.serious == tried("plain", "Wilhelmina", typeface="ems-felix", wood="oak", **REEL).serious


def test_where_a_small_loop_would_close_the_weight_gives_way_and_it_is_said() -> None:
    """The loop of Allure's E is narrower than a line of a fourteenth: the piece is cut with the loop open."""
    piece = tried("auto", "Ella", typeface="ems-allure")
    assert piece.is_made and piece.lettering is not None and piece.toolpath is not None
    (told,) = [p for p in piece.problems if p.code == "weight-gives-way"]
    assert told.level == "note"
    (line,) = piece.lettering.lines
    letters = told.says.split("'")[1::2]
    assert letters and f"In '{letters[0]}'" in told.says and "stay open" in told.says
    plain = tried("plain", "Ella", typeface="ems-allure").lettering
    assert plain is not None
    for mark, thin in zip(piece.lettering.marks, plain.marks, strict=True):
        pen = centre_lines(thin.glyph.path, 0.0005).buffer(line.weight / line.cap_mm / 2)
        more = holes(region(mark.glyph.path, 0.0005)) - holes(pen)
        assert (more > 0) == (mark.text in letters), mark.text


def test_what_a_row_asks_for_is_not_given_up() -> None:
    """Letters of a tenth as heavy as they are high do not stand on a small groove's wood: it is drawn so, and what is
    wrong with it is said."""
    piece = tried("20 %", "Maximilian", cutter="v30", wood="cherry", lid="reel-box")
    assert piece.lettering is not None
    assert piece.task is not None
    assert piece.task.weights == (("name", 0.2),)
    assert [line.weight for line in piece.lettering.lines] == pytest.approx([0.2 * piece.lettering.cap_mm])
    assert piece.verdict == "hold"
    assert "web-too-thin" in piece.serious


def test_matching_pieces_have_lines_alike() -> None:
    shop = env().shop
    orders = [
        replace(tried("auto", name).order, id=name, matching="set", piece=1, problems=())
        for name in ("Ida", "Margarethe")
    ]
    whats = define_all(orders, shop, env().shelf.kinds())
    entries = make_unit(whats, env())
    shares = {round(line.weight / line.cap_mm, 4) for e in entries for line in e.piece.lettering.lines}  # type: ignore[union-attr]
    caps = {round(e.piece.lettering.cap_mm, 3) for e in entries if e.piece.lettering}
    assert len(shares) == 1 and len(caps) == 1


def test_a_weight_in_a_table_that_is_none_is_a_mistake(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('[stack]\nline_weight = "thick"\n', "utf-8")
    with pytest.raises(ShopError) as caught:
        environment(tmp_path)
    assert "line_weight" in str(caught.value) and "auto" in str(caught.value)


def _of_set(line_weight: str, name: str, **other: str) -> Task:
    of = tried(line_weight, name, **other)
    order = replace(of.order, id=f"{name} {line_weight}", matching="set", piece=1, problems=())
    (what,) = define_all([order], env().shop, env().shelf.kinds())
    assert isinstance(what, Task)
    return what


def _shares(entries: Iterable[Entry]) -> list[float]:
    return [round(line.weight / line.cap_mm, 4) for e in entries for line in e.piece.lettering.lines]  # type: ignore[union-attr]


@pytest.mark.parametrize("proved", ["plain", "1/14"])
def test_lines_are_as_heavy_as_those_of_the_proved_one_though_the_size_is_right_already(proved: str) -> None:
    lid = {"lid": "card-box"}
    leader, other = tried(proved, "Ida", **lid), tried("auto", "Bo", **lid)
    assert leader.lettering is not None and other.lettering is not None
    assert leader.lettering.cap_mm == other.lettering.cap_mm  # or the size alone would have it made again
    entries = make_unit([_of_set(proved, "Ida", **lid), _of_set("auto", "Bo", **lid)], env(), {0: leader.lettering})
    assert len(set(_shares(entries))) == 1


def test_the_same_words_with_lines_of_two_weights_do_not_look_alike() -> None:
    """Around a rim all lines stand at 0: of one size, only their weight told these two apart."""
    of = tried("1/14", "Ida", lid="card-box")
    assert of.lettering is not None
    heavier = tuple(replace(line, weight=1.4 * line.weight) for line in of.lettering.lines)
    pair = [of, replace(of, lettering=replace(of.lettering, lines=heavier))]
    whats = [_of_set("1/14", "Ida", lid="card-box")] * 2
    made, _ = at_one_size(whats, pair, env())
    assert len(set(_shares(Entry(piece) for piece in made))) == 1


@pytest.mark.parametrize(("cutter", "depth"), [("v30", "0.3 mm"), ("v30", "1.1 mm"), ("ball-1", "0.3 mm")])
def test_lines_with_a_weight_are_cut_as_deep_as_the_row_asks(cutter: str, depth: str) -> None:
    """The depth was the recipe's again once lines had a weight, and their step was that of the other groove."""
    asked = float(depth.split()[0])
    piece = tried("14 %", "Li", cutter=cutter, depth=depth)
    assert piece.task is not None and piece.task.weighting is not None
    weighting = piece.task.weighting
    assert weighting.plain.depth == pytest.approx(asked)
    for tool in (weighting.tool, *weighting.others):
        assert tool.depth == pytest.approx(asked), tool.method
        assert tool.diameter == (
            tool.groove if tool.method == "side-by-side" else tool.cutter.least_width(asked, tool.recipe)
        )
    beside = next(t for t in (weighting.tool, *weighting.others) if t.method == "side-by-side")
    assert beside.groove == weighting.plain.groove
    assert 0 < beside.recipe.step_over <= beside.groove / 2


def test_a_beams_depth_stays_its_recipes_with_a_weight() -> None:
    told, plain = tried("auto", depth="2 mm"), tried("auto")
    assert told.task is not None and plain.task is not None
    assert told.task.tool == plain.task.tool
    assert "nothing-to-deepen" in codes(told)
