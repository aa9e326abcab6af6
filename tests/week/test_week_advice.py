"""What would save time is the week's: once for each recipe and typeface, on none of the pieces."""

from __future__ import annotations

import json
from pathlib import Path

from engrave import batch

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
