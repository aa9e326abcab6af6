"""A process that has set a sheet may still make a week with several workers: a forked one once waited without end."""

from __future__ import annotations

from pathlib import Path

import pytest

from engrave.batch import run_week
from engrave.making import environment
from engrave.output.sheets import order_proof
from engrave.verbs import try_words


@pytest.mark.slow
def test_a_week_in_two_processes_after_a_sheet_was_set_in_this_one(tmp_path: Path) -> None:
    env = environment()
    pieces = [e.piece for e in try_words("Ida", env=env).entries]
    assert order_proof(pieces, "4F8G6M", env.shop, env.shelf).png
    table = tmp_path / "orders.csv"
    table.write_text("order,name\nK-1,Ida\nK-2,Ole\nK-3,Una\n", encoding="utf-8")
    done = run_week(table, tmp_path / "out", jobs=2)
    assert len(done.week.entries) == 3
    assert len(list((tmp_path / "out" / "proofs").glob("*.pdf"))) == 3
