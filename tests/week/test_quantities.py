"""A week whose lids come several of a kind: seconds, hands, money and days are for all of them."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from engrave.output.week_tables import entry as told
from engrave.output.week_tables import json_bits
from engrave.week import assemble, plan
from engrave.week.totals import lids_of
from week.made import entry, rates

MONDAY = date(2026, 11, 30)


def test_the_seconds_of_three_are_three_times_those_of_one() -> None:
    one, three = (assemble([entry("a", 1.0, quantity=n)], rates()).totals for n in (1, 3))
    assert one.machine_seconds == 3600.0
    assert three.machine_seconds == 3 * 3600.0
    assert (three.pieces, three.orders) == (1, 1)


def test_a_lid_of_two_areas_is_one_and_as_grave_as_the_graver() -> None:
    """Outside and inside of one lid once counted as two lids, and three alike as one."""
    made = [entry("a", piece=1, held=True), entry("a", piece=2), entry("b", quantity=3)]
    assert lids_of(e.piece for e in made) == {"hold": 1, "ready": 3}
    rows = [replace(e.piece, order=replace(e.piece.order, row=n)) for n, e in enumerate(made)]
    assert lids_of(rows) == {"hold": 1, "ready": 4}  # two lids of one order, each in a row of its own


def test_hands_are_for_each_lid_and_once_for_the_order() -> None:
    """Finish 10 min and place 2 min a lid, words and proof 6 min an order: 18 min for one, 42 min for three."""
    of = rates(hands=replace(rates().hands, finish=10.0, loose=2.0, order=6.0))
    assert assemble([entry("a", quantity=1, of=of)], of).totals.hand_seconds == 18 * 60.0
    assert assemble([entry("a", quantity=3, of=of)], of).totals.hand_seconds == 42 * 60.0


def test_the_price_is_for_all_and_told_for_each() -> None:
    week = assemble([entry("a", 1.0, quantity=4), entry("b", 1.0, quantity=1)], rates())
    quotes = [e.piece.quote for e in week.entries]
    assert quotes[0] is not None
    assert quotes[1] is not None
    assert quotes[0].price == 4 * quotes[0].each
    assert week.totals.price == quotes[0].price + quotes[1].price > Decimal(0)


def test_time_saved_in_the_air_counts_each_lid() -> None:
    one = entry("a", 1.0, quantity=5)
    assert one.piece.estimate is not None
    piece = replace(one.piece, estimate=replace(one.piece.estimate, air_saved=7.0))
    assert assemble([replace(one, piece=piece)], rates()).totals.air_saved_seconds == pytest.approx(35.0)


def test_the_plan_has_hours_for_all_of_them() -> None:
    """Five lids of 2 h at 8 h a day need a second day; one would not."""
    found = plan(assemble([entry("a", 2.0, quantity=5)], rates()), rates(), MONDAY)
    assert [d.machine_seconds / 3600 for d in found.days] == [8.0, 2.0]
    assert len(plan(assemble([entry("a", 2.0)], rates()), rates(), MONDAY).days) == 1


def test_what_is_on_hold_counts_for_nothing_however_many() -> None:
    week = assemble([entry("a", 1.0, quantity=9, held=True), entry("b", 1.0, quantity=2)], rates())
    assert week.totals.machine_seconds == 2 * 3600.0
    assert (week.totals.hold, week.totals.pieces) == (1, 2)


def test_week_json_tells_all_and_each() -> None:
    week = assemble([entry("a", 1.0, quantity=3)], rates())
    (piece,) = json.loads("".join(json_bits(week, plan(week, rates()), [told(week.entries[0].piece)], "EUR")))["pieces"]
    assert piece["quantity"] == 3
    assert piece["machine_seconds"] == 3 * piece["each"]["machine_seconds"] == 3 * 3600.0
    assert piece["machine_seconds_range"][1] == pytest.approx(3 * 3600.0)
    assert piece["hand_seconds"] == pytest.approx(3 * piece["each"]["hand_seconds"], abs=0.2)
    assert Decimal(piece["price"]) == 3 * Decimal(piece["each"]["price"])
