"""What is read back from a week's files takes as long as it was reckoned when it was made, by every method."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from engrave.batch import run_week
from engrave.learning.read_back import _caps, courses_of_week
from engrave.making import environment
from engrave.motion.machine_limits import limits_of
from engrave.timing.estimate import seconds_by_part, with_losses
from engrave.toolpath import Course

NAMES = ("Ida", "Wanda", "Marguerite", "Ole & Åse", "Tom", "Zelda", "William", "Kwame")
WAYS = {"v60": "vollkorn", "mill-05": "vollkorn", "diode-450": "quicksand", "v30": "withy"}
"""Cutters and typefaces: V-cut, pocket, raster and follow."""


@pytest.mark.slow
def test_every_file_of_a_week_is_read_back_as_long_as_it_was_reckoned(tmp_path: Path) -> None:
    rows = ["order,name,message,lid,typeface,wood,cutter,approved,checked"]
    for cutter, typeface in WAYS.items():
        for i, name in enumerate(NAMES if cutter == "v60" else NAMES[:3]):
            rows.append(
                f"{cutter}-{i},{name},{'with love' if i % 3 == 1 else ''},seed-box,{typeface},cherry,{cutter},,"
            )
    (tmp_path / "orders.csv").write_text("\n".join(rows) + "\n", "utf-8")
    run_week(tmp_path / "orders.csv", tmp_path / "week", jobs=2)
    told = {
        (p["order"], p["piece"]): p for p in json.loads((tmp_path / "week" / "week.json").read_text("utf-8"))["pieces"]
    }
    env = environment(None)
    compared: dict[str, list[float]] = {}
    for machine in ("bench-router", "gantry-laser"):
        found, _ = courses_of_week(tmp_path / "week", machine, set(told), env)
        for key, course in found.items():
            if isinstance(course, Course):
                of = env.shop.machines[machine]
                (parts,) = seconds_by_part([course], limits_of(of))
                seconds = sum(s for _, s in with_losses(course, parts, of))
                compared.setdefault(told[key]["method"], []).append(
                    seconds / told[key]["each"]["machine_seconds"] - 1.0
                )
    print({method: [f"{100 * off:+.2f} %" for off in offs] for method, offs in compared.items()})
    assert {"vee", "pocket", "raster", "follow"} <= set(compared)
    assert len(compared["vee"]) >= 6
    assert all(abs(off) < 0.001 for method, offs in compared.items() if method != "vee" for off in offs)
    assert all(abs(off) < 0.005 for off in compared["vee"])
    assert sorted(abs(off) for off in compared["vee"])[len(compared["vee"]) // 2] < 0.001


def test_a_list_that_does_not_tell_each_path_falls_back_to_the_smallest_capitals() -> None:
    lines = [{"cap_mm": 20.0}, {"cap_mm": 8.0}]
    assert _caps({"path_caps_mm": [[20.0, 2], [8.0, 1]], "lines": lines}, 3) == (20.0, 20.0, 8.0)
    for odd in (
        None,
        [],
        [[20.0, 2]],
        [[20.0, 4]],
        [[20.0, 2], [-1.0, 1]],
        [[20.0, True], [8.0, 2]],
        "x",
        [[1e308, 3]],
    ):
        assert _caps({"path_caps_mm": odd, "lines": lines}, 3) == (8.0, 8.0, 8.0)
