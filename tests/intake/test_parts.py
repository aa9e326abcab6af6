"""Cells that hold several fields: taken apart where the shop says so, or labels do; whatever is done is told."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from intake_tables import SHOP, codes, one, read, typed

from engrave.intake import Order
from engrave.intake.headers import fold
from engrave.intake.parts import FORM_LABELS, LEFT_OUT, OWN, parted
from engrave.shop import ShopError, load_shop
from engrave.shop.house import WORD_FIELDS
from engrave.shop.models import Intake

LINES = replace(SHOP, lines={"Personalisation": ("name", "message", "foot")})
LABELLED = replace(SHOP, labels={"Personalisation": True})
AS_WORDS = replace(SHOP, labels={"personalisation": False})


def _one(folder, cell: str, intake: Intake = SHOP, more: str = "") -> Order:
    text = f'order,Personalisation,message\n1,"{cell}",{more}\n'
    return read(folder, text, intake).orders[0]


@pytest.mark.parametrize(
    ("cell", "name", "message", "foot"),
    [
        ("Name: Anna / Date: 14 June 2026", "Anna", "", "14 June 2026"), ("Name: Anna\nDate: 2026", "Anna", "", "2026"),
        ("Names: Rosa & Tim; Message: for ever; Date: 2026", "Rosa & Tim", "for ever", "2026"), ("Line 1: Ben\nLine 2: and Ada", "Ben\nand Ada", "", ""),
        ("Text: Psalm 23:1", "Psalm 23:1", "", ""), ("Name - Anna", None, "", ""), ("Anna\nDate: 2026", "Anna", "", "2026"),
        ("Vorname: Jörg / Datum: 3.5.", "Jörg", "", "3.5."), ("Prénom : Zoé", "Zoé", "", ""), ("NAME:Anna", "Anna", "", ""), ("name = Anna", "Anna", "", ""),
        ("Name: Ida Date: 2026", "Ida", "", "2026"), ("name: Kasimir  message: für immer dein", "Kasimir", "für immer dein", ""),
        ("Line 1: Otto Line 2: of Wick", "Otto\nof Wick", "", ""), ("Name: Ada Message: the date: never", "Ada", "the date: never", ""),
        ("Name: Bo Font: Script Date: 3.4.26", "Bo", "", "3.4.26"), ("Prénom : Zoé Date : 2026", "Zoé", "", "2026"),
        ("Name: Fiona / Font: script pls", "Fiona", "", ""), ("Name: / Date: 2026", "", "", "2026"), ("Name: Anna, Ben", "Anna, Ben", "", ""),
    ],
)  # fmt: skip
def test_labels_are_taken_off_and_sorted_and_shown(
    tmp_path, cell: str, name: str | None, message: str, foot: str
) -> None:
    order = _one(tmp_path, cell)
    if name is None:
        assert (order.words.name, "labels" in codes(order)) == (cell, False)
        return
    assert (order.words.name, order.words.message, order.words.foot) == (name, message, foot)
    assert order.received.filled() == (("name", cell),)
    (told,) = [p for p in order.problems if p.code == "labels"]
    assert told.level == "look"
    for words in (name, message, foot):
        assert " / ".join(words.split("\n")) in told.says
    assert f"‘{' / '.join(cell.splitlines())}’ was taken apart" in told.says


@pytest.mark.parametrize(
    "cell",
    [
        "Love: patient, kind", "To: Mum / From: Ben", "Psalm 23:1", "7:30", "1987 / Anna", "Front: Anna", "Ratio 1:2", "Gift: yes / Name: Ada", "Font: 3",
        "Note: handle with love", "Rosa: sister, friend", "Name:", "Anna: born 2026; Ben: born 2028", "http://x.example/y",
    ],
)  # fmt: skip
def test_what_is_no_form_s_label_stays_as_it_stands(tmp_path, cell: str) -> None:
    order = _one(tmp_path, cell)
    assert "labels" not in codes(order)
    assert (order.words.name, order.words.message, order.words.foot) == (cell, "", "")


def test_a_shop_that_has_said_so_is_told_and_not_asked(tmp_path) -> None:
    order = _one(tmp_path, "Name: Anna / Date: 2026", LABELLED)
    assert (order.words.name, order.words.foot) == ("Anna", "2026")
    assert "labels" not in codes(order)
    left = _one(tmp_path, "Name: Anna / Font: script", LABELLED)
    assert codes(left, "note") == ["labels"]
    assert "left out: ‘script’" in left.problems[0].says


def test_a_shop_that_says_they_are_words_has_them_cut_as_they_stand(tmp_path) -> None:
    order = _one(tmp_path, "Name: Anna / Date: 2026", AS_WORDS)
    assert order.words.name == "Name: Anna / Date: 2026"
    assert "labels" not in codes(order)


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("Anna", ("Anna", "", "")), ("Anna\nfor ever", ("Anna", "for ever", "")), ("Anna|for ever|2026", ("Anna", "for ever", "2026")),
        ("Anna\none\ntwo\n2026", ("Anna", "one\ntwo", "2026")), ("Anna\n\n 2026 ", ("Anna", "2026", "")), ("", ("", "", "")),
    ],
)  # fmt: skip
def test_a_line_for_each_field(tmp_path, cell: str, words: tuple[str, str, str]) -> None:
    order = _one(tmp_path, cell, LINES)
    assert (order.words.name, order.words.message, order.words.foot) == words
    assert order.received.name == cell
    assert order.received.message == order.received.foot == ""
    assert codes(order, "look", "hold") == []


def test_where_lines_are_fields_a_cell_that_is_all_labels_still_goes_by_its_labels(tmp_path) -> None:
    """It was cut as 'Name: Fiep / Font: curly please' once the shop had said that this column holds lines."""
    order = _one(tmp_path, "Name: Fiep / Font: curly please", LINES)
    assert (order.words.name, order.words.message, codes(order, "look")) == ("Fiep", "", ["labels"])
    order = _one(tmp_path, "Date: 2026\nName: Fiep", LINES)
    assert (order.words.name, order.words.foot, codes(order, "look")) == ("Fiep", "2026", ["labels"])
    order = _one(tmp_path, "Fiep\nfor ever\nDate: 2026", LINES)
    assert (order.words.name, order.words.message) == ("Fiep", "for ever")
    assert "label" in codes(order, "look")


def test_lines_are_one_field_unless_a_shop_says_otherwise(tmp_path) -> None:
    assert _one(tmp_path, "Anna\nfor ever").words.name == "Anna\nfor ever"


def test_a_column_of_its_own_goes_before_a_part(tmp_path) -> None:
    order = _one(tmp_path, "Name: Anna / Message: for ever", more="for now")
    assert (order.words.name, order.words.message) == ("Anna", "for now")
    assert order.received.message == "for now"
    assert codes(order, "look") == ["two-cells", "labels"]


def test_words_typed_by_hand_are_not_taken_apart() -> None:
    assert typed("Name: Anna").words.name == "Name: Anna"


def test_what_is_said_of_a_cell_s_parts_is_said_of_the_parts(tmp_path) -> None:
    order = one(tmp_path, name="Name: JosÃ© / Date: n/a")
    assert "garbled" in codes(order, "look")
    assert order.words.foot == ""


PIECES = st.lists(
    st.sampled_from(["Name", "Date", "Text", "Love", "Font", "Anna", "2026", ":", " ", "/", ";", "\n", ","]),
    max_size=12,
)


@given(PIECES)
def test_no_letter_is_lost_but_labels_separators_and_what_is_told(pieces: list[str]) -> None:
    text = "".join(pieces)
    found = parted(text, "name", "", SHOP)
    if found is None:
        return
    told = fold("".join([*(words for _, words in found.fields), *found.left]))
    rest = fold(text)
    for c in told:
        assert c in rest
    kept = len(told) + sum(len(label) for label in ("name", "date", "text", "font") for _ in range(rest.count(label)))
    assert kept >= len(rest)
    assert {field for field, _ in found.fields} <= set(WORD_FIELDS)


def test_every_label_has_a_place() -> None:
    assert set(FORM_LABELS.values()) <= {*WORD_FIELDS, OWN, LEFT_OUT}
    assert all(label == fold(label) for label in FORM_LABELS)


def test_the_tables_say_what_may_be_said_of_lines_and_labels(tmp_path) -> None:
    (tmp_path / "intake.toml").write_text(
        '[lines]\nPersonalisation = ["name", "foot"]\n[labels]\nText = true\nEngraving = false\n', "utf-8"
    )
    intake = load_shop(tmp_path).intake
    assert intake.lines == {"Personalisation": ("name", "foot")}
    assert intake.labels == {"Text": True, "Engraving": False}
    for wrong in (
        '[lines]\nText = ["name", "lid"]\n',
        '[lines]\nText = ["name", "name"]\n',
        "[lines]\nText = []\n",
        '[labels]\nText = "yes"\n',
    ):
        (tmp_path / "intake.toml").write_text(wrong, "utf-8")
        with pytest.raises(ShopError, match="Allowed"):
            load_shop(tmp_path)
