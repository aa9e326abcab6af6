"""Numbers, days, yes and no, option texts: what a cell of one field means."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys

import pytest
from babel.dates import format_date
from intake_tables import codes, one, read

from engrave.intake.cells import due_day, option, quantity, share_of, spacing, split_options, thicken, yes_or_no


@pytest.mark.parametrize(
    ("text", "value", "level"),
    [
        ("", "1", None), ("1", "1", None), ("2", "2", None), ("2x", "2", None), ("x2", "2", None), ("2 ×", "2", None), ("2.0", "2", None),
        ("2 pcs", "2", None), ("3 Stück", "3", None), ("02", "2", None), ("٣", "3", None), ("two", "2", "note"), ("zwei", "2", "note"),
        ("deux", "2", "note"), ("a pair", "2", "note"), ("0", "1", "hold"), ("-1", "1", "hold"), ("1.5", "1", "hold"), ("1,5", "1", "hold"),
        ("many", "1", "hold"), ("2-3", "1", "hold"), ("1000", "1000", "look"), ("1.000", "1", None), ("2 boxes", "1", "hold"),
    ],
)  # fmt: skip
def test_quantities(text: str, value: str, level: str | None) -> None:
    found = quantity(text)
    assert found.value == value
    assert (found.level if found.says else None) == level
    assert level is None or repr(text) in found.says


def test_a_bad_quantity_holds_its_row_and_quotes_the_cell(tmp_path) -> None:
    (problem,) = one(tmp_path, name="Anna", Qty="1.5").problems
    assert (problem.level, problem.where) == ("hold", "row 2, column Qty")
    assert "'1.5'" in problem.says


@pytest.mark.parametrize(
    ("text", "order", "iso", "level"),
    [
        ("2026-03-04", "dmy", "2026-03-04", None), ("2026/3/4", "mdy", "2026-03-04", None), ("2026-03-04T12:33:00Z", "dmy", "2026-03-04", None),
        ("2026-03-04 00:00:00", "dmy", "2026-03-04", None), ("04.03.2026", "dmy", "2026-03-04", None), ("4.3.26", "mdy", "2026-03-04", None),
        ("03/04/24", "dmy", "2024-04-03", "look"), ("03/04/24", "mdy", "2024-03-04", "look"), ("03/04/24", "ymd", "2024-04-03", "look"),
        ("03/03/24", "dmy", "2024-03-03", None), ("13/04/24", "dmy", "2024-04-13", None), ("04/13/24", "dmy", "2024-04-13", "note"),
        ("13/04/24", "mdy", "2024-04-13", "note"), ("4 March 2026", "dmy", "2026-03-04", None), ("March 4, 2026", "dmy", "2026-03-04", None),
        ("4th of March 2026", "dmy", "2026-03-04", None), ("4. März 2026", "dmy", "2026-03-04", None), ("4 mars 2026", "dmy", "2026-03-04", None),
        ("4 de marzo de 2026", "dmy", "2026-03-04", None), ("4 mrt 2026", "dmy", "2026-03-04", None), ("Wed 4 Mar 2026", "dmy", "2026-03-04", None),
        ("4-Mar-2026", "dmy", "2026-03-04", None), ("4 March", "dmy", "", "look"), ("asap", "dmy", "", "look"), ("Friday", "dmy", "", "look"),
        ("31/02/2026", "dmy", "", "look"), ("2026-13-01", "dmy", "", "look"), ("32/13/2026", "dmy", "", "look"), ("next week", "dmy", "", "look"),
        ("", "dmy", "", None), ("46085", "dmy", "", "look"),
    ],
)  # fmt: skip
def test_days(text: str, order, iso: str, level: str | None) -> None:
    found = due_day(text, order)
    assert found.value == iso
    assert (found.level if found.says else None) == level


@pytest.mark.source("Unicode CLDR, dates of ten languages (by Babel)")
@pytest.mark.parametrize(
    "locale", ["en_GB", "en_US", "de_DE", "fr_FR", "es_ES", "nl_NL", "it_IT", "sv_SE", "da_DK", "pt_PT"]
)
@pytest.mark.parametrize("month", range(1, 13))
def test_days_as_other_countries_write_them(locale: str, month: int) -> None:
    """The Unicode locale data writes the day out; it is read back as the same day."""
    day = dt.date(2026, month, 17)
    assert due_day(format_date(day, "long", locale=locale), "dmy").value == day.isoformat()


@pytest.mark.parametrize("text", ["yes", "Y", "x", "X", "1", "TRUE", "ja", "oui", "sí", "✓"])
def test_yes(text: str) -> None:
    assert yes_or_no(text, "recut").value == "yes"
    assert yes_or_no(text, "blank").value == "yes"


@pytest.mark.parametrize("text", ["", " ", "no", "N", "0", "FALSE", "nein", "-", "n/a"])
def test_no(text: str) -> None:
    assert yes_or_no(text, "blank") == yes_or_no("", "blank")


def test_own_words_for_yes_and_a_cell_that_is_neither(tmp_path) -> None:
    assert yes_or_no("re-cut", "recut").value == "yes"
    assert yes_or_no("plain lid", "blank").value == "yes"
    order = one(tmp_path, name="Anna", recut="perhaps")
    assert (order.recut, codes(order, "look")) == (False, ["yes-or-no"])


def test_blank_with_words_is_held_and_blank_without_is_plain(tmp_path) -> None:
    assert codes(one(tmp_path, name="Anna", blank="yes"), "hold") == ["blank-with-words"]
    plain = one(tmp_path, order="7", name="", blank="yes")
    assert plain.blank
    assert plain.problems == ()


def test_blank_with_a_drawing_is_held_as_well(tmp_path) -> None:
    """The drawing was left off without a word."""
    order = one(tmp_path, order="7", name="", blank="yes", artwork="boat.svg")
    assert [(p.code, p.level, "'boat.svg'" in p.says) for p in order.problems] == [("blank-with-words", "hold", True)]
    assert codes(one(tmp_path, order="7", name="", blank="yes", artwork="none")) == []


WOODS = {"Black walnut": "walnut", "Eiche": "oak"}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("Black walnut", "walnut"), ("black  WALNUT", "walnut"), ("Black-Walnut (+5.00 EUR)", "walnut"), ("eiche", "oak"), ("Cherry", "Cherry"),
        ("Cherry (+ 2 EUR)", "Cherry"), ("Maple (quilted)", "Maple (quilted)"), ("", ""),
    ],
)  # fmt: skip
def test_option_texts_become_ids(text: str, value: str) -> None:
    assert option(text, WOODS) == value


LABELS = {"wood": "wood", "shape": "lid", "name": "name", "message": "message"}


@pytest.mark.parametrize(
    ("text", "known", "other"),
    [
        ("Wood: Cherry / Shape: Round", [("wood", "Cherry"), ("lid", "Round")], []),
        ("Wood: Cherry; Shape: Round", [("wood", "Cherry"), ("lid", "Round")], []),
        ("Wood: Cherry, Shape: Round", [("wood", "Cherry"), ("lid", "Round")], []),
        ("Wood: Cherry | Shape: Round", [("wood", "Cherry"), ("lid", "Round")], []),
        ("Wood: Cherry\nShape=Round", [("wood", "Cherry"), ("lid", "Round")], []),
        ("Name: Anna, Ben; Wood: Oak", [("name", "Anna, Ben"), ("wood", "Oak")], []),
        ("Message: be brave; PS: love / Wood: Oak", [("message", "be brave; PS: love"), ("wood", "Oak")], []),
        ("Wood: Oak / Gift box: yes", [("wood", "Oak")], [("Gift box", "yes")]),
        ("Cherry, Wood: Oak", [("wood", "Oak")], [("", "Cherry")]),
        ("just text", [], [("", "just text")]),
        ("Shape: Round 3/4 / Wood: Oak", [("lid", "Round 3/4"), ("wood", "Oak")], []),
    ],
)  # fmt: skip
def test_several_options_in_one_cell(text: str, known: list[tuple[str, str]], other: list[tuple[str, str]]) -> None:
    assert split_options(text, LABELS) == (known, other)


def test_combined_options_fill_an_order(tmp_path) -> None:
    order = one(tmp_path, Options="Wood: Black walnut / Shape: Round / Text: Anna / Wrapping: blue", message="Hello")
    assert (order.wood, order.lid, order.words.name) == ("walnut", "round-caddy", "Anna")
    assert order.extra["Options"].startswith("Wood: Black walnut")
    assert order.problems == ()


def test_an_option_without_a_label_is_told(tmp_path) -> None:
    order = one(tmp_path, Options="Cherry", message="Hello")
    assert codes(order, "look") == ["unknown-option"]
    assert "‘Cherry’" in order.problems[0].says


def test_same_words_under_two_headings_are_one_answer_and_two_answers_are_a_look(tmp_path) -> None:
    same = read(tmp_path, "Name,Personalisation\nAnna,Anna\n").orders[0]
    assert same.problems == ()
    differ = read(tmp_path, "Name,Personalisation\nAnna,Ben\n").orders[0]
    assert differ.words.name == "Anna"
    assert codes(differ, "look") == ["two-cells"]
    assert "‘Anna’" in differ.problems[0].says
    assert "‘Ben’" in differ.problems[0].says


@pytest.mark.parametrize(
    ("cell", "value", "share"),
    [("", "", 0.0), ("3 %", "3 %", 0.03), ("2,5%", "2.5 %", 0.025), ("7", "7 %", 0.07), ("0", "0 %", 0.0)],
)
def test_space_between_letters(cell: str, value: str, share: float) -> None:
    read = spacing(cell)
    assert (read.value, read.says) == (value, "")
    assert share_of(read.value) == pytest.approx(share)


@pytest.mark.parametrize("cell", ["wide", "-3", "51 %", "0.2 mm", "3 % 4"])
def test_space_between_letters_that_is_no_share(cell: str) -> None:
    read = spacing(cell)
    assert (read.value, read.level) == ("", "look")
    assert cell in read.says


def test_thicker_strokes_are_read_like_space_and_bounded_lower() -> None:
    assert (thicken("1,5 %").value, thicken("1.5").says) == ("1.5 %", "")
    read = thicken("11 %")
    assert (read.value, read.level) == ("", "look")
    assert "10 %" in read.says


def test_only_a_sheet_waits_for_the_reader_of_sheets() -> None:
    """Loading it takes a tenth of a second, which every command once paid."""
    asked = "import sys, engrave.cli; print('openpyxl' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True).stdout == "False\n"
