"""A look that was answered is accepted until what was looked at changes; nothing else is."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave import verbs
from engrave.batch import Done, run_week
from engrave.problems import Problem
from engrave.signs import CODE_SIGNS, signs_of
from engrave.week import Entry, with_checks
from week.made import entry

LOOK = Problem("asks", "look", "Is row 7 right?")
HOLD = Problem("stops", "hold", "It is not.")
NOTE = Problem("told", "note", "By the way.")


def _with(*problems: Problem, checked: str = "", row: int = 2, order: str = "o1") -> Entry:
    made = entry(order, 1.0)
    row_of = replace(made.piece.order, checked=checked, row=row)
    return replace(made, piece=replace(made.piece, order=row_of, problems=problems))


def _sign(*problems: Problem, geometry: str = "ABCDEF", **made: object) -> str:
    (found,) = with_checks([_with(*problems, **made)], [geometry])  # type: ignore[arg-type]
    return found.sign


def test_a_look_has_a_sign_and_the_sign_accepts_it() -> None:
    sign = _sign(LOOK, NOTE)
    assert sign[:3] == "ok " and len(sign) == 6 and set(sign[3:]) <= set(CODE_SIGNS)
    (accepted,) = with_checks([_with(LOOK, NOTE, checked=sign)], ["ABCDEF"])
    assert accepted.piece.verdict == "ready"
    assert [p.level for p in accepted.piece.problems] == ["note", "note"]
    assert accepted.piece.problems[0].says == f"{LOOK.says} Looked at and accepted ({sign})."


@pytest.mark.parametrize("written", ["{}", "  {} ", "OK-{3}", "{3}", "ok {3} Anna, 3 May", "ok 3BC; ok {3}"])
def test_the_sign_is_known_as_people_write_it(written: str) -> None:
    sign = _sign(LOOK)
    cell = written.replace("{3}", sign[3:].lower()).replace("{}", sign)
    assert with_checks([_with(LOOK, checked=cell)], ["ABCDEF"])[0].piece.verdict == "ready"


def test_whatever_was_looked_at_changes_the_sign() -> None:
    first = _sign(LOOK)
    assert _sign(LOOK, geometry="ABCDEG") != first
    assert _sign(LOOK, replace(LOOK, code="more")) != first
    assert _sign(replace(LOOK, says="Is row 7 wrong?")) != first
    words = entry("o1", 1.0).piece
    other = replace(words, problems=(LOOK,), order=replace(words.order, words=replace(words.order.words, name="Ann")))
    assert with_checks([Entry(other)], ["ABCDEF"])[0].sign != first


def test_what_says_nothing_of_the_lid_does_not() -> None:
    """A row put in above, a note beside it, another order number or quantity."""
    first = _sign(LOOK)
    assert _sign(replace(LOOK, says="Is row 8 right?"), NOTE, row=3, order="o2") == first


def test_a_sign_of_another_state_is_answered_with_the_new_one() -> None:
    (found,) = with_checks([_with(LOOK, checked="ok 2ZZ")], ["ABCDEF"])
    assert [p.code for p in found.piece.problems] == ["asks", "checked-before"]
    assert found.piece.verdict == "look"
    assert found.sign in found.piece.problems[-1].says


@pytest.mark.parametrize("cell", ["ok", "OK", "yes", "x", "Anna", "✓", "checked 2026-11-30"])
def test_ok_alone_is_answered_with_the_sign(cell: str) -> None:
    (found,) = with_checks([_with(LOOK, checked=cell)], ["ABCDEF"])
    assert [p.code for p in found.piece.problems] == ["asks", "checked-without-sign"]
    assert found.sign in found.piece.problems[-1].says


def test_a_hold_is_never_lifted_and_has_no_sign() -> None:
    for cell in ("", "ok", _sign(LOOK)):
        (found,) = with_checks([_with(LOOK, HOLD, checked=cell)], ["ABCDEF"])
        assert (found.piece.verdict, found.sign, len(found.piece.problems)) == ("hold", "", 2)


def test_all_pieces_of_a_row_have_one_sign_and_other_rows_their_own() -> None:
    pair = [_with(LOOK), _with(LOOK, NOTE), _with(LOOK, row=3, order="o2"), _with(NOTE, row=4, order="o3")]
    found = with_checks(pair, ["A", "B", "A", "C"])
    assert found[0].sign == found[1].sign != found[2].sign != found[3].sign == ""
    again = with_checks(
        [replace(e, piece=replace(e.piece, order=replace(e.piece.order, checked=found[0].sign))) for e in pair],
        list("ABAC"),
    )
    assert [e.piece.verdict for e in again] == ["ready", "ready", "look", "ready"]


@given(st.binary(min_size=8, max_size=32), st.integers(1, 12))
def test_signs_are_few_and_plain(digest: bytes, length: int) -> None:
    found = signs_of(digest, length)
    assert len(found) == length and set(found) <= set(CODE_SIGNS)


# --- a week -----------------------------------------------------------------------------------------------------------


def _week(folder: Path, checked: str, name: str = "ADA??", note: str = "wrap it warm") -> Done:
    table = folder / "orders.csv"
    out = io.StringIO()
    csv.writer(out).writerows(
        [
            ("order", "name", "lid", "wood", "due", "note", "checked"),
            ("A-1", name, "card-box", "maple", "soon", note, checked),
        ]
    )
    table.write_text(out.getvalue(), "utf-8")
    return run_week(table, folder / "week", jobs=1)


def test_the_circle_of_a_look(tmp_path: Path) -> None:
    """Printed, written, accepted: then the lid lies among those to cut; a changed word takes it away again."""
    first = _week(tmp_path, "")
    (told,) = first.report["pieces"]
    sign = told["sign"]
    assert told["verdict"] == "look" and told["svg"].startswith("not_yet/")
    assert f"write {sign} into the column checked" in first.summary
    page = (tmp_path / "week" / "week.html").read_text("utf-8")
    assert f"<b>{sign}</b>" in page
    assert "wrap it warm" in page
    rows = list(csv.DictReader(io.StringIO((tmp_path / "week" / "week.csv").read_text("utf-8-sig"))))
    assert rows[0]["sign"] == sign

    (told,) = _week(tmp_path, sign).report["pieces"]
    assert (told["verdict"], told["svg"][:5], told["sign"]) == ("ready", "lids/", sign)
    assert "soon" not in (tmp_path / "week" / told["svg"]).read_text("utf-8")
    assert not list((tmp_path / "week" / "not_yet").glob("*.svg"))
    rows = list(csv.DictReader(io.StringIO((tmp_path / "week" / "week.csv").read_text("utf-8-sig"))))
    assert rows[0]["checked"] == sign

    (told,) = _week(tmp_path, sign, name="ADAM??").report["pieces"]
    assert (told["verdict"], "checked-before" in [p["code"] for p in told["problems"]]) == ("look", True)
    assert told["sign"] != sign
    assert json.loads((tmp_path / "week" / "week.json").read_text("utf-8"))["totals"]["look"] == 1


def test_a_quote_of_the_table_accepts_the_same_sign(tmp_path: Path) -> None:
    sign = _week(tmp_path, "").report["pieces"][0]["sign"]
    _week(tmp_path, sign)
    assert verbs.quote_week(tmp_path / "orders.csv").totals.ready == 1
