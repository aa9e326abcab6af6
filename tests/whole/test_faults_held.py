"""A fault of the program's own holds the piece that it met, says so, and lets the week go on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from engrave import making
from engrave.approval import agreeing
from engrave.batch import run_week, unit_drawn

TABLE = "order,name,lid,typeface,wood\nA-1,Ida,card-box,withy,walnut\nA-2,Tom,card-box,withy,walnut\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "orders.csv"
    path.write_text(TABLE, "utf-8")
    return path


def _pieces(table: Path) -> list[dict[str, Any]]:
    pieces: list[dict[str, Any]] = run_week(table, table.parent / "week", jobs=1).report["pieces"]
    return pieces


def test_a_file_that_does_not_pass_its_check_is_not_written(table: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unit_drawn, "check_svg", lambda svg: ("open",) if "Ida" in svg else ())
    first, second = _pieces(table)
    assert (first["verdict"], first["svg"]) == ("hold", None)
    assert [p["code"] for p in first["problems"] if p["level"] == "hold"] == ["svg-not-in-form"]
    assert second["svg"] == "lids/" + Path(second["svg"]).name
    written = {p.name for p in (table.parent / "week" / "lids").iterdir()}
    assert written == {Path(second["svg"]).name}


def test_a_stage_that_fails_holds_its_piece_with_the_place_in_the_code(
    table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = making.place

    def faulty(task: Any, *rest: Any) -> Any:
        if task.order.id == "A-1":
            raise ZeroDivisionError("of no width")
        return real(task, *rest)

    monkeypatch.setattr(making, "place", faulty)
    first, second = _pieces(table)
    assert first["verdict"] == "hold"
    (found,) = [p for p in first["problems"] if p["code"] == "failed"]
    assert found["level"] == "hold"
    assert "ZeroDivisionError" not in found["says"]  # no word for a woodworker; the problem keeps it for us
    assert "The fault is ours" in found["says"]
    assert found["where"].startswith("test_faults_held:")
    assert found["fault"] == "ZeroDivisionError: of no width"
    assert second["verdict"] != "hold"


@pytest.mark.parametrize(
    ("module", "name"), [(agreeing.svg, "lid_svg"), (agreeing, "facts_of"), (unit_drawn, "finish")]
)
def test_what_goes_wrong_beside_an_order_holds_that_order_only(
    table: Path, monkeypatch: pytest.MonkeyPatch, module: Any, name: str
) -> None:
    """In keeping its proof, in telling it from what was agreed, and in its money: each ended the week."""
    real = getattr(module, name)

    def faulty(of: Any, *rest: Any) -> Any:
        piece = of[0].piece if isinstance(of, list | tuple) else of
        if piece.order.id == "A-1":
            raise RuntimeError("a fault of ours")
        return real(of, *rest)

    monkeypatch.setattr(module, name, faulty)
    first, second = _pieces(table)
    (found,) = [p for p in first["problems"] if p["level"] == "hold"]
    assert (found["code"], first["svg"]) == ("failed", None)
    assert "The fault is ours" in found["says"]
    assert second["verdict"] == "ready"
    monkeypatch.undo()
    assert [piece["verdict"] for piece in _pieces(table)] == ["ready", "ready"]
