"""A short foot in small capitals: a style that is told, and never where it would change what the words say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.setting import least_cap, place
from engrave.setting.text.fields import shaped_fields
from engrave.setting.text.foot_capitals import drawn_in_capitals
from engrave.tasks import Task
from engrave.typefaces import Shelf, load_shelf
from tests.promises import promised

Make = Callable[..., Task]
SHELF = load_shelf()
VOLLKORN = SHELF.get("vollkorn")


@pytest.mark.parametrize(
    ("words", "drawn"),
    [("Est. 2024", "EST. 2024"), ("14 June 2026", "14 JUNE 2026"), ("Isle of Skye", "ISLE OF SKYE"), ("2026", "2026"),
     ("Київ, зима 2024", "КИЇВ, ЗИМА 2024"), ("Été à Nîmes", "ÉTÉ À NÎMES")],
)  # fmt: skip
def test_dates_and_places_can_stand_in_capitals(words: str, drawn: str) -> None:
    assert drawn_in_capitals(words, VOLLKORN, 24) == drawn


@pytest.mark.parametrize(
    "words",
    ["the 14th of June", "1er mai", "5 kg of tea", "7 pm", "Peter McKay", "Große Straße 5", "pH 7", "Μάιος 2024", "חורף 2024",
     "شتاء", "शुभ", "Iğdır 2024", "İzmir", "anna@ferry.example", "ferryhouse.com", "4x100 m", "MacLeod’s", "Ĳ ŉ",
     "for everyone who has ever crossed the river"],
)  # fmt: skip
def test_words_whose_case_says_something_stay_as_they_are(words: str) -> None:
    assert drawn_in_capitals(words, VOLLKORN, 24) == words


def test_joined_hands_keep_small_letters() -> None:
    for typeface in ("dancing-script", "great-vibes"):
        assert drawn_in_capitals("Est. 2024", SHELF.get(typeface), 24) == "Est. 2024"


@settings(max_examples=200, deadline=None)
@given(st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "Zs")), max_size=20))
def test_no_letter_is_lost_or_mistaken(words: str) -> None:
    drawn = drawn_in_capitals(words, VOLLKORN, 24)
    assert len(drawn) == len(words)
    assert drawn.lower() == words.lower()


@promised("a short foot, as a date or a place, is cut in small capitals")
def test_the_buyers_words_stay_and_the_style_is_told(task: Make, shelf: Shelf) -> None:
    t = task("seed-box", "Ole & Maja", "since 1987", "Isle of Skye", setting="name-rule")
    laid = place(t, shelf)
    assert t.words.foot == "Isle of Skye"
    assert [line.text for line in laid.lines][-1] == "ISLE OF SKYE"
    assert [p.level for p in laid.problems if p.code == "foot-in-capitals"] == ["note"]
    for setting in ("arch", "frame", "frame-double"):
        other = place(task("seed-box", "Ole & Maja", "since 1987", "Isle of Skye", setting=setting), shelf)
        assert [line.text for line in other.lines][-1] == "ISLE OF SKYE"
    plain = place(task("seed-box", "Ole & Maja", "since 1987", "Isle of Skye"), shelf)
    assert [line.text for line in plain.lines][-1] == "Isle of Skye"
    assert not [p for p in plain.problems if p.code == "foot-in-capitals"]


def test_what_stays_together_is_told_by_the_words_as_written(task: Make, shelf: Shelf) -> None:
    """In capitals alone, months and little words would be read as names."""
    for foot in ("14 June 2026", "the house by the river", "Anna and Ben"):
        t = task("honey-box", "", "", foot)
        (written,), _ = shaped_fields(t, shelf)
        (drawn,), _ = shaped_fields(replace(t, setting=replace(t.setting, foot_letters="capitals")), shelf)
        assert drawn.text == foot.upper()
        assert [w.unit.grip for w in drawn.words] == [w.unit.grip for w in written.words]
        assert [w.unit.price for w in drawn.words] == [w.unit.price for w in written.words]


def test_capitals_and_figures_are_spaced_and_a_little_lower(task: Make, shelf: Shelf) -> None:
    t = task("seed-box", "Ole & Maja", "since 1987", "Isle of Skye")
    caps = replace(t, setting=replace(t.setting, foot_letters="capitals"))
    written, drawn = (place(x, shelf).lines[-1].cap_mm for x in (t, caps))
    assert 0.8 * written < drawn < 0.9 * written
    laid = place(task("seed-box", "Ole & Maja", "", "2026"), shelf)
    figures = [m.matrix[4] / laid.lines[-1].cap_mm for m in laid.marks if m.line == len(laid.lines) - 1]
    tight = SHELF.get("vollkorn").shape("2026").placed
    assert figures[-1] - figures[0] == pytest.approx(tight[-1].x - tight[0].x + 3 * 0.12, abs=0.02)


def test_what_is_a_little_too_small_is_made_just_large_enough(task: Make, shelf: Shelf) -> None:
    """A foot 0.1 mm too small made the name a third smaller, or was held where the name could give way a little."""
    for lid, words in (
        ("dice-cup", ("Наталья", "мёд", "Киев 2024")),
        ("heart-box", ("Jørgen & Åse", "since 1987")),
        ("round-caddy", ("Maximiliane Featherstone", "with love from Mum and Dad", "Christmas 2024")),
    ):
        t = task(lid, *words, setting="frame-double")
        laid = place(t, shelf)
        assert not [p for p in laid.problems if p.code == "too-small"]
        last = laid.lines[-1]
        assert last.cap_mm >= least_cap(t, last.field, shelf.get(t.typeface(last.field))) * (1 - 1e-9)
        assert last.cap_mm == pytest.approx(least_cap(t, last.field, shelf.get(t.typeface(last.field))), rel=0.001)
        assert laid.lines[0].cap_mm > 1.3 * last.cap_mm


def test_initials_over_a_long_message_stay_the_largest(task: Make, shelf: Shelf) -> None:
    """The ring was no higher than two letters of the message, which had been made far larger than it need be."""
    t = task("heart-box", "M.K.F.", "with love from Mum and Dad", "Christmas 2024", setting="monogram")
    cap = {line.field: line.cap_mm for line in place(t, shelf).lines}
    assert cap["name"] > 2 * cap["message"]
    assert cap["foot"] >= least_cap(t, "foot", shelf.get(t.typeface("foot"))) * (1 - 1e-9)
