"""Why a size, and what would have been next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from engrave.geometry.regions import centre_lines
from engrave.intake.order import Words
from engrave.setting import explain, place
from engrave.setting.explanation import Touch
from engrave.shop import room
from engrave.shop.artwork import Drawings
from engrave.tasks import Task
from engrave.typefaces import Shelf

Make = Callable[..., Task]


def test_the_greatest_is_the_limit(task: Make, shelf: Shelf) -> None:
    found = explain(task("oval-box", "Li"), shelf)
    assert found.limit == "greatest"
    assert "greatest" in found.says


def test_the_edge_is_the_limit(task: Make, shelf: Shelf) -> None:
    found = explain(task("card-box", "Maximiliane Featherstone", setting="stack-grand"), shelf)
    assert found.limit == "room"
    assert found.touches
    assert {t.what for t in found.touches} == {"edge"}
    assert all(t.gap < 0.2 for t in found.touches)


def test_a_keep_out_is_named(task: Make, shelf: Shelf) -> None:
    found = explain(task("puzzle-box", "Maximiliane Featherstone"), shelf)
    names = {k.why for k in task("puzzle-box", "x").area.keep_outs} | {"edge"}
    assert {t.what for t in found.touches} <= names


def test_runners_up_are_other_breaks_and_none_is_much_larger(task: Make, shelf: Shelf) -> None:
    t = task("card-box", "", "Happy birthday dear Grandad from all of us")
    found = explain(t, shelf)
    own = tuple(line.text for line in place(t, shelf).lines)
    assert 1 <= len(found.runners_up) <= 3
    assert own not in [r.lines for r in found.runners_up]
    give = t.setting.even + 3 * t.setting.fewer_lines + t.setting.ampersand
    assert all(r.cap_mm <= found.cap_mm * (1 + give) for r in found.runners_up)


def test_nothing_set(task: Make, shelf: Shelf) -> None:
    found = explain(task("dice-cup", "Donaudampfschifffahrtsgesellschaft" * 4, setting="stack"), shelf)
    assert found.limit == "nothing set"
    assert found.says


def test_touching_letters_are_named_by_their_marks(task: Make, shelf: Shelf) -> None:
    t = task("round-caddy", "Wanda", "sixty summers on the river", typeface="withy")
    found, laid = explain(t, shelf), place(t, shelf)
    assert found.touches
    assert [laid.marks[touch.mark].text for touch in found.touches] == [touch.letter for touch in found.touches]


def test_words_kept_small_for_looks_say_so(task: Make, shelf: Shelf) -> None:
    """They could be 19 mm high above the thumb notch; nearer to the middle they are 17 mm and touch nothing."""
    found = explain(task("puzzle-box", "Wilhelmina"), shelf)
    assert found.limit == "looks"
    assert "could be 19" in found.says


def test_the_composition_explained_is_the_one_placed(task: Make, shelf: Shelf) -> None:
    """A message larger than its ratio, so that it can be read, was explained as if it had kept the ratio."""
    t = task("heart-box", "Li", "for all the years at the lime kiln by the old harbour wall")
    laid, found = place(t, shelf), explain(t, shelf)
    assert found.cap_mm == laid.cap_mm
    assert tuple(line.text for line in laid.lines) not in [r.lines for r in found.runners_up]
    assert all(len({m.cap_mm for m in r.marks}) == len({m.cap_mm for m in laid.marks}) for r in found.runners_up)


def test_runners_up_are_laid_inside_the_room(task: Make, shelf: Shelf) -> None:
    t = task("round-caddy", "Wanda", "sixty summers on the river", typeface="withy")
    inside = room(t.area, t.tool.machine, t.tool.cutter).buffer(0.02)
    for other in explain(t, shelf).runners_up:
        assert "".join(m.text for m in other.marks) == "".join(other.lines).replace(" ", "")
        for mark in other.marks:
            assert inside.covers(centre_lines(mark.path()).buffer(t.tool.groove / 2))


@pytest.mark.parametrize("typeface", ["withy", "vollkorn"])
@pytest.mark.parametrize("lid", ["seed-box", "dice-cup"])
def test_a_frame_is_named_where_it_bounds_the_words(lid: str, typeface: str, task: Make, shelf: Shelf) -> None:
    """The frame's own line was told as a letter of no line, nearest of all to the lid's edge."""
    t = task(lid, "Maximiliane Featherstone", setting="frame", typeface=typeface, lettering_size="large")
    found, laid = explain(t, shelf), place(t, shelf)
    assert found.touches
    assert {t.what for t in found.touches} == {"frame"}
    assert all(not laid.marks[t.mark].is_ornament for t in found.touches)
    assert "''" not in found.says


def test_an_ornament_among_the_words_is_called_by_its_name() -> None:
    ornament, letter = Touch("the sprig", "", "edge", 0, 0, 0, 3), Touch("a", "an oar", "knob", 0, 0, 0, 3)
    assert [ornament.named, letter.named] == ["the sprig", "the 'a' of 'an oar'"]


@pytest.mark.parametrize("typeface", ["withy", "vollkorn"])
def test_a_drawing_is_named_where_it_bounds_the_words(typeface: str, task: Make, shelf: Shelf, tmp_path: Path) -> None:
    """Words below a drawing of a bar touch it; the drawing alone has no capitals, and was said to have some of 0.0 mm."""
    (tmp_path / "artwork").mkdir()
    bar = '<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0H90V9H0Z"/></svg>'
    (tmp_path / "artwork" / "bar.svg").write_text(bar, encoding="utf-8")
    bare = task("seed-box", "Li", typeface=typeface, lettering_size="large")
    t = replace(bare, artwork=Drawings(tmp_path).named("bar"))
    found = explain(t, shelf)
    assert {"drawing", "edge"} >= {touch.what for touch in found.touches} >= {"drawing"}
    assert all("bar" not in touch.letter for touch in found.touches)
    alone = explain(replace(t, words=Words()), shelf)
    assert (alone.limit, alone.touches) == ("nothing set", ())
    assert alone.says == "A drawing stands here without words."
