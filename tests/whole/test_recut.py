"""A lid was spoiled: it is cut again first, at no price to the buyer and a cost to the shop, as it was before."""

from __future__ import annotations

import csv
import io
import re
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner
from promises import promised

from engrave.batch import Done, run_week
from engrave.cli import OK, UNUSABLE, main
from engrave.intake import OrdersError
from engrave.intake.cells import recut
from engrave.pricing.recut import NONE, Recut, sum_of
from engrave.shop import load_shop

HEAD = ("order", "name", "message", "lid", "wood", "quantity", "due", "recut")
ROWS = [
    ("A-1", "Anna", "", "card-box", "maple", "2", "2026-12-01", ""),
    ("A-2", "Ben", "", "card-box", "maple", "1", "", ""),
]


def _week(folder: Path, *again: str, rows: list[tuple[str, ...]] = ROWS, **how: object) -> Done:
    table = folder / "orders.csv"
    out = io.StringIO()
    marked = [(*row[:-1], cell) for row, cell in zip(rows, (*again, *[""] * len(rows)), strict=False)]
    csv.writer(out).writerows([HEAD, *marked])
    table.write_text(out.getvalue(), "utf-8")
    return run_week(table, folder / "week", jobs=1, start=date(2026, 11, 30), **how)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("cell", "lids", "why"),
    [
        ("", 0, ""), ("no", 0, ""), ("0", 0, ""), ("yes", 1, ""), ("x", 1, ""), ("re-cut", 1, ""), ("1", 1, ""), ("3", 3, ""), ("2x", 2, ""), ("2 lids", 2, ""),
        ("1: knot", 1, "knot"), ("2 slipped in the nest", 2, "slipped in the nest"), ("1 (knot)", 1, "knot"), ("yes, split at the edge", 1, "split at the edge"),
        ("spoiled: bit broke", 1, "bit broke"), ("ja: Ast", 1, "Ast"), ("2 × burnt", 2, "burnt"), ("1 - the 2nd one", 1, "the 2nd one"), ("2 lidless", 2, "lidless"),
    ],
)  # fmt: skip
def test_how_many_and_why(cell: str, lids: int, why: str) -> None:
    found = recut(cell)
    assert found[:2] == (lids, why)
    assert found[2].says == ""


@pytest.mark.parametrize("cell", ["perhaps", "knot", "1000", "-1", "?", "half"])
def test_what_is_neither_is_asked_about(cell: str) -> None:
    lids, _, read = recut(cell)
    assert (lids, read.level, repr(cell) in read.says) == (0, "look", True)


def test_so_many_again_that_a_number_must_be_meant_is_asked_about() -> None:
    assert recut("300")[2].level == "look"


def test_a_lid_cut_again_costs_the_shop_and_not_the_buyer(tmp_path: Path) -> None:
    before = _week(tmp_path).report
    after = _week(tmp_path, "", "2: knot").report
    assert after["totals"]["price"] == before["totals"]["price"]
    assert after["totals"]["machine_seconds"] == before["totals"]["machine_seconds"]
    assert before["totals"]["recut"] == {"lids": 0, "machine_seconds": 0.0, "hand_seconds": 0.0, "cost": "0"}
    ben = after["pieces"][1]
    again = ben["recut"]
    assert (again["lids"], again["why"], again["was"]) == (2, "knot", before["pieces"][1]["proof_code"])
    assert again["machine_seconds"] == pytest.approx(2 * ben["each"]["machine_seconds"], abs=0.2)
    shop = load_shop(None)
    hours = Decimal(str(again["hand_seconds"])) / 3600 * shop.rates.hands_hour
    assert Decimal(again["cost"]) > 2 * shop.lids["card-box"].cost + hours
    assert after["totals"]["recut"] == {k: v for k, v in again.items() if k not in ("why", "was")}
    assert [p["code"] for p in ben["problems"] if p["code"] == "recut"] == ["recut"]
    assert after["pieces"][0]["recut"] is None


def test_it_goes_first_is_counted_in_the_plan_and_told_everywhere(tmp_path: Path) -> None:
    first = _week(tmp_path)
    assert [s.entry for s in first.plan.steps] == [0, 1]
    done = _week(tmp_path, "", "yes: knot")
    assert [s.entry for s in done.plan.steps] == [1, 0]
    seconds = sum(d.machine_seconds for d in done.plan.days)
    assert seconds == pytest.approx(
        sum(d.machine_seconds for d in first.plan.days) + done.week.totals.recut.machine_seconds
    )
    assert "Cut again: 1 lid, machine" in done.summary
    page = (tmp_path / "week" / "week.html").read_text("utf-8")
    assert "Cut again" in page and "until the cell is emptied" in page and "knot" in page
    rows = list(csv.DictReader(io.StringIO((tmp_path / "week" / "week.csv").read_text("utf-8-sig"))))
    assert [row["recut"] for row in rows] == ["", "1: knot"]
    told = done.report
    assert _week(tmp_path, "", "yes: knot").report == told


def test_what_is_cut_again_is_what_was_cut(tmp_path: Path) -> None:
    """A word, a lid or a table that changed since is asked about, on every run until it is answered."""
    made = _week(tmp_path)
    made_code = made.report["pieces"][0]["proof_code"]  # read now: a report is what week.json says
    lid = tmp_path / "week" / str(made.report["pieces"][0]["svg"])
    before = lid.read_bytes()
    assert _week(tmp_path, "yes").report["pieces"][0]["verdict"] == "ready"
    assert lid.read_bytes() == before
    changed = [("A-1", "Anne", *ROWS[0][2:]), ROWS[1]]
    for _ in range(2):
        piece = _week(tmp_path, "yes", rows=changed).report["pieces"][0]
        assert piece["verdict"] == "look"
        assert piece["svg"].startswith("not_yet/")
        told = next(p["says"] for p in piece["problems"] if p["code"] == "recut-differs")
        assert made_code in told
        assert made_code in (tmp_path / "week" / piece["svg"]).read_text(
            "utf-8"
        )  # the file says why it is not to be cut
    assert _week(tmp_path, "", rows=changed).report["pieces"][0]["verdict"] == "ready"


@promised("In a new folder without the proof's code, what was cut is not known: you are asked to look.")
def test_in_a_new_folder_nobody_knows_what_was_cut(tmp_path: Path) -> None:
    """It was lettered as today's tables have it, and nothing said; it is asked about until it is answered."""
    for _ in range(2):
        report = _week(tmp_path, "yes").report
        piece = report["pieces"][0]
        (found,) = [p for p in piece["problems"] if p["level"] == "look"]
        assert (piece["verdict"], found["code"], found["where"]) == ("look", "recut-unknown", "column recut")
        assert re.search(r"today's lettering, [A-Z0-9]+, may differ", found["says"])
        assert piece["proof_code"] in found["says"] and "column approved" in found["says"]
        assert piece["svg"].startswith("not_yet/")
        assert report["pieces"][1]["verdict"] == "ready"
    assert _week(tmp_path).report["pieces"][0]["verdict"] == "ready"
    assert _week(tmp_path, "yes").report["pieces"][0]["verdict"] == "ready"  # now it was cut here, and is known


def test_a_lid_lettered_in_two_areas_needs_one_blank(tmp_path: Path) -> None:
    shop = load_shop(None)
    two = next(
        (
            lid
            for lid in shop.lids.values()
            if len(lid.areas) > 1 and {"name", "message"} <= {f for a in lid.areas for f in a.fields}
        ),
        None,
    )
    if two is None or len({f for a in two.areas for f in a.fields if f in ("name", "message")}) < 2:
        pytest.skip("no lid of ours is lettered in two areas")
    done = _week(tmp_path, "1", rows=[("A-1", "Anna", "for ever", two.id, "maple", "1", "", "")])
    assert sum(p["recut"]["lids"] for p in done.report["pieces"]) == done.report["totals"]["recut"]["lids"] == 1


def test_sums_of_nothing() -> None:
    assert sum_of([]) == NONE == Recut()


# --- one piece --------------------------------------------------------------------------------------------------------


def test_one_piece_of_an_order_is_made_alone(tmp_path: Path) -> None:
    rows = [("A-1", "Anna", *ROWS[0][2:]), ("A-1", "Ada", *ROWS[0][2:]), ROWS[1]]
    _week(tmp_path, rows=rows)
    lids = {p.name: p.read_bytes() for p in (tmp_path / "week" / "lids").iterdir()}
    rows = [("A-1", "Anne", *ROWS[0][2:]), ("A-1", "Adah", *ROWS[0][2:]), ROWS[1]]
    done = _week(tmp_path, rows=rows, only=("A-1",), piece=2)
    now = {p.name: p.read_bytes() for p in (tmp_path / "week" / "lids").iterdir()}
    assert [name for name in lids if now[name] != lids[name]] == [Path(done.report["pieces"][1]["svg"]).name]
    assert "Adah" in now[Path(done.report["pieces"][1]["svg"]).name].decode()
    with pytest.raises(OrdersError, match="the order has 2"):
        _week(tmp_path, rows=rows, only=("A-1",), piece=3)
    ran = CliRunner().invoke(
        main, ["batch", str(tmp_path / "orders.csv"), "--out", str(tmp_path / "week"), "--piece", "2"]
    )
    assert (ran.exit_code, "name one order with --only" in ran.output) == (UNUSABLE, True)
    one = [
        "batch",
        str(tmp_path / "orders.csv"),
        "--out",
        str(tmp_path / "week"),
        "--only",
        "A-1",
        "--piece",
        "2",
        "--jobs",
        "1",
    ]
    assert CliRunner().invoke(main, one).exit_code == OK
