"""What would save time is the week's: once for each recipe and typeface, on none of the pieces."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from engrave import batch
from engrave.batch import advice_apart, given_out, week_run
from engrave.week import KnownSavers, LidSorts, sorts_of, still_asked

SAVES = {"single-line", "by-stroke", "slower-raster", "coarser-rows", "weight-sooner"}


def test_it_is_told_once_for_all_lids_of_one_recipe_and_typeface(tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    names = ["Wanda", "Ottilie", "Rosalind"]
    rows = [f"A-{i},{name},card-box,vollkorn,co2-tube,cherry\n" for i, name in enumerate(names)]
    table.write_text("order,name,lid,typeface,cutter,wood\n" + "".join(rows), encoding="utf-8")
    told = batch.run_week(table, tmp_path / "week", jobs=1).report
    assert not any(p["code"] in SAVES for piece in told["pieces"] for p in piece["problems"])
    notes = [n for n in told["notes"] if n["code"] in SAVES]
    assert notes
    assert all(n["says"].startswith("3 lids (") and "order A-0" in n["says"] for n in notes)
    assert all("Vollkorn" in n["says"] for n in notes if n["code"] == "single-line")
    assert len({n["code"] for n in notes}) == len(notes)
    again = batch.run_week(table, tmp_path / "week", jobs=1)
    assert again.made == 0
    assert json.dumps(again.report["notes"]) == json.dumps(told["notes"])


TABLE = "order,name,lid,typeface,cutter,wood\nA-1,Wanda,card-box,vollkorn,co2-tube,cherry\n"


def _notes(done: batch.Done) -> list[str]:
    return [note["says"] for note in done.report["notes"] if note["code"] in SAVES]


def test_it_is_not_worked_out_again_where_nothing_changed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(TABLE, encoding="utf-8")
    notes = _notes(batch.run_week(table, tmp_path / "week", jobs=1))
    asked: list[int] = []
    real = week_run.week_advice
    monkeypatch.setattr(week_run, "week_advice", lambda *of: (asked.append(1), real(*of))[1])
    assert _notes(batch.run_week(table, tmp_path / "week", jobs=1)) == notes
    assert notes and not asked
    table.write_text(TABLE.replace("Wanda", "Ottilie"), encoding="utf-8")
    assert _notes(batch.run_week(table, tmp_path / "week", jobs=1))
    assert asked == [1]
    for damage in ("", "[]", '{"key": 1}'):
        (tmp_path / "week" / ".engrave" / "advice.json").write_text(damage, encoding="utf-8")
        assert _notes(batch.run_week(table, tmp_path / "week", jobs=1))
    assert asked == [1] * 4


def test_that_of_a_long_week_is_worked_out_by_another_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(TABLE, encoding="utf-8")
    here = _notes(batch.run_week(table, tmp_path / "here", jobs=1))
    monkeypatch.setattr(week_run, "FEW_THINGS", 0)
    monkeypatch.setattr(week_run, "week_advice", lambda *_: 1 / 0)
    assert here and _notes(batch.run_week(table, tmp_path / "apart", jobs=1)) == here
    advice = tmp_path / "apart" / ".engrave" / "advice.json"
    advice.unlink()
    monkeypatch.setattr(advice_apart, "LONGEST_ADVICE", 0.01)  # it is ended at once
    assert not _notes(batch.run_week(table, tmp_path / "apart", jobs=1))
    assert not advice.exists()  # and asked again by the next run


def test_a_fault_in_it_costs_the_note_and_not_the_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(TABLE, encoding="utf-8")
    monkeypatch.setattr(week_run, "week_advice", lambda *_: 1 / 0)
    done = batch.run_week(table, tmp_path / "week", jobs=1)
    assert not _notes(done)
    assert "Wanda" in (tmp_path / "week" / "week.html").read_text("utf-8")
    monkeypatch.undo()
    assert _notes(batch.run_week(table, tmp_path / "week", jobs=1))


ROWS = [("vollkorn", "cherry"), ("quicksand", "maple"), ("vollkorn", "walnut"), ("quicksand", "cherry")]


def _several(folder: Path) -> Path:
    rows = (f"B-{i},{name},card-box,{face},co2-tube,{wood}\n"
            for i, (name, (face, wood)) in enumerate(zip(["Wanda", "Ottilie", "Rosalind", "Ida"], ROWS, strict=True)))  # fmt: skip
    table = folder / "orders.csv"
    table.write_text("order,name,lid,typeface,cutter,wood\n" + "".join(rows), encoding="utf-8")
    return table


def test_workers_work_it_out_lid_by_lid_and_say_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = _several(tmp_path)
    here = _notes(batch.run_week(table, tmp_path / "here", jobs=1))
    monkeypatch.setattr("engrave.week.advice.savers_of", lambda *_: 1 / 0)  # the leading process works out none
    for name, few in (("together", 2_000), ("long", 0)):
        monkeypatch.setattr(week_run, "FEW_THINGS", few)
        monkeypatch.setattr(week_run, "advised_apart", lambda *_: 1 / 0)
        assert here and _notes(batch.run_week(table, tmp_path / name, jobs=2)) == here
    kept = [(tmp_path / name / ".engrave" / "advice.json").read_bytes() for name in ("here", "together", "long")]
    assert kept[0] == kept[1] == kept[2]


def test_workers_ask_for_none_where_it_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lids that are put back as they were change nothing of what the advice is of."""
    table = _several(tmp_path)
    notes = _notes(batch.run_week(table, tmp_path / "week", jobs=2))
    for lid in (tmp_path / "week" / "lids").iterdir():
        lid.unlink()
    monkeypatch.setattr(given_out.AdviceAsked, "heard", lambda *_: 1 / 0)
    again = batch.run_week(table, tmp_path / "week", jobs=2)
    assert again.made == len(ROWS)
    assert _notes(again) == notes


@pytest.mark.alone
@pytest.mark.skipif(sys.platform != "linux", reason="the stand-in reaches a worker only by forking")
def test_a_fault_of_a_worker_over_it_costs_the_notes_and_not_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(given_out, "savers_of", lambda *_: 1 / 0)
    table = _several(tmp_path)
    assert not _notes(batch.run_week(table, tmp_path / "week", jobs=2))
    assert not (tmp_path / "week" / ".engrave" / "advice.json").exists()
    monkeypatch.undo()
    assert _notes(batch.run_week(table, tmp_path / "week", jobs=2))


def test_pieces_may_become_known_in_any_order(tmp_path: Path) -> None:
    entries = list(batch.run_week(_several(tmp_path), tmp_path / "week", jobs=1).week.entries)
    sorts = LidSorts()
    for place in (2, 0, 3, 1):
        sorts.add(place, entries[place])
    assert sorts.costly() == sorts_of(entries).costly()
    first, *rest = still_asked(sorts.costly(), {})
    assert first.kinds == ("look", "recipe") and rest
    known: KnownSavers = dict.fromkeys(first.lids, ())
    assert still_asked(sorts.costly(), known) == tuple(rest)
