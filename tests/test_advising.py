"""Remedies: every one that is offered, applied, clears its problem and adds none."""

from __future__ import annotations

from pathlib import Path

import pytest

from engrave.advising import HELPABLE, clears
from engrave.making import environment
from engrave.verbs import apply_remedy, make_orders, try_words
from engrave.week import make_unit

DEMO = Path(__file__).resolve().parents[1] / "orders_demo"


def test_an_unknown_lid_has_no_remedy() -> None:
    assert try_words("Wanda", lid="no-such-lid").entries[0].remedies == ()


def test_applying_a_remedy_changes_the_order_as_it_says() -> None:
    env = environment()
    tried = try_words("María José", lid="kite-box", typeface="quicksand", wood="mahogany", env=env)
    assert tried.entries[0].piece.verdict == "hold"
    remedy = tried.entries[0].remedies[0]
    again = apply_remedy(tried, remedy, env)
    (column, value), *_ = remedy.change
    assert getattr(again.order, column) == value
    assert again.entries[0].piece.is_made


@pytest.mark.slow
@pytest.mark.parametrize("table", ["ferry_week.csv", "messy_export.csv"])
def test_every_remedy_of_the_demo_weeks_works(table: str) -> None:
    env = environment()
    whats, _ = make_orders(DEMO / table, env)
    offered = 0
    for what in whats:
        for entry in make_unit([what], env):
            for remedy in entry.remedies:
                offered += 1
                assert clears(entry.piece, remedy.piece, {p.code for p in entry.piece.problems} & HELPABLE)
                assert remedy.piece.job is not None
                assert remedy.piece.quote is not None
    assert offered > 0 or table != "ferry_week.csv"
