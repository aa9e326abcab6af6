"""The plan, the seconds by part and what is counted, as week.json and week.csv tell them to a shop's scripts."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from promises import promised

from engrave.batch import run_week

TABLE = """order,name,lid,typeface,cutter,wood,quantity,due
A-1,Ida,card-box,withy,ball-1,maple,1,2026-12-04
A-2,Tom,card-box,noto-sans-bold,diode-450,maple,2,2026-11-23
A-3,Zoe,no-such-lid,withy,ball-1,maple,1,
A-4,Una,card-box,noto-sans-bold,mill-05,maple,1,
A-5,Ole,card-box,vollkorn,v60,maple,1,
"""
MONDAY = date(2026, 11, 30)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("told")
    (folder / "orders.csv").write_text(TABLE, "utf-8")
    run_week(folder / "orders.csv", folder / "week", jobs=1, start=MONDAY)
    return folder


def told(folder: Path) -> dict[str, Any]:
    week: dict[str, Any] = json.loads((folder / "week" / "week.json").read_text("utf-8"))
    return week


def cells(folder: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO((folder / "week" / "week.csv").read_text("utf-8-sig"))))


@promised(
    "| no plan in the tables | `plan` in `week.json`, of each piece and of the days; `plan_place` and more in `week.csv` |"
)
def test_the_plan_is_told_of_each_piece_and_of_each_day(folder: Path) -> None:
    week = told(folder)
    plans = [piece["plan"] for piece in week["pieces"]]
    assert [p is None for p in plans] == [piece["verdict"] == "hold" for piece in week["pieces"]]
    made = [p for p in plans if p is not None]
    assert sorted(p["place"] for p in made) == list(range(1, len(made) + 1))
    assert {(p["day"], p["date"]) for p in made} == {(1, "2026-11-30")}
    assert [plans[i]["days_late"] for i in (0, 1)] == [0, 7]
    assert week["plan"]["late"] == 1
    (day,) = week["plan"]["days"]
    assert (day["day"], day["date"], day["pieces"]) == (1, "2026-11-30", len(made))
    assert day["machine_seconds"] == pytest.approx(week["totals"]["machine_seconds"], abs=0.2)


@promised(
    "| one time for the machine | `machine_seconds_by_part`, and how many `rows` and `rings`; the same as columns of `week.csv` |"
)
def test_the_machine_s_seconds_are_told_by_part_for_all_lids_of_a_row(folder: Path) -> None:
    by_order = {piece["order"]: piece for piece in told(folder)["pieces"]}
    for piece in by_order.values():
        if piece["verdict"] != "hold":
            parts = piece["machine_seconds_by_part"]
            assert sum(parts.values()) == pytest.approx(piece["machine_seconds"], abs=0.05 * (len(parts) + 1))
            assert min(parts.values()) >= 0 and parts["cut"] > 0
    assert by_order["A-3"]["machine_seconds_by_part"] is None
    assert {o for o, p in by_order.items() if p["rows"]} == {"A-2"}
    assert {o for o, p in by_order.items() if p["rings"]} == {"A-4"}
    assert "turn" in by_order["A-2"]["machine_seconds_by_part"]
    assert "plunge" in by_order["A-5"]["machine_seconds_by_part"]


@pytest.mark.source("Python's csv module (RFC 4180): the same figures in both files")
def test_week_csv_says_the_same_as_week_json(folder: Path) -> None:
    def text(value: Any) -> str:
        return "" if value is None else str(value)

    for piece, row in zip(told(folder)["pieces"], cells(folder), strict=True):
        plan, parts = piece["plan"] or {}, piece["machine_seconds_by_part"] or {}
        for name in ("place", "day", "date"):
            assert row[f"plan_{name}"] == text(plan.get(name))
        assert row["days_late"] == text(plan.get("days_late"))
        for name in ("rows", "rings"):
            assert row[name] == text(piece[name])
        shown = {h.removesuffix("_seconds"): row[h] for h in row if h.endswith("_seconds")}
        del shown["machine"], shown["hand"]
        assert {k: v for k, v in shown.items() if v} == {k.replace("-", "_"): str(v) for k, v in parts.items()}


def test_another_first_day_changes_the_plan_and_makes_nothing_anew(folder: Path, tmp_path: Path) -> None:
    before = told(folder)
    done = run_week(folder / "orders.csv", folder / "week", jobs=1)
    assert done.made == 0
    now = told(folder)
    assert now["plan"]["days"][0]["date"] is None
    assert [p["plan"]["days_late"] for p in now["pieces"] if p["plan"]] == [None] * 4
    run_week(folder / "orders.csv", folder / "week", jobs=1, start=MONDAY)
    assert told(folder) == before
