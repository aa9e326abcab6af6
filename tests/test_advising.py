"""Remedies: every one that is offered, applied, clears its problem and adds none."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from engrave.advising import HELPABLE, LEAST_SAVED, clears, leaves, nothing_helps
from engrave.cutting.letter_room import NO_ROOM_BETWEEN
from engrave.findings import FINDINGS
from engrave.making import environment
from engrave.output.sheets.proof import letters_told
from engrave.output.svg import proof_code
from engrave.verbs import apply_remedy, make_orders, try_words
from engrave.week import make_unit

DEMO = Path(__file__).resolve().parents[1] / "orders_demo"


def test_an_unknown_lid_has_no_remedy() -> None:
    assert try_words("Wanda", lid="no-such-lid").entries[0].remedies == ()


def test_applying_a_remedy_changes_the_order_as_it_says() -> None:
    env = environment()
    tried = try_words(
        "Grandad", message="happy birthday from all of us", lid="puzzle-box", typeface="linux-libertine", cutter="mill-05",
        wood="mahogany", env=env,
    )  # fmt: skip
    assert tried.entries[0].piece.verdict == "hold"
    remedy = tried.entries[0].remedies[0]
    again = apply_remedy(tried, remedy, env)
    (column, value), *_ = remedy.change
    assert getattr(again.order, column) == value
    assert again.entries[0].piece.is_made


def test_letters_too_close_are_spaced_by_what_is_missing(tmp_path: Path) -> None:
    """The remedy is one cell of the orders table: written there and run again it gives the very piece."""
    env = environment()
    ordered = {"lid": "round-caddy", "typeface": "withy", "cutter": "mill-08", "wood": "maple"}
    tried = try_words("Willi Ritter", message="from all your sons", env=env, **ordered)
    piece = tried.entries[0].piece
    assert [p.code for p in piece.problems if p.level == "hold"] == ["web-too-thin"]
    remedy = tried.entries[0].remedies[0]
    ((column, value),) = remedy.change
    assert column == "spacing"
    assert "mm wider" in remedy.says
    table = tmp_path / "orders.csv"
    row = ["Willi Ritter", "from all your sons", *ordered.values(), value]
    table.write_text(",".join(["name", "message", *ordered, "spacing"]) + "\n" + ",".join(row) + "\n")
    whats, file = make_orders(table, env)
    assert not file.columns
    (entry,) = make_unit(list(whats), env)
    assert entry.piece.is_made
    assert proof_code(entry.piece) == proof_code(remedy.piece) is not None
    half = f"{float(value.removesuffix('%')) / 2:g} %"
    less = try_words("Willi Ritter", message="from all your sons", spacing=half, env=env, **ordered)
    assert less.entries[0].piece.verdict == "hold"  # no more than is needed


def test_strokes_too_fine_are_thickened_by_what_is_missing() -> None:
    """Each side by half of what lacks; the webs lose it, and are checked with it."""
    env = environment()
    ordered = {"lid": "card-box", "typeface": "dancing-script", "cutter": "mill-08", "wood": "maple"}
    ordered["setting"] = "stack-grand"  # no calm to be given up besides
    tried = try_words("Rosemary", env=env, **ordered)
    (problem,) = [p for p in tried.entries[0].piece.problems if p.level == "hold"]
    assert problem.code == "stroke-too-thin"
    (remedy,) = [r for r in tried.entries[0].remedies if dict(r.change).keys() == {"thicken"}]
    again = apply_remedy(tried, remedy, env).entries[0].piece
    assert again.is_made
    assert proof_code(again) == proof_code(remedy.piece) is not None
    assert again.fitness is not None
    assert again.fitness.stroke is not None
    assert 0.8 <= again.fitness.stroke.width < 0.8 * 1.06  # no more than is needed
    less = f"{float(dict(remedy.change)['thicken'].removesuffix('%')) * 0.7:g} %"
    held = try_words("Rosemary", thicken=less, env=env, **ordered).entries[0].piece
    assert held.verdict != "ready"


def test_single_lines_are_not_thickened_and_it_is_said() -> None:
    env = environment()
    plain, thick = (try_words("Ada", typeface="withy", thicken=t, env=env).entries[0].piece for t in ("", "2 %"))
    assert proof_code(plain) == proof_code(thick)
    assert [p.code for p in thick.problems if p not in plain.problems] == ["nothing-to-thicken"]


def test_what_no_single_change_helps_is_helped_by_two() -> None:
    env = environment()
    tried = try_words(
        "MAX", message="happy birthday from all of us", lid="dice-cup", typeface="linux-libertine", cutter="ball-2",
        wood="oak", env=env,
    )  # fmt: skip
    remedies = tried.entries[0].remedies
    assert remedies
    assert all(len(r.change) > 1 for r in remedies)
    assert [{c for c, _ in r.change} for r in remedies] == [{"cutter", "spacing"}]  # the typeface stays
    for remedy in remedies:
        assert apply_remedy(tried, remedy, env).entries[0].piece.is_made


def test_another_typeface_that_lacks_only_space_is_spaced() -> None:
    env = environment()
    words = ("MacGillivray", "with thanks from the whole crew")
    ordered = {"lid": "needle-box", "cutter": "co2-tube", "wood": "ash", "env": env}
    tried = try_words(*words, typeface="dancing-script", **ordered)  # type: ignore[arg-type]
    (both, *_) = [r for r in tried.entries[0].remedies if {c for c, _ in r.change} == {"typeface", "spacing"}]
    assert apply_remedy(tried, both, env).entries[0].piece.is_made
    typeface = dict(both.change)["typeface"]
    alone = try_words(*words, typeface=typeface, **ordered).entries[0].piece  # type: ignore[arg-type]
    assert not alone.is_made


def test_that_nothing_helps_is_said_with_the_size_it_would_need(tmp_path: Path) -> None:
    """In a shop that owns one bit: with a laser these words could be cut in lines one over the other."""
    (tmp_path / "cutters.toml").write_text('[mill-1]\ntitle = "The end mill"\n', encoding="utf-8")
    env = environment(tmp_path)
    entry = try_words(
        "Wilhelmina Bartholomew Featherstonehaugh of Nether Wallop", lid="dice-cup", typeface="vollkorn",
        cutter="mill-1", wood="oak", env=env,
    ).entries[0]  # fmt: skip
    assert entry.remedies == ()
    (fine,) = [p for p in entry.piece.problems if p.code == "stroke-too-thin"]
    assert fine.value is not None
    assert fine.limit == 1.0  # the mill's diameter: the letters must grow until their finest stroke is as wide
    assert f"{1.0 / float(fine.value):.1f} times as large" in nothing_helps(entry.piece, entry.remedies)
    unknown = try_words("Wanda", lid="no-such-lid", env=env).entries[0]
    assert nothing_helps(unknown.piece, unknown.remedies) == ""


@pytest.mark.parametrize("typeface", ["ems-allure", "dancing-script"])
def test_joined_letters_are_never_spaced(typeface: str) -> None:
    env = environment()
    shown = [
        try_words("Willi Ritter", lid="round-caddy", typeface=typeface, cutter="co2-tube", spacing=spacing, env=env)
        for spacing in ("", "5 %")
    ]
    assert all(c != "spacing" for r in shown[0].entries[0].remedies for c, _ in r.change)
    one, two = (t.entries[0].piece.lettering for t in shown)
    assert one is not None
    assert two is not None
    assert one.marks == two.marks


def test_wood_that_lacks_inside_a_letter_is_not_helped_by_spacing() -> None:
    env = environment()
    tried = try_words("ee", lid="round-caddy", typeface="withy", cutter="v60", wood="oak", message="e" * 30, env=env)
    lacking = [p for p in tried.entries[0].piece.problems if p.code in NO_ROOM_BETWEEN]
    assert any(not p.where.startswith("between") for p in lacking)
    assert all(c != "spacing" for r in tried.entries[0].remedies for c, _ in r.change)


def test_single_lines_are_named_where_they_save_minutes() -> None:
    env = environment()
    ordered = {"lid": "letter-box", "wood": "cherry"}  # large enough: lines with a weight take their time too
    piece = try_words("Wanda", typeface="vollkorn", env=env, **ordered).entries[0].piece
    (note,) = [p for p in piece.problems if p.code == "single-line"]
    assert note.level == "note"
    assert piece.estimate is not None
    ident = note.says.split("(")[1].split(")")[0].split(", ")[1]
    again = try_words("Wanda", typeface=ident, env=env, **ordered).entries[0].piece
    assert again.estimate is not None
    assert again.is_made
    assert again.estimate.seconds == pytest.approx(float(note.value or 0), abs=0.06)
    assert again.estimate.seconds < 0.9 * piece.estimate.seconds - LEAST_SAVED / 2
    assert not any(p.code == "single-line" for p in again.problems)


@pytest.mark.slow
@pytest.mark.parametrize("table", ["ferry_week.csv", "messy_export.csv"])
def test_every_remedy_of_the_demo_weeks_works(table: str) -> None:
    env = environment()
    whats, _ = make_orders(DEMO / table, env)
    offered = 0
    for what in whats:
        for entry in make_unit([what], env):
            for remedy in entry.remedies:
                offered += 1
                targets = entry.piece.serious & HELPABLE
                assert leaves(entry.piece, remedy.piece, targets) == remedy.leaves
                assert remedy.leaves or clears(entry.piece, remedy.piece, targets)
                assert all(FINDINGS[code].means in remedy.says for code in remedy.leaves)
                assert remedy.piece.estimate is not None
                assert remedy.piece.quote is not None
    assert offered > 0 or table != "ferry_week.csv"


def test_every_problem_that_is_helped_is_one_that_some_stage_finds() -> None:
    stages = Path(__file__).resolve().parents[1] / "engrave"
    source = "".join(
        p.read_text("utf-8") for p in stages.rglob("*.py") if p.parent.name != "advising" and p.stem != "findings"
    )
    assert all(f'"{code}"' in source for code in HELPABLE)


def test_a_cutter_that_cannot_make_the_letters_is_changed_before_the_typeface_is() -> None:
    tried = try_words("Ada", lid="card-box", typeface="vollkorn", cutter="half-round-20", wood="walnut")
    changes = [dict(r.change) for r in tried.entries[0].remedies]
    assert changes
    assert all(set(c) == {"cutter"} for c in changes)  # the bit is the shop's own business, the typeface the buyer's


def test_a_groove_too_light_is_helped_by_the_next_wider_bit() -> None:
    tried = try_words("Ada", lid="card-box", typeface="withy", cutter="v60", wood="maple")
    piece = tried.entries[0].piece
    assert [p.code for p in piece.problems if p.level == "look"] == ["groove-light"]
    assert piece.task is not None
    first = tried.entries[0].remedies[0].piece
    assert first.task is not None
    assert first.task.tool.machine == piece.task.tool.machine  # not the beam on the other side of the shop
    assert first.task.tool.groove > piece.task.tool.groove


def test_letters_are_opened_up_only_where_the_wood_lacks_and_only_so_far() -> None:
    env = environment()
    ordered = {"lid": "puzzle-box", "typeface": "vollkorn", "cutter": "co2-tube", "wood": "western-redcedar"}
    said = {"message": "happy birthday from all of us"}
    piece = try_words("Grandad", env=env, **ordered, **said).entries[0].piece
    (note,) = [p for p in piece.problems if p.code == "opened-up"]
    assert (piece.verdict, note.level) == ("ready", "note")
    assert piece.task is not None
    assert 0.0 < piece.task.tracking <= piece.task.setting.open_up
    assert piece.task.tracking == pytest.approx(note.value)
    assert piece.fitness is not None
    least = piece.task.wood.web_across * 0.6  # the share of a beam half a mm deep
    assert piece.fitness.web is not None
    assert least <= piece.fitness.web.width < least + 0.01 * piece.lettering.cap_mm  # type: ignore[union-attr]
    alone = try_words("Grandad", env=env, **ordered).entries[0].piece
    assert not any(p.code == "opened-up" for p in alone.problems)
    said_so = try_words("Grandad", env=env, spacing="2 %", **ordered, **said).entries[0].piece
    assert said_so.task is not None
    assert said_so.task.tracking == 0.02  # the order says how far, and that holds
    assert not any(p.code == "opened-up" for p in said_so.problems)
    as_drawn = try_words("Grandad", env=env, spacing="0", **ordered, **said).entries[0].piece
    assert as_drawn.verdict == "hold"


def test_a_shop_that_wants_letters_as_drawn_says_so(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text("[stack]\nopen_up = 0\n", encoding="utf-8")
    env = environment(tmp_path)
    tried = try_words(
        "Grandad",
        message="happy birthday from all of us",
        lid="puzzle-box",
        typeface="vollkorn",
        cutter="co2-tube",
        wood="western-redcedar",
        env=env,
    )
    assert tried.entries[0].piece.verdict == "hold"
    assert dict(tried.entries[0].remedies[0].change).keys() == {"spacing"}


def test_a_short_name_held_by_a_long_one_of_its_set_is_offered_its_own_size(tmp_path: Path) -> None:
    env = environment()
    table = tmp_path / "orders.csv"
    table.write_text(
        "order,name,lid,typeface,matching,cutter,wood\n1,Ida,card-box,withy,set,v60,oak\n"
        "2,Christopher Montgomery-Featherstonehaugh,card-box,withy,set,diode-450,maple\n",
        encoding="utf-8",
    )
    whats, _ = make_orders(table, env)
    short, _ = make_unit(whats, env)
    assert short.piece.verdict == "hold"
    assert short.remedies[0].change == (("matching", ""),)
    alone = short.remedies[0].piece
    assert alone.is_made
    assert alone.lettering is not None
    assert alone.lettering.cap_mm == pytest.approx(short.alone_mm)


def test_a_groove_too_light_is_not_made_lighter() -> None:
    """A beam's mark is lighter still; that it is only a note there does not help who wanted it bolder."""
    for entry in try_words(
        "Þórður", lid="reel-box", typeface="withy", cutter="v60", wood="ash", lettering_size="large"
    ).entries:
        assert "groove-light" in entry.piece.serious
        assert entry.remedies
        for remedy in entry.remedies:
            assert not any(p.code == "groove-light" for p in remedy.piece.problems)


def test_a_cutter_that_only_follows_lines_is_given_lines() -> None:
    tried = try_words("Friedrich", lid="oval-box", typeface="linux-libertine", cutter="half-round-20", wood="cherry")
    assert [p.code for p in tried.entries[0].piece.problems if p.level == "hold"] == ["outline-needs-area"]
    assert tried.entries[0].remedies


def test_what_is_wrong_with_a_whole_row_is_helped_in_every_area() -> None:
    """A cutter that passes on the name above may not on the message inside."""
    env = environment()
    ordered = {"lid": "letter-box", "typeface": "vollkorn", "cutter": "ball-1", "wood": "ash"}
    tried = try_words("Elodie", message="forty summers on the river", env=env, **ordered)
    assert {p.code for e in tried.entries for p in e.piece.problems} == {"no-recipe"}
    assert any(e.remedies for e in tried.entries)
    for entry in tried.entries:
        for remedy in entry.remedies:
            again = apply_remedy(tried, remedy, env)
            assert len(again.entries) == 2
            assert all(e.piece.is_made for e in again.entries), remedy.change
            assert {code for e in again.entries for code in e.piece.serious} == set(remedy.leaves), remedy.change


@pytest.mark.parametrize(("typeface", "wood"), [("great-vibes", "walnut"), ("gfs-didot", "oak"), ("noto-sans", "oak")])
def test_a_remedy_for_one_area_does_no_harm_in_another(typeface: str, wood: str) -> None:
    """Thicker strokes close the message inside; a V-bit that suits the message is too narrow for the name."""
    env = environment()
    ordered = {"lid": "letter-box", "typeface": typeface, "cutter": "mill-2", "wood": wood}
    tried = try_words("Jo", message="for all the years on the river by the mill", env=env, **ordered)
    assert len(tried.entries) == 2
    assert any(entry.remedies for entry in tried.entries)
    for index, entry in enumerate(tried.entries):
        for remedy in entry.remedies:
            again = apply_remedy(tried, remedy, env).entries
            if len(again) == len(tried.entries):
                other = 1 - index
                assert again[other].piece.serious <= tried.entries[other].piece.serious, remedy.change


def test_the_remedy_says_how_much_thicker_strokes_really_are() -> None:
    """In mm: a share of the capitals' height is no share of the stroke, and capitals are brought back to their height."""
    env = environment()
    ordered = {"lid": "card-box", "typeface": "dancing-script", "cutter": "mill-08", "wood": "maple"}
    drawn = try_words("Rosemary", env=env, **ordered).entries[0]
    (remedy,) = [r for r in drawn.remedies if dict(r.change).keys() == {"thicken"}]
    said = float(remedy.says.split("stroke ")[1].split(" mm")[0])
    fit, thick = drawn.piece.fitness, remedy.piece.fitness
    assert fit is not None and fit.stroke is not None and drawn.piece.lettering is not None
    assert thick is not None and thick.stroke is not None and remedy.piece.lettering is not None
    at_size = fit.stroke.width * remedy.piece.lettering.cap_mm / drawn.piece.lettering.cap_mm
    assert thick.stroke.width - at_size == pytest.approx(said, abs=0.06)
    assert f"strokes up to {said:g} mm thicker than the typeface's" in letters_told(
        [remedy.piece], env.shop.proof, env.shelf
    )


SECONDS = 10.0
"""CPU that no input may take, measuring of its letters included; these take."""


@pytest.mark.parametrize(
    ("name", "ordered"),
    [
        ("\u06dd" * 12, {}),  # an ornament of more than a thousand loops, which other cutters would follow
        ("Ada", {"lid": "dice-cup", "message": "with all our love and the very best wishes for the years to come from everyone here " * 4}),
    ],
    ids=["ornaments", "long message"],
)  # fmt: skip
def test_no_words_take_long_to_advise_on(
    name: str, ordered: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ENGRAVE_CACHE", str(tmp_path))  # nothing measured before
    env = environment()
    ordered = ordered | {"message": ordered.get("message", "")[:300]}
    begun = time.process_time()
    try_words(name, env=env, **ordered)  # type: ignore[arg-type]
    assert time.process_time() - begun < SECONDS
