"""Days by which tables mean none, given to the whole program."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from engrave.cli import OK, UNUSABLE, main


def _week(folder: Path, *dues: str) -> Path:
    path = folder / "orders.csv"
    rows = "".join(f"A-{i},Anna,card-box,maple,{due}\n" for i, due in enumerate(dues))
    path.write_text("order,name,lid,wood,due\n" + rows, "utf-8")
    return path


def test_days_by_which_tables_mean_none_stop_no_week(tmp_path: Path) -> None:
    table = _week(tmp_path, "9999-12-31", "0001-01-01", "2026-12-04")
    ran = CliRunner().invoke(main, ["batch", str(table), "--out", str(tmp_path / "out"), "--jobs", "1"])
    assert ran.exit_code == OK, ran.output
    told = json.loads((tmp_path / "out" / "week.json").read_text("utf-8"))["pieces"]
    assert [p["due"] for p in told] == [None, None, "2026-12-04"]
    assert [[q["code"] for q in p["problems"] if q["code"] == "due"] for p in told] == [["due"], ["due"], []]


@pytest.mark.parametrize("start", ["9999-12-31", "0001-01-01", "1999-12-31"])
def test_a_first_day_outside_the_calendar_of_a_shop_is_answered(tmp_path: Path, start: str) -> None:
    table = _week(tmp_path, "2026-12-04")
    ran = CliRunner().invoke(main, ["batch", str(table), "--out", str(tmp_path / "out"), "--start", start])
    assert ran.exit_code == UNUSABLE
    assert "2000 to 2100" in ran.output
    assert not (tmp_path / "out").exists()


def test_a_week_with_one_nul_is_written_whole(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_bytes(b"order,name,lid,wood,note\n1,An\0na,card-box,maple,\n2,Ben,card-box,maple,no\0te\n")
    ran = CliRunner().invoke(main, ["batch", str(table), "--out", str(tmp_path / "out"), "--jobs", "1"])
    assert ran.exit_code == OK, ran.output
    told = json.loads((tmp_path / "out" / "week.json").read_text("utf-8"))["pieces"]
    assert [p["verdict"] for p in told] == ["look", "look"]
    text = (tmp_path / "out" / "week.csv").read_text("utf-8-sig")
    assert "\0" not in text
    assert len(list(csv.reader(io.StringIO(text, newline="")))) == 3
