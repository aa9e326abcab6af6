"""What buyers and tables may write must never become a path, a tag or a formula."""

from __future__ import annotations

import csv
import errno
import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.batch import Stopped, run_week
from engrave.output import writing
from engrave.output.names import file_names, fold, safe_name
from engrave.output.week_tables import neutral

NASTY = ["../../etc/x", "a/b", "CON", "nul.txt", "<script>alert(1)</script>", "=cmd()", "..", ".", "", "💌", "x" * 400]


@given(st.lists(st.tuples(st.text(max_size=30), st.integers(1, 4)), max_size=12, unique=True))
def test_names_are_safe_and_never_clash(keys: list[tuple[str, int]]) -> None:
    names = file_names(keys)
    assert len({fold(n) for n in names}) == len(keys)
    for name in names:
        assert name and "/" not in name and "\\" not in name and not name.startswith(".")


@pytest.mark.parametrize("order", NASTY)
def test_nasty_ids_become_plain_file_names(order: str) -> None:
    name = safe_name(order)
    assert name not in ("", ".", "..") and len(name.encode()) <= 80
    assert fold(name).split(".")[0] not in ("con", "nul")  # Microsoft, 'Naming Files, Paths, and Namespaces'


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", " =1"])
def test_cells_that_a_spreadsheet_would_run_are_neutral(cell: str) -> None:
    """OWASP, 'CSV Injection'."""
    assert neutral(cell).startswith("'")


def _table(folder: Path) -> Path:
    out = io.StringIO()
    write = csv.writer(out)
    write.writerow(["order", "name", "lid", "typeface", "wood", "shelf mark"])
    for i, order in enumerate(NASTY[:6]):
        write.writerow([order, f"<b>Anna {i}</b>" if i == 4 else "Anna", "card-box", "withy", "maple", "=HYPERLINK(1)"])
    path = folder / "orders.csv"
    path.write_text(out.getvalue(), "utf-8")
    return path


def test_a_week_of_nasty_ids_stays_in_its_folder_and_runs_nothing(tmp_path: Path) -> None:
    table = _table(tmp_path)
    run_week(table, tmp_path / "deep" / "out", jobs=1)
    assert {p.name for p in tmp_path.iterdir()} == {"orders.csv", "deep"}
    page = (tmp_path / "deep" / "out" / "week.html").read_text("utf-8")
    assert "<script" not in page
    assert "<b>Anna" not in page
    rows = list(csv.reader(io.StringIO((tmp_path / "deep" / "out" / "week.csv").read_text("utf-8-sig"))))
    assert not any(cell.startswith(("=", "@")) for row in rows for cell in row)


def test_a_full_disk_leaves_what_is_finished_and_nothing_half(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = _table(tmp_path)
    real, count = writing.os.replace, [0]

    def full(source: str, target: str) -> None:
        count[0] += 1
        if count[0] > 4:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(source, target)

    monkeypatch.setattr(writing.os, "replace", full)
    with pytest.raises(Stopped, match="No space left"):
        run_week(table, tmp_path / "out", jobs=1)
    monkeypatch.undo()
    assert not list((tmp_path / "out").rglob(".part-*"))
    done = run_week(table, tmp_path / "out", jobs=1)
    told = json.loads((tmp_path / "out" / "week.json").read_text("utf-8"))
    assert len(told["pieces"]) == 6
    assert done.written
