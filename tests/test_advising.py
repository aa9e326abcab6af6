"""Remedies: every one that is offered, applied, clears its problem and adds none."""

from __future__ import annotations

from pathlib import Path

import pytest

from engrave.advising import HELPABLE, LEAST_SAVED, clears
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


def test_single_lines_are_named_where_they_save_minutes() -> None:
    env = environment()
    piece = try_words("Wanda", typeface="vollkorn", wood="cherry", env=env).entries[0].piece
    (note,) = [p for p in piece.problems if p.code == "single-line"]
    assert note.level == "note"
    assert piece.job is not None
    ident = note.says.split("(")[1].split(")")[0].split(", ")[1]
    again = try_words("Wanda", typeface=ident, wood="cherry", env=env).entries[0].piece
    assert again.job is not None
    assert again.is_made
    assert again.job.seconds == pytest.approx(float(note.value or 0), abs=0.06)
    assert again.job.seconds < 0.9 * piece.job.seconds - LEAST_SAVED / 2
    assert not any(p.code == "single-line" for p in again.problems)


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
