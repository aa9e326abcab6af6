"""week.json and the lids it lists, damaged: each piece's time is left out with its reason, the rest is learned from."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from engrave.batch import run_week
from engrave.learning.read_back import NotLearned, courses_of_week, keys_of_week, read_lid
from engrave.making import Env, environment
from engrave.toolpath import Course
from engrave.verbs import AskedWrong, clock_log

ROWS = "order,name,lid,typeface,wood,cutter\nA-1,Ida,card-box,withy,walnut,v60\nA-2,Ole,card-box,withy,walnut,v60\n"
WANTED = {("A-1", 1), ("A-2", 1)}


@pytest.fixture(scope="module")
def env() -> Env:
    return environment(None)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    at = tmp_path_factory.mktemp("made")
    (at / "orders.csv").write_text(ROWS, "utf-8")
    run_week(at / "orders.csv", at / "week", jobs=1)
    return at / "week"


@pytest.fixture
def week(made: Path, tmp_path: Path) -> Path:
    return shutil.copytree(made, tmp_path / "week")


def _change(week: Path, change: Callable[[dict[str, Any]], object]) -> None:
    told = json.loads((week / "week.json").read_text("utf-8"))
    change(told["pieces"][0])
    (week / "week.json").write_text(json.dumps(told), "utf-8")


ODD = ["x", [], {}, None, True, -1, 1e308, float("nan"), float("inf"), 10**400, "../../etc/passwd", [[]]]


@pytest.mark.parametrize("odd", ODD, ids=range(len(ODD)))
@pytest.mark.parametrize(
    "key",
    [
        "order",
        "piece",
        "machine",
        "lid",
        "area",
        "cutter",
        "wood",
        "method",
        "svg",
        "depth_mm",
        "cap_height_mm",
        "path_caps_mm",
    ],
)
def test_one_damaged_piece_leaves_the_others(week: Path, env: Env, key: str, odd: object) -> None:
    _change(week, lambda piece: piece.update({key: odd}))
    found, _ = courses_of_week(week, "bench-router", WANTED, env)
    assert isinstance(found["A-2", 1], Course)
    for course in found.values():
        assert isinstance(course, str) or all(abs(v) < 1e6 for v in course.moves.steps.flat)


@pytest.mark.parametrize(
    "data",
    [b"", b"{", b"[]", b"null", b"9" * 5000, b"[" * 100_000, b'{"pieces": 5}', b'{"pieces": [5, [], null]}', b"\xff\xfe", b'{"writing": 5}'],
)  # fmt: skip
def test_a_damaged_list_is_told(week: Path, env: Env, tmp_path: Path, data: bytes) -> None:
    (week / "week.json").write_bytes(data)
    (tmp_path / "log.csv").write_text("order,seconds\nA-1,300\n", "utf-8")
    with pytest.raises(AskedWrong, match=r"week\.json|no such piece"):
        clock_log(tmp_path / "log.csv", "bench-router", env, week=week)


def test_a_folder_without_a_week_is_told(env: Env, tmp_path: Path) -> None:
    (tmp_path / "week.json").mkdir()
    with pytest.raises(NotLearned, match="is a folder"):
        keys_of_week(tmp_path)
    with pytest.raises(NotLearned, match="--week"):
        keys_of_week(tmp_path / "none")


@pytest.mark.parametrize(
    "data",
    [
        b"", b"<svg", b"<svg/>", b'<svg xmlns="http://www.w3.org/2000/svg"><g id="engrave"/></svg>',
        b'<svg xmlns="http://www.w3.org/2000/svg"><g id="engrave"><use href="#engrave"/></g></svg>',
        b"<svg>" + b"<g>" * 5000, b'<svg xmlns="http://www.w3.org/2000/svg"><g id="engrave"><path d="M0 0L1e999 5"/></g></svg>',
    ],
)  # fmt: skip
def test_a_damaged_lid_is_told(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "lid.svg").write_bytes(data)
    with pytest.raises(NotLearned, match=r"lid\.svg"):
        read_lid(tmp_path / "lid.svg")
