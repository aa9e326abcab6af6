"""A piece can be written, named by its code and read back without being timed: the clock decides nothing that is cut."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import engrave.making as making
from engrave.intake import words_typed
from engrave.learning.read_back import read_lid
from engrave.making import Env, environment, make, set_and_checked, with_toolpath
from engrave.output.sheets import order_proof
from engrave.output.svg import lid_svg, proof_code
from engrave.tasks import Task, define_all


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


@pytest.mark.parametrize(
    ("typeface", "cutter"),
    [("ems-readability", "ball-1"), ("vollkorn", "v60"), ("noto-sans-bold", "mill-05"), ("noto-sans", "co2-tube")],
)
def test_an_untimed_piece_is_written_and_coded_as_a_timed_one(
    typeface: str, cutter: str, env: Env, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    order = replace(words_typed("Wanda", "", "", env.shop.intake), typeface=typeface, cutter=cutter)
    (task,) = define_all([order], env.shop, env.shelf.kinds())
    assert isinstance(task, Task)
    timed = make(task, env)

    def no_clock(*_: object) -> None:
        raise AssertionError("the clock was asked")

    monkeypatch.setattr(making, "estimate_time", no_clock)
    untimed = with_toolpath(set_and_checked(task, env), env)
    assert untimed.estimate is None
    assert timed.estimate is not None
    svg = lid_svg(untimed, env.shop)
    assert svg == lid_svg(timed, env.shop)
    assert proof_code(untimed) == proof_code(timed) is not None
    sheets = [order_proof([piece], proof_code(piece), env.shop, env.shelf) for piece in (untimed, timed)]
    assert sheets[0] == sheets[1]
    file = tmp_path / "lid.svg"
    file.write_text(svg, "utf-8")
    assert untimed.toolpath is not None
    assert sum(map(len, read_lid(file).shapes)) == len(untimed.toolpath.strokes)
