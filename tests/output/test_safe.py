"""What buyers and tables may write must never become a path, a tag or a formula."""

from __future__ import annotations

import csv
import errno
import io
import json
import time
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.batch import Stopped, run_week
from engrave.output import writing
from engrave.output.names import LidKey, file_names, fold, lid_names, safe_name
from engrave.output.week_tables import neutral

NASTY = ["../../etc/x", "a/b", "CON", "nul.txt", "<script>alert(1)</script>", "=cmd()", "..", ".", "", "💌", "x" * 400]


@given(st.lists(st.tuples(st.text(max_size=30), st.integers(1, 4)), max_size=12, unique=True))
def test_names_are_safe_and_never_clash(keys: list[tuple[str, int]]) -> None:
    names = file_names(keys)
    assert len({fold(n) for n in names}) == len(keys)
    for name in names:
        assert name and "/" not in name and "\\" not in name and not name.startswith(".")


@given(
    st.lists(
        st.tuples(st.sampled_from(["A", "a", "A_b", "A_b_c", "A_2", "É", "x" * 300]) | st.text(max_size=8),
                  st.integers(1, 3), st.sampled_from(["b", "c", "b_c", ""]), st.sampled_from(["w", "c_w", "w_2", "2"])),
        max_size=12, unique_by=lambda key: key[:2],
    ),
    st.randoms(),
)  # fmt: skip
def test_names_of_lids_say_order_lid_and_wood_and_never_clash(keys: list[LidKey], random: Random) -> None:
    names = lid_names(keys)
    assert len({fold(n) for n in names}) == len(keys)
    assert max((len(n.encode()) for n in names), default=0) < 200
    told = dict(zip(keys, names, strict=True))
    random.shuffle(keys)
    assert dict(zip(keys, lid_names(keys), strict=True)) == told


def test_a_lid_is_named_by_order_lid_and_wood() -> None:
    keys = [("F-101", 1, "round-caddy", "walnut"), ("F-101", 2, "card-box", "oak"), ("F-102", 1, "card-box", "oak")]
    assert lid_names(keys) == ("F-101_round-caddy_walnut", "F-101_card-box_oak_2", "F-102_card-box_oak")


@pytest.mark.source("Microsoft, Naming Files, Paths, and Namespaces: reserved names")
@pytest.mark.parametrize("order", NASTY)
def test_nasty_ids_become_plain_file_names(order: str) -> None:
    name = safe_name(order)
    assert name not in ("", ".", "..") and len(name.encode()) <= 80
    assert fold(name).split(".")[0] not in ("con", "nul")  # Microsoft, 'Naming Files, Paths, and Namespaces'


@pytest.mark.source("OWASP, CSV Injection")
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
    assert page.count("<script") == 1 and page.count("<script>(() =>") == 1  # our own, which alone the policy lets run
    assert "<script>alert" not in page
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


SIGNS = "=+-@＝＋－＠﹦﹢﹣﹫"
SPLIT = {"commas": ",", "semicolons": ";", "tabs": "\t"}


def _runs(cell: str) -> bool:
    """Tell whether a spreadsheet would take a cell for a formula, spaces before it left aside."""
    return cell.strip(" \u00a0\ufeff\u200b").startswith(tuple(SIGNS))


@pytest.mark.source("OWASP, CSV Injection: separators inside a cell")
@pytest.mark.parametrize(
    ("cell", "told"),
    [
        ("thanks ;=HYPERLINK(1)", "thanks ;'=HYPERLINK(1)"), ("a, =1", "a, '=1"), ("a\t@b", "a\t'@b"), ("＝1+1", "'＝1+1"),
        ("－2", "'－2"), ("love | =1", "love | '=1"), ('x;"=1+1"', "x;\"'=1+1\""), ("one\n-two", "one\n'-two"), ("a;;=1", "a;;'=1"),
        ("Anna - Ben", "Anna - Ben"), ("2026-12-04", "2026-12-04"), ("rock'n'roll; a+b", "rock'n'roll; a+b"), ("1 + 1 = 2", "1 + 1 = 2"),
        ("a\0b", "ab"),
    ],
)  # fmt: skip
def test_signs_behind_a_separator_run_nothing_and_the_rest_reads_as_it_was(cell: str, told: str) -> None:
    """OWASP, 'CSV Injection': field separators inside a cell begin a cell of their own where they are split at."""
    assert neutral(cell) == told


@pytest.mark.source("OWASP, CSV Injection, read back by Python's csv module")
@given(st.lists(st.text(st.sampled_from(SIGNS + ",;\t\n\r |\"'a1("), max_size=12), min_size=1, max_size=4))
def test_no_cell_runs_whichever_separator_a_spreadsheet_splits_at(cells: list[str]) -> None:
    """Read back with the standard library's reader and by plain splitting, at all three separators."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow([neutral(cell) for cell in cells])
    for separator in SPLIT.values():
        found = [
            cell for row in csv.reader(io.StringIO(out.getvalue(), newline=""), delimiter=separator) for cell in row
        ]
        assert not any(_runs(cell) for cell in found)
        plain = [cell.strip('"') for line in out.getvalue().splitlines() for cell in line.split(separator)]
        assert not any(_runs(cell) for cell in plain)


def test_a_long_run_of_separators_is_no_work() -> None:
    before = time.process_time()
    neutral(";\n " * 20_000 + "a")
    assert time.process_time() - before < 0.5
