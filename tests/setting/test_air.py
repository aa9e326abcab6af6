"""Air: calm sizes, clear wood between fields, room for the eye round fittings and edges."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ink import ink

from engrave.setting import least_cap, place
from engrave.setting.compose.containment import is_inside
from engrave.setting.reading_frame import frame_of
from engrave.shop import Shop, load_shop
from engrave.tasks import Task
from engrave.typefaces import Shelf, load_shelf

Make = Callable[..., Task]


@pytest.mark.parametrize(
    ("name", "message", "level"),
    [
        ("Zac", "Love you to the moon & back", (1.0, 1.0)),
        ("Maggie", "Angel, ÅSE", (0.2, 0.4)),  # two g of six letters
        ("Tom", "sum", (1.0, 1.0)),
        ("Peggy", "sum", (0.4, 0.75)),
    ],
)
def test_fields_are_parted_by_clear_wood_of_the_smaller_line(
    name: str, message: str, level: tuple[float, float], task: Make, shelf: Shelf
) -> None:
    """Half a letter's height where single tails hang (Johnston, Writing & Illuminating, & Lettering, 1906), two thirds
    where the whole line stands level (NAVEDTRA 14069), in between by the share of it that does."""
    t = task("seed-box", name, message)
    laid = place(t, shelf)
    smaller = min(line.cap_mm for line in laid.lines)
    clear = ink(laid, "message")[0] - ink(laid, "name")[1]
    least, most = t.setting.field_gap, t.setting.level_gap
    low, high = (least + share * (most - least) for share in level)
    assert low * smaller * 0.98 <= clear <= high * smaller * 1.02
    assert 0.5 <= least <= most <= 1.0


@pytest.mark.parametrize("lid", ["card-box", "oval-box", "heart-box", "round-caddy", "puzzle-box", "letter-box"])
@pytest.mark.parametrize("words", [("Anna Berg", ""), ("Maximiliane Featherstone", "for every mile")])
def test_the_usual_size_is_calm_and_gives_up_no_more_than_a_third(
    lid: str, words: tuple[str, str], task: Make, shelf: Shelf
) -> None:
    """Sense, calm, air and middle together: no more than 35 % below the largest that fits under the same ceiling."""
    t = task(lid, *words)
    s = t.setting
    free = dict.fromkeys(
        (
            "even",
            "fewer_lines",
            "joint_strong",
            "joint_weak",
            "joint_plain",
            "ampersand",
            "short_line",
            "straddle",
            "air",
        ),
        0.0,
    )
    largest = place(replace(t, setting=replace(s, **free, fill=1.0, optical=0.0)), shelf).cap_mm
    assert 0.649 * largest <= place(t, shelf).cap_mm <= largest * 1.001


def test_quiet_usual_and_large(task: Make, shelf: Shelf) -> None:
    quiet, usual, large = (
        place(task("card-box", "Anna Berg", lettering_size=s), shelf).cap_mm for s in ("quiet", "usual", "large")
    )
    assert quiet < 0.9 * usual
    assert usual < 0.95 * large
    assert place(task("card-box", "Anna Berg"), shelf).cap_mm == usual


def test_inside_a_lid_words_are_smaller(task: Make, shelf: Shelf) -> None:
    t = task("card-box", "Li")
    inside = replace(t, area=replace(t.area, side="inside"))
    assert place(inside, shelf).cap_mm == pytest.approx(t.setting.greatest_inside * min(t.area.width, t.area.height))


def test_the_calm_size_is_given_up_before_words_are_too_small(task: Make, shelf: Shelf) -> None:
    """At 0.85 of what fits they would be below the least; at what fits they are not."""
    found = []
    for letters in range(14, 40):
        t = task("card-box", "", "m" * letters)
        least = least_cap(t, "message", shelf.get(t.typeface("message")))
        whole = place(replace(t, setting=replace(t.setting, fill=1.0, air=0.0)), shelf).cap_mm
        if whole * 0.86 < least < whole:
            found.append(place(t, shelf))
    assert found
    assert not any(p.code == "too-small" for laid in found for p in laid.problems)


SHOP, SHELF = load_shop(), load_shelf()


@settings(max_examples=12, deadline=None)
@given(air=st.floats(0.0, 1.5), lid=st.sampled_from(["card-box", "puzzle-box", "heart-box", "round-caddy"]))
def test_air_never_takes_ink_out_of_the_room(air: float, lid: str) -> None:
    from engrave.intake.order import Order, Words
    from engrave.tasks import define_all

    words = Words("Jørgen & Åse", "since 1987")
    t = next(
        x for x in define_all([Order("A", 1, 2, words, words, lid=lid)], SHOP, SHELF.kinds()) if isinstance(x, Task)
    )
    t = replace(t, setting=replace(t.setting, air=air))
    laid = place(t, SHELF)
    frame = frame_of(t.area, t.tool.machine, t.tool.cutter, laid.groove)
    assert frame is not None
    assert laid.marks
    assert is_inside(laid, frame)


def test_air_stands_round_a_dowel(task: Make, shelf: Shelf, shop: Shop) -> None:
    """A quarter of the smallest capitals beyond the cutter's clearance, where there is room for it."""
    t = task("puzzle-box", "Wilhelmina", "for your letters")
    laid = place(t, shelf)
    frame = frame_of(t.area, t.tool.machine, t.tool.cutter, laid.groove)
    assert frame is not None
    smallest = min(line.cap_mm for line in laid.lines)
    narrower = replace(frame, room=frame.room.buffer(-0.95 * t.setting.air * smallest, join_style="mitre"))
    assert is_inside(laid, narrower)
