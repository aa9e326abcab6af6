"""Where a block stands: the free wood over and under it, what is added to it, and the lid's mirror image."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ink import ink

from engrave.intake.order import Order, Words
from engrave.setting import place
from engrave.shop import load_shop
from engrave.tasks import Task, define_all
from engrave.typefaces import Shelf, load_shelf

SHOP, SHELF = load_shop(), load_shelf()
NAMES = ("Wilhelmina", "Zoë", "Anna Berg", "Jo", "Bartholomew", "Ágúst", "Maximiliane Featherstone")


def made(lid: str, name: str, message: str = "", foot: str = "") -> Task:
    words = Words(name, message, foot)
    every = define_all([Order("M", 1, 2, words, words, lid=lid)], SHOP, SHELF.kinds())
    return next(t for t in every if isinstance(t, Task))


@pytest.mark.parametrize(
    "words",
    [
        ("Anna", "", ""),
        ("Jo", "with all our love", ""),
        ("Ágúst", "g", "2026"),
        ("Wilhelmina", "to the moon and back", ""),
    ],
)
@pytest.mark.parametrize("lid", ["card-box", "seed-box", "oval-box"])
def test_free_wood_over_and_under_the_block_is_in_one_ratio(lid: str, words: tuple[str, str, str]) -> None:
    """Between 1 : 1 and 2 : 3 (Gage, Applied Design for Printers, 1920), the same for even and uneven blocks."""
    t = made(lid, *words)
    top, bottom = ink(place(t, SHELF))
    assert top / (t.area.height - bottom) == pytest.approx(5 / 6, abs=0.012)


@settings(max_examples=25, deadline=None)
@given(
    name=st.sampled_from(NAMES),
    message=st.sampled_from(["for your letters", "to the moon and back", "1987"]),
    lid=st.sampled_from(["puzzle-box", "puzzle-box-left", "heart-box", "domino-box", "paint-box", "needle-box"]),
)
def test_what_is_added_never_makes_letters_larger(name: str, message: str, lid: str) -> None:
    """Where the name is broken alike. 'Wilhelmina' was 16.2 mm alone on the puzzle box, and 19.0 with a message."""
    alone, with_it = place(made(lid, name), SHELF), place(made(lid, name, message), SHELF)
    broken = [[line.text for line in laid.lines if line.field == "name"] for laid in (alone, with_it)]
    if alone.marks and with_it.marks and broken[0] == broken[1]:
        assert with_it.cap_mm <= alone.cap_mm * (1 + 1e-6)


@pytest.mark.parametrize(
    ("lid", "typeface", "setting", "words"),
    [
        ("kite-box", "dancing-script", "", ("Oskar", "love", "")),
        ("puzzle-box", "vollkorn", "", ("Siobhán", "à notre grand-mère", "")),
        ("puzzle-box", "withy", "", ("Ilse-Marie", "à notre grand-mère", "")),
        ("reel-box", "vollkorn", "stack-grand", ("Élodie", "love", "")),
        ("round-caddy", "noto-sans", "frame", ("MacGillivray", "", "2031")),
        ("card-box", "gfs-didot", "stack-quiet", ("MacGillivray", "love", "2031")),
    ],
)
def test_no_field_makes_a_name_larger_whatever_the_lid(
    task: Callable[..., Task], shelf: Shelf, lid: str, typeface: str, setting: str, words: tuple[str, str, str]
) -> None:
    """A kite has no knob, a foot must be read, and lines on either side of a dowel were kept there at any size."""
    of = {"typeface": typeface, "cutter": "diode-450", "wood": "maple"} | ({"setting": setting} if setting else {})
    alone, with_it = place(task(lid, words[0], **of), shelf), place(task(lid, *words, **of), shelf)
    assert [line.text for line in alone.lines] == [line.text for line in with_it.lines if line.field == "name"]
    assert with_it.cap_mm <= alone.cap_mm * (1 + 1e-6)
    t = task(lid, *words, **of)
    if not t.area.keep_outs:
        return
    top, bottom = ink(with_it)
    assert abs((top + bottom) / 2 - t.area.height / 2) < 0.12 * t.area.height


@pytest.mark.parametrize("message", ["", "for your letters"])
@pytest.mark.parametrize("name", NAMES)
def test_a_left_handed_lid_holds_the_words_as_large_and_as_high(name: str, message: str) -> None:
    """The left-handed twin stood at the lid's foot. Letters are not mirrored, so sizes may differ by little."""
    one, other = (place(made(lid, name, message), SHELF) for lid in ("puzzle-box", "puzzle-box-left"))
    assert [line.text for line in one.lines] == [line.text for line in other.lines]
    assert other.cap_mm == pytest.approx(one.cap_mm, rel=0.06)
    assert sum(ink(other)) / 2 == pytest.approx(sum(ink(one)) / 2, abs=0.06 * made("puzzle-box", name).area.height)


@pytest.mark.parametrize("lid", ["heart-box", "puzzle-box", "card-box"])
def test_a_short_name_is_not_kept_small_by_a_long_message(lid: str) -> None:
    """'Li' stood at twice the size of a message of three lines, with room for more."""
    message = "for the one who always knew the way home"
    t = made(lid, "Li", message)
    caps = {line.field: line.cap_mm for line in place(t, SHELF).lines}
    assert caps["name"] > 1.1 / t.setting.message_ratio * caps["message"]
    longer = {line.field: line.cap_mm for line in place(made(lid, "Maximiliane", message), SHELF).lines}
    assert longer["message"] == pytest.approx(t.setting.message_ratio * longer["name"], rel=0.01)


def test_a_set_of_short_names_comes_out_as_one_alone(shelf: Shelf) -> None:
    t = made("puzzle-box", "Li", "for the one who always knew the way home")
    alone = place(t, shelf)
    assert [line.cap_mm for line in place(t, shelf, cap=alone.cap_mm).lines] == [line.cap_mm for line in alone.lines]


@pytest.mark.parametrize("setting", ["stack", "name-rule", "name-sprig", "frame"])
@pytest.mark.parametrize("lid", ["round-caddy", "domino-box"])
def test_a_name_stands_over_a_knob_and_its_message_under_it(
    lid: str, setting: str, task: Callable[..., Task], shelf: Shelf
) -> None:
    """Both stood below it where that was a tenth larger, with half the lid bare."""
    t = task(lid, "Ole & Maja", "since 1987", setting=setting)
    laid = place(t, shelf)
    knob = t.area.height / 2
    over = {line.field for line in laid.lines if line.baseline < knob}
    under = {line.field for line in laid.lines if line.baseline > knob}
    assert over == {"name"}
    assert under == {"message"}


def test_a_rule_is_not_left_alone_beyond_a_knob(task: Callable[..., Task], shelf: Shelf) -> None:
    for lid in ("round-caddy", "domino-box"):
        t = task(lid, "Eve", setting="name-rule")
        laid = place(t, shelf)
        assert any(m.is_ornament for m in laid.marks)
        assert all(m.matrix[5] < t.area.height / 2 for m in laid.marks)
