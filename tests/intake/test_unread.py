"""Which unread columns a shop is asked about, and what becomes of their rows until then."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from intake_tables import SHOP, codes, read

from engrave.intake import read_orders
from engrave.intake.unread import why_asked
from engrave.shop import load_shop

DATA = json.loads((Path(__file__).parent / "data" / "headings.json").read_text("utf-8"))


def _shares(part: str) -> tuple[float, float, list[str]]:
    """Return the share of columns that should be asked about and are, of those that should not and are, and the slips."""
    wrong, hits, counts = [], {True: 0, False: 0}, {True: 0, False: 0}
    for heading, cells, ask in DATA[part]:
        found = bool(why_asked(heading, [cell for cell in cells if cell]))
        counts[ask] += 1
        hits[ask] += found
        wrong += [heading] if found != ask else []
    return hits[True] / counts[True], hits[False] / counts[False], wrong


@pytest.mark.parametrize("part", ["tuned", "aside", "fresh"])
def test_columns_that_may_hold_what_was_ordered_are_asked_about(part: str) -> None:
    asked, for_nothing, wrong = _shares(part)
    print(f"{part}: asked about {asked:.0%} of those that should be, {for_nothing:.0%} of the others; wrong: {wrong}")
    assert asked >= 0.95
    assert for_nothing <= 0.05


def test_rows_that_are_filled_in_such_a_column_wait(tmp_path) -> None:
    file = read(tmp_path, "order,name,Item,Ship City\n1,Anna,Round caddy,Bath\n2,Ben,,York\n3,Ada,Card box,Leeds\n")
    assert [codes(o, "hold") for o in file.orders] == [["unread-column"], [], ["unread-column"]]
    (told,) = file.orders[0].problems
    assert (told.where, "‘Round caddy’" in told.says, "engrave headings" in told.says) == (
        "row 2, column Item",
        True,
        True,
    )
    assert [(one.title, one.rows) for one in file.unread] == [("Item", 2)]
    assert file.orders[0].extra["Item"] == "Round caddy"


def test_a_shop_that_has_answered_is_asked_no_more(tmp_path) -> None:
    text = "order,name,Item,Extra\n1,Anna,Round,with love\n2,Ben,Round,my heart\n"
    for columns in ({"lid": ("Item",), "extra": ("Extra",)}, {"extra": ("item", "EXTRA")}):
        shop = SHOP.__class__(**{n: columns if n == "columns" else getattr(SHOP, n) for n in SHOP.__slots__})
        file = read(tmp_path, text, shop)
        assert (file.unread, [codes(o, "hold") for o in file.orders]) == ((), [[], []])


def test_a_column_of_words_without_a_heading_waits_for_one(tmp_path) -> None:
    file = read(tmp_path, "order,name,,\n1,Anna,with love,1\n2,Ben,for Ada,2\n")
    assert [codes(o, "hold") for o in file.orders] == [["unread-column"]] * 2
    assert "Give the column a heading" in file.orders[0].problems[0].says


def test_the_demo_weeks_are_asked_nothing() -> None:
    demo = Path(__file__).resolve().parents[2] / "orders_demo"
    for name in ("ferry_week.csv", "messy_export.csv", "crew_of_eight.csv"):
        assert read_orders(demo / name, load_shop(None).intake).unread == ()


@pytest.mark.parametrize("heading", ["Size", "Body", "Weight"])
def test_bare_headings_that_mean_many_things_are_never_read(tmp_path, heading: str) -> None:
    file = read_orders(_table(tmp_path, heading), load_shop(None).intake)
    assert file.columns == (heading,)


def _table(folder: Path, heading: str) -> Path:
    path = folder / "orders.csv"
    path.write_text(f"order,name,{heading}\n1,Anna,3\n2,Ben,4\n", "utf-8")
    return path


# --- two cells for one thing ------------------------------------------------------------------------------------------


def test_a_column_of_its_own_goes_before_an_option_in_a_combined_cell(tmp_path) -> None:
    """The shop's own column, added to mend the table, lost against the export's combined cell."""
    order = read(tmp_path, "Options,name,wood\nWood: Oak / Shape: Round,Anna,Black walnut\n").orders[0]
    assert (order.wood, order.lid) == ("walnut", "round-caddy")
    (told,) = [p for p in order.problems if p.code == "two-cells"]
    assert (told.level, "‘Black walnut’ is used" in told.says, "‘Oak’ in Options" in told.says) == ("look", True, True)


def test_a_column_under_our_own_name_goes_before_what_an_export_calls_it(tmp_path) -> None:
    order = read(tmp_path, "Qty,name,quantity\n1,Anna,3\n").orders[0]
    assert order.quantity == 3
    assert codes(order, "look") == ["two-cells"]


def test_two_names_of_one_option_are_one_answer(tmp_path) -> None:
    order = read(tmp_path, "Options,name,wood\nWood: Black walnut,Anna,walnut\n").orders[0]
    assert (order.wood, codes(order)) == ("walnut", [])


def test_two_options_that_are_carried_along_are_not_two_answers(tmp_path) -> None:
    order = read(tmp_path, "Options,name\nWrapping: blue / Wrapping: red,Anna\n").orders[0]
    assert codes(order) == []
