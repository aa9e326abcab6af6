"""The demo weeks, read as a shop reads them: every row answered, by our own tables of headings alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from intake_tables import codes

from engrave.intake import Order, OrdersFile, read_orders
from engrave.shop import load_shop
from engrave.tasks.choosing import matched

DEMO = Path(__file__).resolve().parents[2] / "orders_demo"
SHOP = load_shop(None)


def week(name: str) -> OrdersFile:
    return read_orders(DEMO / name, SHOP.intake)


def lid(order: Order) -> str | None:
    return matched(order.lid, {i: one.title for i, one in SHOP.lids.items()})


def test_the_plain_week_has_forty_orders_on_every_lid() -> None:
    file = week("ferry_week.csv")
    assert len(file.orders) == 40
    assert {lid(o) for o in file.orders} == set(SHOP.lids)
    doubted = {o.id: codes(o, "look", "hold") for o in file.orders if codes(o, "look", "hold")}
    assert doubted == {"F-130": ["words-elsewhere"], "F-131": ["instruction"], "F-132": ["several-names"]}


def test_the_crew_belongs_together() -> None:
    orders = week("crew_of_eight.csv").orders
    assert len(orders) == 8
    assert {(o.matching, o.lid) for o in orders} == {("crew", "card-box")}
    assert not any(o.problems for o in orders)


MESSY = {
    ("7001", 1): ["due"],
    ("7002", 1): ["note-is-a-wish"],
    ("7003", 1): [],
    ("7003", 2): [],
    ("7003", 3): [],
    ("7003", 4): [],
    ("7004", 1): ["nothing-to-cut"],
    ("7005", 1): ["markup"],
    ("7006", 1): ["garbled"],
    ("7007", 1): ["quoted", "due"],
    ("7008", 1): ["note-about-words"],
    ("7009", 1): [],
    ("7010", 1): ["instruction"],
    ("row-17", 1): [],
    ("7012", 1): ["formula"],
    ("7011", 1): [],
    ("7013", 1): ["several-names"],
    ("7014", 1): ["words-elsewhere", "due"],
    ("7015", 1): ["quantity", "nothing-there", "note-about-words"],
}


def test_the_messy_export_gets_an_answer_for_every_row() -> None:
    file = week("messy_export.csv")
    assert {(o.id, o.piece): codes(o, "look", "hold") for o in file.orders} == MESSY
    assert {lid(o) for o in file.orders} <= set(SHOP.lids)
    assert {o.wood for o in file.orders} <= {"Walnut", "Cherry", "Maple", "Oak", "Beech", "Ash"}
    assert [o.id for o in file.orders if o.blank] == ["7011"]
    assert [o.quantity for o in file.orders if o.quantity != 1] == [2, 3]


def test_what_is_told_of_the_messy_export_as_a_whole() -> None:
    file = week("messy_export.csv")
    assert {p.code for p in file.problems} == {
        "code-page", "separator", "unknown-columns", "repeated-headings", "curly-quotes",
    }  # fmt: skip
    assert file.columns == ("Options", "Buyer country")


@pytest.mark.parametrize("name", ["ferry_week.csv", "messy_export.csv", "crew_of_eight.csv"])
def test_reading_twice_gives_the_same(name: str) -> None:
    assert week(name) == week(name)
