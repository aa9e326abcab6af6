"""Examples that a letterer marked as wrong, each on lids where it went wrong, and what the buyer asked for kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ink import ink

from engrave.geometry.flattening import flatten
from engrave.intake.order import Order, Words
from engrave.setting import Lettering, place
from engrave.setting.compose.containment import is_inside
from engrave.setting.reading_frame import frame_of
from engrave.shop import load_shop
from engrave.tasks import Task, define_all
from engrave.typefaces import Shelf, load_shelf

Make = Callable[..., Task]
SHOP, SHELF = load_shop(), load_shelf()
LIDS = ("heart-box", "round-caddy", "card-box", "oval-box")


def lines(laid: Lettering, field: str = "name") -> list[str]:
    return [line.text for line in laid.lines if line.field == field]


@pytest.mark.parametrize("lid", LIDS)
@pytest.mark.parametrize(
    ("words", "whole"),
    [
        (("Siobhán & Tomás", "", "14 June 2026"), ["& Tomás", "14 June"]),
        (("WILLIAM J. HENDERSON III",), ["HENDERSON III"]),
        (("S M R",), ["S M R"]),
        (("Tim & Ann",), ["& Ann"]),
        (("A & B",), ["A & B"]),
        (("", "Dr. & Mrs. Okafor"), ["Dr. & Mrs."]),
        (("", "from the staff of the Ferry House"), ["the staff", "of the"]),
        (("", "З любов'ю від мами"), ["З любов'ю"]),
        (("★ Zoë ★",), ["★ Zoë ★"]),
        (("Anneliese", "with love from Mum and Dad"), ["with love", "Mum and Dad"]),
    ],
)
def test_what_belongs_together_stands_in_one_line(
    lid: str, words: tuple[str, ...], whole: list[str], task: Make, shelf: Shelf
) -> None:
    laid = place(task(lid, *words), shelf)
    every = [line.text for line in laid.lines]
    assert every
    for kept in whole:
        assert any(kept in line for line in every), every
    assert not {"and", "&", "with", "III"} & set(every)


def test_a_short_name_and_a_short_foot_keep_near_a_message(task: Make, shelf: Shelf) -> None:
    """39 mm of bare wood stood between 'Zac' and 'Dad'."""
    laid = place(task("seed-box", "Zac", "Love you to the moon & back", "Dad"), shelf)
    cap = {line.field: line.cap_mm for line in laid.lines}
    assert 0.45 <= (ink(laid, "message")[0] - ink(laid, "name")[1]) / cap["message"] <= 0.75
    assert (ink(laid, "foot")[0] - ink(laid, "message")[1]) / cap["foot"] <= 1.4


@pytest.mark.parametrize("lid", ["card-box", "oval-box", "seed-box"])
@pytest.mark.parametrize("words", [("Anna", "g"), ("gypsy", ""), ("Jo", "with all our love and good wishes", "2026")])
def test_uneven_blocks_stand_two_to_three_hundredths_high(
    lid: str, words: tuple[str, ...], task: Make, shelf: Shelf
) -> None:
    """They stood 7 to 9 % of the lid's height too high."""
    t = task(lid, *words)
    laid = place(t, shelf)
    raised = (t.area.height - sum(ink(laid))) / 2 / t.area.height
    assert 0.0 < raised < 0.04


@pytest.mark.parametrize(
    ("lid", "share", "least"), [("dice-cup", 0.20, 0.1), ("card-box", 0.26, 0.25), ("needle-box", 0.38, 0.37)]
)
def test_capitals_are_calm_on_every_kind_of_lid(lid: str, share: float, least: float, task: Make, shelf: Shelf) -> None:
    """No larger than a share of the lid's shorter side, and as large as that where nothing stands in the way."""
    t = task(lid, "Li")
    side = min(t.area.width, t.area.height)
    assert least * side <= place(t, shelf).cap_mm <= share * side + 1e-6


@pytest.mark.parametrize("lid", ["round-caddy", "domino-box"])
@pytest.mark.parametrize("name", ["Ewa", "Li", "Łukasz"])
def test_a_line_between_knob_and_edge_stands_in_the_middle_of_its_half(
    lid: str, name: str, task: Make, shelf: Shelf
) -> None:
    """3 mm from the knob and 19 mm from the rim it stood."""
    t = task(lid, name, "mountain tea")
    laid = place(t, shelf)
    top, bottom = ink(laid, "name")
    knob = min(float(np.concatenate([flatten(c, 0.01)[:, 1] for c in k.outline]).min()) for k in t.area.keep_outs)
    over, under = top, knob - bottom
    assert 0.4 <= under / over <= 1.3, (over, under)


# --- what the buyer asked for -------------------------------------------------------------------------------------


WORDS = st.sampled_from(["Ann", "Ole", "Maximiliane", "&", "from", "the", "staff", "2026", "Jr.", "love", "Zoë", "J."])
TEXT = st.lists(st.lists(WORDS, min_size=1, max_size=4).map(" ".join), min_size=1, max_size=3).map("\n".join)


CURVED = ("rim", "rim-both", "medallion", "arch")
"""Settings in which a field can be one line along a curve, of which nothing stands on a baseline."""


@settings(max_examples=30, deadline=None)
@given(
    name=TEXT, message=st.one_of(st.just(""), TEXT), lid=st.sampled_from(LIDS),
    setting=st.sampled_from(["stack", "rim", "rim-both", "medallion", "arch", "name-rule", "frame", "pair"]),
)  # fmt: skip
def test_words_keep_their_order_and_the_buyers_breaks(name: str, message: str, lid: str, setting: str) -> None:
    """A line never holds words from both sides of a break that was typed, but along a rim or an arch, which has one line."""
    words = Words(name, message)
    order = Order("B", 1, 2, words, words, lid=lid, setting=setting)
    t = next(x for x in define_all([order], SHOP, SHELF.kinds()) if isinstance(x, Task))
    laid = place(t, SHELF)
    assume(laid.marks)
    for field, text in t.words.filled():
        found = [line for line in laid.lines if line.field == field]
        assert " ".join(line.text for line in found).split() == text.split()
        if setting not in CURVED or [line.baseline for line in found] != [0.0]:
            ends = np.cumsum([len(line.text.split()) for line in found]).tolist()
            assert set(np.cumsum([len(line.split()) for line in text.split("\n")]).tolist()) <= set(ends)


@settings(max_examples=20, deadline=None)
@given(
    air=st.floats(0.0, 2.0),
    lid=st.sampled_from(["round-caddy", "domino-box", "fly-box", "puzzle-box-left", "heart-box", "reel-box"]),
    setting=st.sampled_from(
        ["stack", "rim", "rim-both", "medallion", "arch", "name-sprig", "frame-double", "monogram"]
    ),
)
def test_air_never_takes_ink_out_of_the_room_in_any_setting(air: float, lid: str, setting: str) -> None:
    words = Words("J & Å" if setting == "monogram" else "Jørgen & Åse", "since 1987")
    order = Order("A", 1, 2, words, words, lid=lid, setting=setting)
    t = next(x for x in define_all([order], SHOP, SHELF.kinds()) if isinstance(x, Task))
    t = replace(t, setting=replace(t.setting, air=air))
    laid = place(t, SHELF)
    frame = frame_of(t.area, t.tool.machine, t.tool.cutter, laid.groove)
    assert frame is not None
    assert is_inside(laid, frame)
