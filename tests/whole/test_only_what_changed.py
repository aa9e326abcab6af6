"""A second run makes anew what changed and touches nothing else; a run that was cut short keeps what it finished."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from promises import promised
from week_contents import contents

from engrave.batch import Stopped, run_week, unit_drawn, unit_written
from engrave.intake.order import Order, Words
from engrave.making import environment
from engrave.output.week_folder.store import kept_of, records
from engrave.tasks import Refused
from engrave.verbs import make_orders
from engrave.week import belonging, make_unit, recalled, remember

HEAD = "order,name,lid,typeface,wood,matching,note\n"
ROWS = [
    "C-1,Ida,card-box,withy,maple,,",
    "C-2,Tom,card-box,withy,maple,pair,",
    "C-3,Una Maria,round-caddy,withy,walnut,pair,",
    "C-3,Ole,card-box,withy,maple,,",
    "C-4,Wanda,no-such-lid,withy,maple,,",
]
"""C-2 and both pieces of C-3 have a say in one another: one by the order, one by the value in `matching`."""


def _write(table: Path, rows: list[str]) -> Path:
    table.write_text(HEAD + "\n".join(rows) + "\n", "utf-8")
    return table


def _times(folder: Path) -> dict[str, int]:
    return {
        str(p.relative_to(folder)): p.stat().st_mtime_ns
        for place in ("lids", "not_yet", "outlines", "proofs")
        for p in (folder / place).glob("*")
    }


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    at = tmp_path_factory.mktemp("week")
    table = _write(at / "orders.csv", ROWS)
    run_week(table, at / "out", jobs=1)
    return table, at / "out"


@pytest.fixture
def week(made: tuple[Path, Path], tmp_path: Path) -> tuple[Path, Path]:
    """A table and its folder, to be changed at will."""
    shutil.copytree(made[1], tmp_path / "out")
    return _write(tmp_path / "orders.csv", ROWS), tmp_path / "out"


@promised("A second run makes anew only what changed")
def test_nothing_is_made_anew_where_nothing_changed(week: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    table, out = week
    before, times = contents(out), _times(out)
    monkeypatch.setattr(unit_written, "draw_unit", lambda *_: pytest.fail("something was made"))
    done = run_week(table, out, jobs=1)
    assert (done.made, done.taken_away, done.changed_by_hand) == (0, (), ())
    assert contents(out) == before
    assert _times(out) == times


def test_only_the_row_that_changed_and_its_partners_are_made_anew(week: tuple[Path, Path]) -> None:
    table, out = week
    times = _times(out)
    done = run_week(_write(table, [ROWS[0].replace("Ida", "Ada"), *ROWS[1:]]), out, jobs=1)
    assert done.made == 1
    changed = {name for name, at in _times(out).items() if times.get(name) != at}
    assert changed and all("C-1" in name for name in changed)
    done = run_week(_write(table, [ROWS[0], ROWS[1].replace("Tom", "Thomasina"), *ROWS[2:]]), out, jobs=1)
    assert done.made == 4  # C-1 again, C-2, and both pieces of the order that matches it
    fresh = table.parent / "fresh"
    run_week(table, fresh, jobs=1)
    assert contents(fresh) == contents(out)


def test_a_row_put_in_above_changes_nothing_below(week: tuple[Path, Path]) -> None:
    table, out = week
    times = _times(out)
    new = "C-0,Zita,card-box,withy,maple,,"
    done = run_week(_write(table, [new, *ROWS]), out, jobs=1)
    assert done.made == 2  # the new one, and C-4, whose finding names its row
    assert {name for name, at in _times(out).items() if times.get(name) != at} == {n for n in _times(out) if "C-0" in n}
    assert [p["row"] for p in done.report["pieces"]] == [2, 3, 4, 5, 6, 7]
    fresh = table.parent / "fresh"
    run_week(table, fresh, jobs=1)
    assert contents(fresh) == contents(out)


def test_what_is_no_longer_ordered_is_taken_away_with_what_is_kept_of_it(week: tuple[Path, Path]) -> None:
    table, out = week
    done = run_week(_write(table, ROWS[1:]), out, jobs=1)
    assert set(done.taken_away) >= {"lids/C-1_card-box_maple.svg", "proofs/C-1.png"}
    assert len(list(records(out))) == 2
    fresh = table.parent / "fresh"
    run_week(table, fresh, jobs=1)
    assert contents(fresh) == contents(out)


@pytest.mark.parametrize("name", ["lids/C-1_card-box_maple.svg", "proofs/C-1.png"])
def test_a_file_that_is_missing_or_changed_is_made_anew(week: tuple[Path, Path], name: str) -> None:
    table, out = week
    before = contents(out)
    (out / name).unlink()
    assert run_week(table, out, jobs=1).made == 1
    assert contents(out) == before
    (out / name).write_bytes(b"mine")
    done = run_week(table, out, jobs=1)
    assert (done.made, done.changed_by_hand) == (1, (name,))
    assert (out / name).read_bytes() == before[name]


@pytest.mark.parametrize("damage", [b"", b"\n", b"{}\n", b"[" * 100_000, b"\xff\n", b'{"key":1}\n'])
def test_a_damaged_store_costs_time_and_nothing_else(week: tuple[Path, Path], damage: bytes) -> None:
    table, out = week
    before = contents(out)
    for record in (out / ".engrave" / "units").iterdir():
        record.write_bytes(damage or record.read_bytes()[:-5])
    assert run_week(table, out, jobs=1).made == len(ROWS)
    assert contents(out) == before


def test_a_change_of_the_shops_tables_or_typefaces_makes_all_anew(tmp_path: Path) -> None:
    table, shop = _write(tmp_path / "orders.csv", ROWS[:1]), tmp_path / "shop"
    (shop / "typefaces").mkdir(parents=True)
    (shop / "rates.toml").write_text("tax = 0.2\n", "utf-8")
    made = []
    for change in (None, None, ("rates.toml", "tax = 0.3\n"), ("typefaces/readme.txt", "new"), None):
        if change:
            (shop / change[0]).write_text(change[1], "utf-8")
        made.append(run_week(table, tmp_path / "out", jobs=1, shop_folder=shop).made)
    assert made == [1, 0, 1, 1, 0]


def test_only_leaves_what_it_was_not_asked_for_and_the_next_run_makes_it(week: tuple[Path, Path]) -> None:
    table, out = week
    times = _times(out)
    rows = [ROWS[0].replace("Ida", "Ada"), ROWS[1].replace("Tom", "Tim"), *ROWS[2:]]
    done = run_week(_write(table, rows), out, jobs=1, only=["C-1"])
    changed = {name for name, at in _times(out).items() if times.get(name) != at}
    assert changed and all("C-1" in name for name in changed)
    told = {(p["order"], p["piece"]): [q["code"] for q in p["problems"]] for p in done.report["pieces"]}
    assert "not-written" in told["C-2", 1] and "not-written" not in told["C-1", 1]
    assert run_week(table, out, jobs=1).made == 3
    fresh = table.parent / "fresh"
    run_week(table, fresh, jobs=1)
    assert contents(fresh) == contents(out)


@promised("A run that was stopped keeps what it finished, and the next one makes only the rest.")
def test_a_run_that_was_stopped_keeps_what_it_finished(
    made: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = unit_written.draw_unit

    def stopped(whats: Any, env: Any, *rest: Any) -> Any:
        if whats[0].order.id == "C-2":
            raise KeyboardInterrupt
        return real(whats, env, *rest)

    monkeypatch.setattr(unit_written, "draw_unit", stopped)
    with pytest.raises(Stopped) as stop:
        run_week(made[0], tmp_path / "out", jobs=1)
    monkeypatch.undo()
    assert "lids/C-1_card-box_maple.svg" in stop.value.written
    done = run_week(made[0], tmp_path / "out", jobs=1)
    assert done.made == len(ROWS) - 1
    assert contents(tmp_path / "out") == contents(made[1])


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_a_run_that_was_killed_again_and_again_comes_to_the_same_bytes(
    made: tuple[Path, Path], tmp_path: Path, jobs: str
) -> None:
    asked = [sys.executable, "-m", "engrave", "batch", str(made[0]), "--out", str(tmp_path / "out"), "--jobs", jobs]
    chance = random.Random(int(jobs))
    for _ in range(6):
        run = subprocess.Popen(asked, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(chance.uniform(1.0, 5.0))
        run.send_signal(signal.SIGKILL)
        run.wait()
    done = run_week(made[0], tmp_path / "out", jobs=1)
    assert done.changed_by_hand == ()
    assert contents(tmp_path / "out") == contents(made[1])


def test_a_fault_of_ours_is_not_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = _write(tmp_path / "orders.csv", ROWS[:1])
    monkeypatch.setattr(unit_drawn, "make_unit", lambda *_: 1 / 0)
    assert run_week(table, tmp_path / "out", jobs=1).week.totals.hold == 1
    monkeypatch.undo()
    assert run_week(table, tmp_path / "out", jobs=1).week.totals.ready == 1


def test_what_is_remembered_of_a_piece_is_all_that_the_week_is_worked_out_from(made: tuple[Path, Path]) -> None:
    env = environment()
    whats, _ = make_orders(made[0], env)
    for what in whats:
        (entry,) = make_unit([what], env)
        again = recalled(what, remember(entry))
        for name in ("verdict", "is_made", "is_laid", "may_be_cut", "quote", "estimate", "problems", "plain"):
            assert getattr(again.piece, name) == getattr(entry.piece, name), name
        assert again.alone_mm == entry.alone_mm
        assert [r.says for r in again.remedies] == [r.says for r in entry.remedies]
        assert remember(again) == remember(entry)


def _row(number: int, order: str, matching: str) -> Refused:
    words = Words(name="Ida")
    return Refused(Order(order, 1, number, words, words, matching=matching), 1, ())


@given(st.lists(st.tuples(st.sampled_from("ABCDEF"), st.sampled_from(["", "", "x", "y", "z"])), max_size=14))
def test_what_has_a_say_in_one_another_is_together_and_nothing_else(rows: list[tuple[str, str]]) -> None:
    groups = belonging([_row(i, *row) for i, row in enumerate(rows)])
    assert sorted(i for group in groups for i in group) == list(range(len(rows)))
    home = {i: n for n, group in enumerate(groups) for i in group}
    reached = {i: {i} for i in home}
    for _ in rows:  # the plain way: follow every bond until nothing more is reached
        for i, row in enumerate(rows):
            for j, other in enumerate(rows):
                if row[0] == other[0] or (row[1] and row[1] == other[1]):
                    reached[i] |= reached[j]
    assert all((home[i] == home[j]) == (j in reached[i]) for i in home for j in home)


def test_a_record_that_names_other_files_is_no_licence_to_touch_them(week: tuple[Path, Path]) -> None:
    table, out = week
    mine = table.parent / "mine.txt"
    mine.write_text("mine", "utf-8")
    for unit, _ in list(records(out)):
        record = out / ".engrave" / "units" / f"{unit}.jsonl"
        first, _, rest = record.read_text("utf-8").partition("\n")
        record.write_text(first.replace("lids/C", "../mine.txt") + "\n" + rest, "utf-8")
        assert kept_of(out, unit) is not None
    run_week(_write(table, ROWS[:1]), out, jobs=1)
    assert mine.read_text("utf-8") == "mine"
