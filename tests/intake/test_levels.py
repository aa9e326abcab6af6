"""What is found in a cell, with its level beside its code: a look that became a note would be cut unasked."""

from __future__ import annotations

from pathlib import Path

import pytest
from intake_tables import SHOP, one, read, typed

WORDS: list[tuple[str, dict[str, str]]] = [
    ("Wanda", {}),
    ("Zoë & Ole", {}),
    ("Wanda\u202e abc", {"direction-removed": "look"}),
    ("Wanda\u202d abc", {"direction-removed": "look"}),
    ("Wan\u200bda", {"invisible-removed": "note"}),
    ("Wan\u0007da", {"control-removed": "note"}),
    ("Wan\0da", {"control-removed": "look"}),
    ("  Wanda ", {"spaces": "note"}),
    ("Wanda\tOle", {"tab": "note"}),
    ("N/A", {"nothing-to-cut": "hold"}),
    ("same as last time", {"words-elsewhere": "hold"}),
    ("Null", {"perhaps-nothing": "look"}),
    ("please engrave Anna", {"instruction": "look"}),
    ("Name: Anna", {"label": "look"}),
    ("“Happy birthday”", {"quoted": "look"}),
    ("Anna (in script font)", {"style-wish": "look"}),
    ("Anna 20mm", {"size-wish": "look"}),
    ("anna@example.org", {"contact": "look"}),
    ("=SUM(A1:A2)", {"formula": "look"}),
    ("Anna\\nBen", {"escaped-break": "look"}),
    ("JosÃ©", {"garbled": "look"}),
    ("Anna &amp; Ben", {"markup": "look"}),
    ("O`Neill", {"false-apostrophe": "look"}),
    ("\u0410nna", {"mixed-alphabet": "look"}),
    ("Jos\ufffd", {"lost-letters": "look"}),
    ("\uf900nna", {"variant-letter": "look"}),
    ("w" * 3000, {"too-many-words": "hold"}),
]

COLUMNS: list[tuple[dict[str, str], dict[str, str]]] = [
    ({"quantity": "3"}, {}),
    ({"quantity": "three"}, {"quantity": "note"}),
    ({"quantity": "500"}, {"quantity": "look"}),
    ({"quantity": "1.5"}, {"quantity": "hold"}),
    ({"quantity": "0"}, {"quantity": "hold"}),
    ({"due": "2026-12-04"}, {}),
    ({"due": "4.12.2026"}, {}),
    ({"due": "03/04/2026"}, {"due": "look"}),
    ({"due": "12/25/2026"}, {"due": "note"}),
    ({"due": "asap"}, {"due": "look"}),
    ({"due": "2026-02-30"}, {"due": "look"}),
    ({"due": "9999-12-31"}, {"due": "note"}),
    ({"due": "4 December"}, {"due": "look"}),
    ({"spacing": "3 %"}, {}),
    ({"spacing": "wide"}, {"spacing": "look"}),
    ({"spacing": "51 %"}, {"spacing": "look"}),
    ({"thicken": "1 %"}, {}),
    ({"thicken": "11 %"}, {"thicken": "look"}),
    ({"depth": "1/32 in"}, {}),
    ({"depth": "deep"}, {"depth": "look"}),
    ({"letter_features": "small capitals, ss01"}, {}),
    ({"letter_features": "bold please"}, {"letter-features": "look"}),
    ({"blank": "yes"}, {"blank-with-words": "hold"}),
    ({"blank": "perhaps"}, {"yes-or-no": "look"}),
    ({"recut": "yes"}, {"recut": "note"}),
    ({"recut": "perhaps"}, {"yes-or-no": "look"}),
    ({"note": "ring twice"}, {}),
    ({"Options": "Wood: Eiche / Shape: Round"}, {}),
    ({"Options": "something else"}, {"unknown-option": "look"}),
    ({"Options": "Wood: Eiche / Ribbon: red"}, {"unknown-option": "note"}),
    ({"Personalisation": "Ben"}, {"two-cells": "look"}),
    ({"lid": "x" * 600}, {"too-long-cell": "hold"}),
]


@pytest.mark.parametrize(("words", "found"), WORDS, ids=[repr(w[:20]) for w, _ in WORDS])
@pytest.mark.parametrize("field", ["name", "message"])
def test_words(words: str, found: dict[str, str], field: str) -> None:
    order = typed(**({"name": words} if field == "name" else {"name": "Ida", "message": words}))
    shown = {p.code: p.level for p in order.problems}
    if field == "message" and "nothing-to-cut" in found:
        found = {"nothing-there": "look"}  # there are words elsewhere: the field is left out, and that is asked about
    assert shown == found


@pytest.mark.parametrize(("cells", "found"), COLUMNS, ids=[str(c)[:40] for c, _ in COLUMNS])
def test_columns(cells: dict[str, str], found: dict[str, str], tmp_path: Path) -> None:
    order = one(tmp_path, **{"order": "A-1", "name": "Anna", **cells})
    assert {p.code: p.level for p in order.problems} == found


def test_rows(tmp_path: Path) -> None:
    """Row by row: no number, the same twice, a cell too many, a quotation mark that never closes."""
    text = 'order,name,message\nA-1,Anna,\n,Ben,\nA-1,Anna,\nA-2,Carla,the sea,more\nA-3,Dora,"by the sea\n'
    shown = [{p.code: p.level for p in order.problems} for order in read(tmp_path, text, SHOP).orders]
    assert shown == [
        {},
        {"no-order-number": "note"},
        {"same-row-twice": "look"},
        {"too-many-cells": "look"},
        {"open-quote": "look"},
    ]


def test_the_file(tmp_path: Path) -> None:
    """Of the table as a whole."""
    file = read(tmp_path, "title of the shop;\nname;Buyer country\nAnna;IE\nname;Buyer country\n".encode("cp1252"))
    levels = {p.code: p.level for p in file.problems}
    assert levels == {
        "separator": "note",
        "above-headings": "note",
        "unknown-columns": "note",
        "no-order-column": "note",
        "repeated-headings": "note",
    }
    assert {p.code: p.level for p in read(tmp_path, "order,name\n").problems} == {"no-orders": "look"}
