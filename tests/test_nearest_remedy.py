"""What is offered first: what stays nearest to what was ordered; and what is only milder is said to be so."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace

import pytest
from week.made import MARK, entry

from engrave.advising import HELPABLE, leaves, nothing_helps, remedies
from engrave.advising.nearness import character_of, cutter_of, how_near, looks_changed, machine_of, typeface_of
from engrave.advising.others import other_settings, usable
from engrave.findings import FINDINGS
from engrave.making import Env, Piece, environment
from engrave.problems import Level, Problem
from engrave.verbs import Tried, apply_remedy, try_words


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def _piece(*found: tuple[str, Level]) -> Piece:
    made = entry("a").piece
    assert made.lettering
    problems = tuple(Problem(code, level, "so") for code, level in found)  # type: ignore[arg-type]
    return replace(made, lettering=replace(made.lettering, marks=(MARK,)), problems=problems)


@pytest.mark.parametrize(
    ("before", "after", "left"),
    [
        ([("web-too-thin", "hold")], [], ()),
        ([("web-too-thin", "hold")], [("groove-light", "look")], ("groove-light",)),
        ([("web-too-thin", "hold")], [("groove-light", "note")], ()),
        ([("web-too-thin", "hold"), ("groove-heavy", "look")], [("groove-heavy", "look")], ("groove-heavy",)),
        ([("web-too-thin", "hold")], [("all-capitals-in-script", "look")], None),  # that is the buyer's matter
        ([("web-too-thin", "hold"), ("flatness-web", "look")], [("flatness-web", "look")], ("flatness-web",)),
        ([("groove-light", "look"), ("flatness-web", "look")], [("flatness-web", "look")], ("flatness-web",)),
        ([("groove-light", "look")], [("flatness-web", "look")], None),
        ([("web-too-thin", "hold")], [("loop-fills", "hold")], None),
        ([("groove-light", "look")], [("groove-heavy", "look")], None),  # no milder than before
        ([("groove-light", "look")], [("groove-light", "note")], None),
    ],
)
def test_what_a_milder_finding_is(
    before: list[tuple[str, Level]], after: list[tuple[str, Level]], left: tuple[str, ...] | None
) -> None:
    targets = {code for code, _ in before} & HELPABLE
    assert leaves(_piece(*before), _piece(*after), targets) == left


def test_the_order_of_offers_is_from_near_to_far(env: Env) -> None:
    """Words and lid before all; then machine and typeface; then character of letter; then what is clear of looks."""
    ordered = {"lid": "card-box", "typeface": "noto-sans", "cutter": "mill-1", "wood": "maple", "env": env}
    now = try_words("Ida", **ordered).entries[0].piece  # type: ignore[arg-type]

    def of(**change: str) -> Piece:
        return try_words("Ida", **(ordered | change)).entries[0].piece  # type: ignore[arg-type]

    line: list[tuple[dict[str, str], int]] = [
        ({"spacing": "3 %"}, 0),
        ({"depth": "0.4 mm"}, 0),
        ({"cutter": "mill-08"}, 0),
        ({"thicken": "1 %"}, 0),
        ({"setting": "stack-grand"}, 0),
        ({"cutter": "mill-08"}, 1),  # to be looked at then
        ({"cutter": "co2-tube"}, 0),
        ({"typeface": "quicksand"}, 0),
        ({"typeface": "quicksand", "cutter": "co2-tube"}, 0),
        ({"typeface": "vollkorn"}, 0),
        ({"typeface": "vollkorn", "cutter": "co2-tube"}, 0),
        ({"message": ""}, 0),
        ({"lid": "seed-box"}, 0),
    ]
    keys = [how_near(tuple(change.items()), looks, now, of(**change), env) for change, looks in line]
    assert all(a < b for a, b in itertools.pairwise(keys)), keys


def test_a_typeface_has_a_character_of_letter(env: Env) -> None:
    names = ("great-vibes", "ems-allure", "blankenburg", "vollkorn", "gfs-didot", "noto-sans", "withy", "roboto-slab")
    characters = [character_of(name, env) for name in names]
    assert characters == ["script", "script", "display", *["thick and thin"] * 2, *["even"] * 3]


@pytest.mark.parametrize("written", [lambda title: title, str.upper])
def test_a_row_without_a_task_is_known_by_titles_in_any_case(env: Env, written: Callable[[str], str]) -> None:
    """As `define_all` reads rows: by a cutter's title alone, every change was one to another machine."""
    shop = env.shop
    mill = next(c for c in shop.cutters.values() if c.machine != shop.cutters[shop.defaults.cutter].machine)
    lid = shop.lids["card-box"]
    wood = next(w for w in shop.woods.values() if w.id == "maple")
    setting = next(s for s in shop.settings.values() if s.kind != shop.settings[shop.defaults.setting].kind)
    of = {"lid": lid.title, "cutter": mill.title, "wood": wood.title, "setting": setting.title, "typeface": "vollkorn"}
    order = replace(entry("a").piece.order, **{column: written(title) for column, title in of.items()})  # type: ignore[arg-type]
    piece = Piece(order, 1)
    assert (cutter_of(piece, env), machine_of(piece, env)) == (mill.id, mill.machine)
    assert typeface_of(piece, env) == "vollkorn"
    assert usable(piece, env)
    assert mill.id not in {c.id for c in usable(piece, env)}
    found = [dict(c.change)["setting"] for c in other_settings(piece, env)]
    assert found
    assert all(shop.settings[ident].kind != setting.kind for ident in found)


def _holding(tried: Tried, env: Env) -> None:
    """Every remedy, applied, comes out as it says."""
    for remedy in tried.entries[0].remedies:
        (again,) = apply_remedy(tried, remedy, env).entries
        assert again.piece.is_made, remedy.change
        assert again.piece.serious == set(remedy.leaves)
        assert all(FINDINGS[code].means in remedy.says for code in remedy.leaves)


def test_a_bit_that_leaves_only_a_look_comes_before_another_typeface_on_the_laser(env: Env) -> None:
    """Philip, EMS Nixish, V-bit 60 in maple: the ball of 1 mm clears the hold, and what remains is said."""
    tried = try_words("Philip", typeface="ems-nixish", cutter="v60", wood="maple", env=env)
    (one,) = tried.entries
    assert one.piece.verdict == "hold"
    near = [r for r in one.remedies if looks_changed(one.piece, r.piece, env) == 0]
    assert near
    assert near == list(one.remedies[: len(near)])
    assert one.remedies[0] in near
    _holding(tried, env)


def test_a_groove_too_light_is_cut_deeper_on_the_same_bit(env: Env) -> None:
    """The depth is what the bit's shape asks for the groove that is needed, and the piece is made and checked with it."""
    tried = try_words("Ada", lid="card-box", typeface="withy", cutter="v60", wood="maple", env=env)
    piece = tried.entries[0].piece
    assert "groove-light" in piece.serious
    (remedy,) = [r for r in tried.entries[0].remedies if [c for c, _ in r.change] == ["depth"]]
    (again,) = apply_remedy(tried, remedy, env).entries
    assert "groove-light" not in {p.code for p in again.piece.problems}
    was, now = piece.task, again.piece.task
    assert was is not None
    assert now is not None
    assert now.tool.cutter == was.tool.cutter
    assert now.tool.depth > was.tool.depth
    assert f"{now.tool.depth:.2f} mm deep instead of {was.tool.depth:.2f} mm" in remedy.says
    less = try_words(
        "Ada",
        lid="card-box",
        typeface="withy",
        cutter="v60",
        wood="maple",
        depth=f"{now.tool.depth - 0.03:.2f} mm",
        env=env,
    )
    assert "groove-light" in less.entries[0].piece.serious  # no deeper than is needed


def test_an_order_may_ask_for_a_depth(env: Env) -> None:
    usual, deeper, beam = (
        try_words("Ada", lid="card-box", typeface="withy", wood="maple", env=env, **more).entries[0].piece  # type: ignore[arg-type]
        for more in ({"cutter": "v60"}, {"cutter": "v60", "depth": "3/64 in"}, {"cutter": "co2-tube", "depth": "1 mm"})
    )
    assert usual.task is not None
    assert deeper.task is not None
    assert deeper.task.tool.depth == pytest.approx(25.4 * 3 / 64, abs=1e-4)
    assert deeper.task.tool.groove > usual.task.tool.groove
    assert [p.level for p in beam.problems if p.code == "nothing-to-deepen"] == ["note"]
    assert beam.task is not None
    assert beam.task.tool.depth == beam.task.tool.recipe.depth
    much = try_words("Ada", lid="card-box", typeface="withy", cutter="v60", depth="9 mm", env=env).entries[0].piece
    (limited,) = [p for p in much.problems if p.code == "depth-limited"]
    assert "9.00 mm asked for" in limited.says


def test_what_the_order_is_held_for_is_answered_before_anything_is_tried(env: Env) -> None:
    piece = (
        try_words("Ada", lid="card-box", typeface="vollkorn", cutter="mill-2", wood="maple", env=env).entries[0].piece
    )
    assert remedies(piece, env)
    asked = replace(piece.order, problems=(Problem("question", "hold", "Do you have blue ones?"),))
    waiting = replace(piece, order=asked, problems=(*asked.problems, *piece.problems))
    assert remedies(waiting, env) == ()
    assert nothing_helps(waiting, ()) == ""


def test_a_groove_as_wide_as_its_bit_is_no_matter_of_depth(env: Env) -> None:
    """An end mill leaves one width at any depth: a light groove there is helped otherwise."""
    (one,) = try_words("Ada", lid="card-box", typeface="ems-tech", cutter="mill-05", wood="maple", env=env).entries
    assert "groove-light" in one.piece.serious
    assert all("depth" not in dict(r.change) for r in one.remedies)


def test_a_weight_is_offered_before_another_bit(env: Env) -> None:
    """Either makes a light line as wide; only one of them leaves the bit in the machine that is there."""
    ordered = {"lid": "needle-box", "typeface": "withy", "cutter": "half-round-20", "wood": "walnut"}
    (tried,) = try_words("Ada", env=env, **ordered).entries  # type: ignore[arg-type]
    assert tried.piece.serious == {"groove-light"}
    columns = [[column for column, _ in r.change] for r in tried.remedies]
    assert columns[0] == ["line_weight"]
    assert ["cutter"] in columns
