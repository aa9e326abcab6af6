"""A long table is made as a short one is: the same bytes, though little of it is in memory; and the page stays readable."""

from __future__ import annotations

import gc
import json
import re
import sys
import tracemalloc
import weakref
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from week_contents import contents

from engrave import on_disk
from engrave.batch import run_week
from engrave.batch.lists_apart import list_set_apart
from engrave.batch.week_told import ToldWeek
from engrave.batch.work_units import Unit
from engrave.intake import Order, Words, open_table
from engrave.making import environment
from engrave.on_disk import DiskMap
from engrave.output.page import whole_week
from engrave.output.sheets import bench, bench_pdf
from engrave.output.week_folder import (
    UNREADABLE,
    FolderGone,
    Kept,
    digest_at,
    digest_of,
    known_files,
    pieces_told,
    record,
    record_of,
    stale,
    unit_id,
)
from engrave.output.week_tables import Planned, as_json
from engrave.tasks import Plain
from engrave.week import Plan

HEAD = "order,name,lid,typeface,wood,matching,due,recut,sku\n"
ROWS = [
    "A-1,Ida,card-box,withy,maple,pair,2026-12-01,,S-41",
    "A-1,Tom,card-box,withy,maple,pair,2026-12-01,,",
    "A-2,Wanda,round-caddy,quicksand,oak,,2026-12-04,,S-42",
    "A-3,Ole,no-such-lid,withy,maple,,,,",
    "A-3,Una,card-box,withy,maple,,,,",
    "A-4,Emil,card-box,withy,cherry,,,1,",
    "A-4,Emil,card-box,withy,cherry,,,1,",
    "A-5,,card-box,withy,cherry,,,,",
]


def _table(at: Path, rows: list[str] = ROWS) -> Path:
    at.write_text(HEAD + "\n".join(rows) + "\n", "utf-8")
    return at


def test_what_lies_on_disk_comes_to_the_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = _table(tmp_path / "orders.csv")
    run_week(table, tmp_path / "held", jobs=1)
    monkeypatch.setattr(on_disk, "FEW_THINGS", 1)
    monkeypatch.setattr(on_disk, "FEW_PLACES", 1)
    run_week(table, tmp_path / "on_disk", jobs=2)
    assert contents(tmp_path / "on_disk") == contents(tmp_path / "held")
    _table(table, [*ROWS[:2], *ROWS[3:]])
    again = run_week(table, tmp_path / "on_disk", jobs=1)
    monkeypatch.undo()
    also = run_week(table, tmp_path / "held", jobs=1)
    assert (again.made, again.taken_away, tuple(again.written)) == (also.made, also.taken_away, tuple(also.written))
    assert "proofs/A-2.pdf" in again.taken_away
    assert contents(tmp_path / "on_disk") == contents(tmp_path / "held")


def test_a_mark_of_an_earlier_version_names_its_files(tmp_path: Path) -> None:
    """It was one object, read as a whole."""
    table, out = _table(tmp_path / "orders.csv", ROWS[2:3]), tmp_path / "out"
    run_week(table, out, jobs=1)
    known = dict(known_files(out).files)
    files = {name: sorted(digests) for name, digests in known.items()}
    mark = out / ".engrave" / "files.json"
    mark.write_text(json.dumps({"made_with": "lid-lettering 0.1.0", "files": files}, indent=1) + "\n", "utf-8")
    assert dict(known_files(out).files) == known
    assert run_week(table, out, jobs=1).made == 0


def test_a_line_of_the_mark_that_is_damaged_loses_that_file_only(tmp_path: Path) -> None:
    table, out = _table(tmp_path / "orders.csv", ROWS[2:3]), tmp_path / "out"
    run_week(table, out, jobs=1)
    known = dict(known_files(out).files)
    mark = out / ".engrave" / "files.json"
    head, first, *rest = mark.read_text("utf-8").splitlines(keepends=True)
    gone = json.loads(first)[0]
    mark.write_text("".join([head, first[:9] + "\n", '["../orders.csv", "0"]\n', "[7]\n", "{}\n", *rest]), "utf-8")
    assert dict(known_files(out).files) == {name: digests for name, digests in known.items() if name != gone}


def test_the_first_page_of_a_long_table_tells_as_many_as_one_reads(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, most in (("MOST_IN_THE_WAY", 1), ("MOST_STEPS", 2), ("MOST_TOGETHER", 1)):
        monkeypatch.setattr(whole_week, name, most)
    rows = [*ROWS, "A-6,Una,card-box,withy,maple,,,,", "A-6,Ole,no-such-lid,withy,maple,,,,"]
    run_week(_table(tmp_path / "orders.csv", rows), tmp_path / "out", jobs=1)
    page = (tmp_path / "out" / "week.html").read_text("utf-8")
    week = json.loads((tmp_path / "out" / "week.json").read_text("utf-8"))
    serious = sum(piece["verdict"] in ("hold", "look") for piece in week["pieces"])
    planned = sum(piece["plan"] is not None for piece in week["pieces"])
    assert f"And {serious - 1} more pieces, on the pages that follow" in page
    assert f"Then {planned - 2} further pieces, in the order in which the bench lists have them." in page
    assert "And 1 more such order." in page
    assert len(re.findall(r'<li class="(?:hold|look)"', page)) == 1


def test_several_bench_lists_are_set_each_by_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = _table(tmp_path / "orders.csv")
    monkeypatch.setattr(bench, "LIDS_A_LIST", 2)
    monkeypatch.setattr("engrave.batch.week_run.LIDS_A_LIST", 2)
    set_here: list[bytes] = []
    shelf = environment().shelf

    def here(sheet: bench.BenchSheet, *_: object) -> bytes:
        set_here.append(bench_pdf(sheet, shelf))
        return set_here[-1]

    run_week(table, tmp_path / "apart", jobs=1)
    monkeypatch.setattr("engrave.batch.week_run.list_set_apart", here)
    run_week(table, tmp_path / "here", jobs=1)
    assert len(set_here) >= 2
    assert contents(tmp_path / "apart") == contents(tmp_path / "here")


def test_a_bench_list_is_set_here_where_there_can_be_no_other_process(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheets = []
    monkeypatch.setattr("engrave.batch.week_run.bench_pdf", lambda sheet, shelf: sheets.append(sheet) or b"%PDF")
    run_week(_table(tmp_path / "orders.csv", ROWS[2:3]), tmp_path / "out", jobs=1)
    shelf = environment().shelf
    apart = list_set_apart(sheets[0], None, shelf)
    monkeypatch.setattr(sys, "executable", str(tmp_path / "no-python"))
    assert list_set_apart(sheets[0], None, shelf) == apart
    assert apart.startswith(b"%PDF")


class _Held(dict[str, Any]):
    """What can be asked whether it is still there."""


def test_a_bench_list_is_let_go_before_the_next_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[weakref.ref[_Held]] = []

    def sheets(*_: object) -> Iterator[tuple[str, bench.BenchSheet]]:
        for name in ("bench.pdf", "bench_2.pdf", "bench_3.pdf"):
            assert all(one() is None for one in made)
            pictures = _Held()
            made.append(weakref.ref(pictures))
            yield name, ({}, pictures)
            del pictures

    monkeypatch.setattr("engrave.batch.week_run.LIDS_A_LIST", 0)
    monkeypatch.setattr("engrave.batch.week_run.bench_sheets", sheets)
    monkeypatch.setattr("engrave.batch.week_run.list_set_apart", lambda *_: b"%PDF")
    run_week(_table(tmp_path / "orders.csv", ROWS[2:3]), tmp_path / "out", jobs=1)
    assert len(made) == 3


def test_what_is_said_of_a_long_week_is_read_a_little_at_a_time(tmp_path: Path) -> None:
    """Two hundred orders of which 20 kB each are said, as of pictures, and a list of 20 MB whose digest is asked."""
    (tmp_path / ".engrave" / "units").mkdir(parents=True)
    lid, nothing = environment().shop.lids["card-box"], Words("", "", "")
    whats = [Plain(Order(f"A-{i}", 1, i, nothing, nothing), 1, lid) for i in range(200)]
    units = [Unit((i,), (what,), (), unit_id([(what.order.id, 1)]), "", (), {}) for i, what in enumerate(whats)]
    for unit in units:
        said = record(Kept("", {}, []), [{"bench": {"svg": "x" * 20_000, "order": unit.ident}}])
        (tmp_path / record_of(unit.ident)).write_bytes(said)
    (tmp_path / "week.json").write_bytes(b"x" * 20_000_000)
    digest = digest_of(b"x" * 20_000_000)
    told = ToldWeek(tmp_path, units, 200, Planned(Plan((), (), 0, None), 200))
    tracemalloc.start()
    assert [told.bench(i)["order"] for i in range(200)] == [unit.ident for unit in units]
    assert digest_at(tmp_path / "week.json") == digest
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 3_000_000  # 4 MB, and the list twice
    (tmp_path / record_of(units[7].ident)).write_bytes(b"{}")
    with pytest.raises(FolderGone, match=units[7].ident):
        told.bench(7)


def test_a_long_list_of_an_earlier_run_is_marked_without_being_read_as_a_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table, out = _table(tmp_path / "orders.csv"), tmp_path / "out"
    run_week(table, out, jobs=1)

    def marked() -> dict[str, bytes]:
        names = DiskMap((name, ()) for name in ("lids/Ä-1.svg", "proofs/A.png"))
        return {
            name: b"".join(bit.encode() if isinstance(bit, str) else bit for bit in bits())
            for name, bits in stale.stale_files(out, names).items()
        }

    for _ in range(2):  # the second time on what is marked already
        parsed = marked()
        monkeypatch.setattr(stale, "MOST_PARSED", 0)
        monkeypatch.setattr(stale, "week_of", lambda _: 1 / 0)
        assert marked() == parsed
        monkeypatch.undo()
        assert json.loads(parsed["week.json"])["writing"] == ["lids/Ä-1.svg", "proofs/A.png"]
        for name, data in parsed.items():
            (out / name).write_bytes(data)
    (out / "week.json").write_bytes(b"{" + parsed["week.json"])
    monkeypatch.setattr(stale, "MOST_PARSED", 0)
    assert list(json.loads(marked()["week.json"])) == ["schema", "made_with", "writing"]


def test_the_rows_of_a_long_table_are_not_held(tmp_path: Path) -> None:
    intake, table = environment().shop.intake, _table(tmp_path / "orders.csv", [ROWS[0]] * 5_000)
    open_table(table, intake)
    tracemalloc.start()
    found = open_table(table, intake)
    gc.collect()  # what other tests left to be collected is not the table's
    held = tracemalloc.get_traced_memory()[0]
    tracemalloc.stop()
    assert len(found.rows) == 5_000
    assert held < 60 * 5_000  # bytes: as cells 660 a row


def test_the_pieces_of_an_earlier_run_are_read_one_by_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "out"
    run_week(_table(tmp_path / "orders.csv", ROWS[:3]), out, jobs=1)
    text = (out / "week.json").read_text("utf-8")
    whole = json.loads(text)
    for listed in (whole, {**whole, "writing": ["lids/A.svg"]}):
        (out / "week.json").write_text(as_json(listed), "utf-8")
        with monkeypatch.context() as patched:
            patched.setattr(Path, "read_text", lambda *_, **__: 1 / 0)
            assert list(pieces_told(out)) == whole["pieces"]
    for other in (json.dumps(whole), as_json({**whole, "pieces": []})):  # as an editor may have put it; of no orders
        (out / "week.json").write_text(other, "utf-8")
        assert list(pieces_told(out)) == json.loads(other)["pieces"]
    for damage in (text[: len(text) // 2], "[]", "", "[" * 100_000, '{"pieces": 7}'):
        (out / "week.json").write_text(damage, "utf-8")
        with pytest.raises(UNREADABLE):
            list(pieces_told(out))
