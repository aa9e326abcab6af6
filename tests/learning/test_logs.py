"""Logs of times: read as orders tables are, every row that cannot be used told with its place and reason."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook

from engrave.learning.logs import LogError, read_log, time_in_seconds
from engrave.learning.read_back import as_listed
from engrave.limits import LOG_ROWS
from engrave.shop import load_shop


@pytest.fixture
def log(tmp_path: Path):  # type: ignore[no-untyped-def]
    def read(text: str | bytes):  # type: ignore[no-untyped-def]
        file = tmp_path / "log.csv"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_log(file, load_shop().intake)

    return read


@pytest.mark.parametrize(
    "text",
    [
        "order,piece,seconds,note\n101,1,452,\n101,2,7:32,clean\n",
        "Order;Piece;Minutes\n101;;7,5333333\n101;2;0:07:32\n",
        "\ufefforder\tseconds\tpiece\n101\t452\t\n\n101\t452.0\t2\n",
        "Order no,sec,Piece no\n101,452,\n101,452,2\n",
        "ORDER_NO,time,piece\n101,7:32,\n101,452 s,2\n",
        "order,Time (s),piece\n101,452,1\n101,452,2.0\n",
        "order,Machine time [min],piece\n101,7.5333333,1\n101,7.5333333,2\n",
        "Times of the week\n\nOrder number,Taken (sec),Lid no\n101,452,\n101,7 min 32 s,2\n",
        "order,minutes,piece\n101,7m32s,1\n101,7' 32\",2\n",
        "sep=;\norder;seconds;piece\n101;452;1\n101;452;2\n",
        "order,seconds,seconds,piece\n101,452,,1\n101,452,452,2\n",
    ],
)
def test_logs_as_shops_write_them(log, text: str) -> None:  # type: ignore[no-untyped-def]
    logs, problems = log(text)
    assert not problems
    assert [(one.order, one.piece) for one in logs] == [("101", 1), ("101", 2)]
    assert [one.seconds for one in logs] == pytest.approx([452, 452], abs=0.01)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_logs_have_the_encodings_of_orders(log, encoding: str) -> None:  # type: ignore[no-untyped-def]
    logs, _ = log("order,seconds,note\nJosé-1,452,zügig\nA-2,460,\n".encode(encoding))
    assert [one.order for one in logs] == ["José-1", "A-2"]
    assert logs[0].note == "zügig"


def test_a_log_may_be_a_sheet(tmp_path: Path) -> None:
    book = Workbook()
    for row in (["Order", "Piece", "Seconds"], [101, 2, 452.5], ["A-7", None, 90]):
        book.active.append(row)
    book.save(tmp_path / "log.xlsx")
    logs, problems = read_log(tmp_path / "log.xlsx")
    assert not problems
    assert [(one.order, one.piece, one.seconds) for one in logs] == [("101", 2, 452.5), ("A-7", 1, 90.0)]


@pytest.mark.parametrize(
    ("text", "unit", "seconds"),
    [
        ("452", 1.0, 452), ("7.5", 60.0, 450), ("7,5", 60.0, 450), ("7:30", 1.0, 450), ("1:07:30", 60.0, 4050), ("7:30.5", None, 450.5),
        ("452 s", None, 452), ("452sec", 60.0, 452), ("7 min", None, 420), ("1 h 2 min 3 s", None, 3723), ("2h", 1.0, 7200), (".5", 60.0, 30),
        ("452.125", 1.0, 452.125), ("7.533", 60.0, 451.98), ("1234", 1.0, 1234),
    ],
)  # fmt: skip
def test_times_as_people_write_them(text: str, unit: float | None, seconds: float) -> None:
    assert time_in_seconds(text, unit) == pytest.approx(seconds)


@pytest.mark.parametrize(
    ("text", "unit", "why"),
    [
        ("450", None, "has no unit"), ("1,234", 1.0, "may be 1234 s"), ("7:99", 1.0, "is not a time"), ("abc", 1.0, "is not a time"),
        ("-5", 1.0, "is not a time"), ("1e400", 1.0, "is not a time"), ("nan", 1.0, "is not a time"), ("½", 1.0, "is not a time"),
        ("²", 1.0, "is not a time"), ("9" * 400, 1.0, "is not a time"), ("::", 1.0, "is not a time"), ("x" * 200_000, 1.0, "xx…' is not"),
        ("7 7", 60.0, "is not a time"), ("1/2", 60.0, "is not a time"),
    ],
)  # fmt: skip
def test_what_is_no_time_is_told(text: str, unit: float | None, why: str) -> None:
    with pytest.raises(ValueError, match=r"time|unit|may be") as error:
        time_in_seconds(text, unit)
    assert why in str(error.value)
    assert len(str(error.value)) < 150


def test_rows_that_cannot_be_used_are_told_with_their_place(log) -> None:  # type: ignore[no-untyped-def]
    logs, problems = log(
        "order,piece,seconds,minutes\n,1,50,\n1,x,50,\n2,1,,\n3,1,50,2\n4,1,abc,\n5,1,0,\n6,1,50,\n7,²,50,\n8,0,50,\n9,1.5,50,\n"
    )
    assert [one.order for one in logs] == ["6"]
    assert [p.where for p in problems] == [f"row {n}" for n in (*range(2, 8), 9, 10, 11)]
    assert all(p.level == "look" for p in problems)
    assert "'abc' is not a time" in problems[4].says
    assert "piece is '²'; allowed is a whole number from 1" in problems[6].says


def test_two_columns_that_say_different_times_are_told(log) -> None:  # type: ignore[no-untyped-def]
    logs, (problem,) = log("order,seconds,sec\nA,50,60\nB,50,50\n")
    assert [one.order for one in logs] == ["B"]
    assert "two columns say seconds: '50' and '60'" in problem.says


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"name,time\na,3\n",
        b"%PDF-1.7",
        b"\0" * 500,
        b"order,piece\nA,1\n",
        b"PK\x03\x04xl/ not a sheet",
        b"x" * 200_000,
    ],
)
def test_a_file_that_is_no_log_is_refused(log, tmp_path: Path, content: bytes) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(LogError):
        log(content)
    for place in (tmp_path / "none.csv", tmp_path, Path("/dev/zero"), Path("a\0b")):
        with pytest.raises(LogError, match="cannot be read"):
            read_log(place)


def test_long_cells_and_long_logs_are_answered(log) -> None:  # type: ignore[no-untyped-def]
    logs, problems = log("order,seconds,note\nA,50," + "x" * 200_000 + "\n" + "y" * 200_000 + ",5\nB,60,\n")
    assert [one.order for one in logs] == ["A", "B"]
    assert [p.where for p in problems] == ["row 3"]
    with pytest.raises(LogError, match=f"more than {LOG_ROWS.most:,} rows"):
        log("order,seconds\n" + "A,50\n" * (LOG_ROWS.most + 1))


def test_orders_are_found_whatever_their_case_and_what_could_be_two_is_left(log) -> None:  # type: ignore[no-untyped-def]
    logs, _ = log("order,seconds\na-1,50\nA 2,60\nb,70\n#101.0,80\nA-9,90\n")
    named = as_listed(logs, [("A-1", 1), ("a2", 1), ("B", 1), ("b ", 1), ("101", 1)])
    assert [one.order for one in named] == ["A-1", "a2", "b", "101", "A-9"]
