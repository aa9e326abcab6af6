"""Times taken beside a machine whose true figures are hidden: from the week's folder to a better estimate."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from engrave.batch import run_week
from engrave.cli import main
from engrave.learning import Learned
from engrave.learning.read_back import courses_of_week
from engrave.making import environment, make_any
from engrave.motion.machine_limits import limits_of
from engrave.timing.estimate import seconds_by_part, with_losses
from engrave.toolpath import Course
from engrave.verbs import AskedWrong, make_orders, save_learned

NAMES = ("Ida", "Wanda", "Ole", "Margaret", "Tom", "Wren", "Kwame", "Zelda")
BEAM, BIT = "gantry-laser", "bench-router"

HIDDEN = """[bench-router]
amax_mm_s2 = [140, 140, 60]
stroke_s = 0.4
fixed_s = 19.0

[gantry-laser]
amax_mm_s2 = [600, 450, 100]
stroke_s = 0.09
fixed_s = 13.0
"""
"""The machines as they really are; the program's own table knows nothing of it."""


def _orders() -> str:
    rows = ["order,name,message,lid,typeface,wood,cutter,line_weight"]  # plain lines: what a beam follows
    for i, name in enumerate(NAMES):
        message = "sixty summers on the river" if i % 3 == 0 else ""
        rows.append(f"L-{i},{name},{message},round-caddy,withy,maple,diode-450,0")
        rows.append(f"R-{i},{name},,round-caddy,withy,walnut,v30,")
    rows += [f"P-{cutter},Wanda,,round-caddy,vollkorn,cherry,{cutter}," for cutter in OUTLINES]
    rows.append("P-weight,Wanda,,round-caddy,withy,walnut,diode-450,auto")  # lines side by side
    return "\n".join(rows) + "\n"


OUTLINES = {"diode-450": "raster", "v60": "vee", "mill-05": "pocket"}
"""Cutters that make letters with a body, and how."""


def _week(folder: Path) -> list[dict[str, Any]]:
    return json.loads((folder / "week.json").read_text("utf-8"))["pieces"]  # type: ignore[no-any-return]


def _asked(*words: object) -> Result:
    return CliRunner().invoke(main, ["clock", *(str(w) for w in words)], catch_exceptions=False)


@pytest.fixture(scope="module")
def times(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[tuple[str, str], float]]:
    """A week's folder made with our tables, and the seconds that each piece takes on the hidden machines."""
    at = tmp_path_factory.mktemp("times")
    (at / "orders.csv").write_text(_orders(), "utf-8")
    (at / "hidden").mkdir()
    (at / "hidden" / "machines.toml").write_text(HIDDEN, "utf-8")
    run_week(at / "orders.csv", at / "week", jobs=2)
    real = environment(at / "hidden")
    made = [make_any(what, real) for what in make_orders(at / "orders.csv", real)[0]]
    return at, {(p.order.id, p.task.tool.machine.id): p.estimate.seconds for p in made if p.estimate and p.task}


def _log(
    file: Path, machine: str, real: dict[tuple[str, str], float], odd: Sequence[str] = (), unit: float = 1.0
) -> Path:
    rng = np.random.default_rng(3)
    rows = ["order,piece,seconds,date,note" if unit == 1.0 else "order;piece;minutes"]
    for (order, of), seconds in real.items():
        if of == machine and order[0] != "P":
            taken = seconds * np.exp(rng.normal(0, 0.02)) * (1.9 if order in odd else 1.0)
            rows.append(
                f"{order},1,{taken:.1f},2026-12-01," if unit == 1.0 else f"{order};1;{max(1, round(taken / unit))}"
            )
    file.write_text("\n".join(rows) + "\n", "utf-8")
    return file


@pytest.mark.slow
@pytest.mark.parametrize("machine", [BEAM, BIT])
def test_a_hidden_machine_is_learned_from_the_folder_and_saved(
    times: tuple[Path, dict[tuple[str, str], float]], tmp_path: Path, machine: str
) -> None:
    at, real = times
    odd = ("L-4", "R-4")
    log = _log(tmp_path / "log.csv", machine, real, odd)
    plot, own = tmp_path / "times.png", tmp_path / "own"
    own.mkdir()
    asked = (log, "--machine", machine, "--week", at / "week", "--plot", plot, "--shop", own)
    told = json.loads(_asked(*asked, "--json").stdout)
    assert not list(own.iterdir())  # nothing is written unless asked for
    assert told["runs"] == len(NAMES)
    assert told["error_before"] > 0.2
    assert told["error_after"] < 0.03
    assert told["error_next"] < 0.06
    assert [p["order"] for p in told["points"] if p["outlier"]] == [odd[0] if machine == BEAM else odd[1]]
    assert plot.read_bytes().startswith(b"\x89PNG")
    fixed = next(p for p in told["parameters"] if p["name"] == "time lost once a job")
    assert fixed["determined"]
    assert fixed["after"] == pytest.approx(13.0 if machine == BEAM else 19.0, rel=0.25)
    assert not next(p for p in told["parameters"] if p["name"] == "corner deviation")["determined"]

    said = _asked(*asked, "--save").stdout
    assert "machines.toml, which is new" in said
    assert "corner deviation: not determined" in said
    again = json.loads(_asked(*asked, "--save", "--json").stdout)
    assert again["error_before"] < 0.03
    assert again["saved"] is None, "each run counts once"
    assert "log-counted" in {p["code"] for p in again["problems"]}


@pytest.mark.slow
def test_lids_read_back_take_as_long_as_the_week_says(times: tuple[Path, dict[tuple[str, str], float]]) -> None:
    at, _ = times
    env = environment()
    pieces = [p for p in _week(at / "week") if p["svg"]]
    assert set(OUTLINES.values()) | {"follow", "side-by-side"} == {p["method"] for p in pieces}
    for piece in pieces:
        machine = env.shop.machines[piece["machine"]]
        found, notes = courses_of_week(at / "week", machine.id, {(piece["order"], piece["piece"])}, env)
        course = found[piece["order"], piece["piece"]]
        assert isinstance(course, Course) and not notes
        seconds = sum(s for _, s in with_losses(course, seconds_by_part([course], limits_of(machine))[0], machine))
        assert seconds == pytest.approx(piece["machine_seconds"], rel=0.005, abs=0.06), piece["order"]


@pytest.mark.slow
def test_what_is_wrong_with_a_log_is_said(times: tuple[Path, dict[tuple[str, str], float]], tmp_path: Path) -> None:
    at, real = times
    minutes = _log(tmp_path / "minutes.csv", BIT, real, unit=60.0)
    said = _asked(minutes, "--machine", BIT, "--week", at / "week").stdout
    assert "These times are whole minutes" in said
    assert "Nothing was changed." in said
    mixed = tmp_path / "mixed.csv"
    mixed.write_text("order,seconds\nL-1,30\nR-1,60\nnobody,5\nL-2,soon\n", "utf-8")
    said = _asked(mixed, "--machine", BEAM, "--week", at / "week").stdout
    assert "Row 3: the time of R-1 is left out: it is cut on 'bench-router'." in said
    assert "Row 4: the time of nobody is left out: there is no such piece in the week." in said
    assert "Row 5 is left out: 'soon' is not a time" in said
    assert "only one factor on all times is learned" in said
    (lid,) = (at / "week" / "lids").glob("L-2_*.svg")
    lid.write_text("<svg/>", "utf-8")
    mixed.write_text("order,seconds\nL-1,30\nL-2,30\n", "utf-8")
    said = _asked(mixed, "--machine", BEAM, "--week", at / "week").stdout
    assert f"the time of L-2 is left out: {lid.name} has no group 'engrave' with lettering in it." in said
    anew = json.loads(_asked(mixed, "--machine", BEAM, "--orders", at / "orders.csv", "--json").stdout)
    assert [p["order"] for p in anew["points"]] == ["L-1", "L-2"]


def test_what_cannot_be_clocked_is_refused(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text("order,seconds\nL-1,30\n", "utf-8")
    for asked, says in (
        (("--machine", "no-such"), "The shop has no machine 'no-such'. Known: bench-router"),
        (("--machine", BEAM, "--week", tmp_path), "name the one that 'engrave batch' wrote with --week"),
        (("--machine", BEAM, "--save"), "--save needs --shop FOLDER"),
        (("--machine", BEAM, "--week", tmp_path, "--orders", log), "not both"),
    ):
        done = _asked(log, *asked)
        assert done.exit_code == 2
        assert says in done.output
    assert _asked(tmp_path / "none.csv", "--machine", BEAM).exit_code == 2


def test_a_table_that_would_not_be_read_again_is_put_back(tmp_path: Path) -> None:
    table = tmp_path / "machines.toml"
    table.write_text("[gantry-laser]\nfixed_s = 3\n", "utf-8")
    learned = _learned(scale=99.0)
    with pytest.raises(AskedWrong, match="would not be read again"):
        save_learned(learned, BEAM, tmp_path)
    assert table.read_text("utf-8") == "[gantry-laser]\nfixed_s = 3\n"
    assert [p.name for p in tmp_path.iterdir()] == ["machines.toml"]


def _learned(scale: float) -> Learned:
    machine = replace(environment().shop.machines[BEAM], scale=scale)
    return Learned(machine, (), 0.4, 0.1, None, (), ())


def test_one_run_is_told_in_plain_figures(times: tuple[Path, dict[tuple[str, str], float]], tmp_path: Path) -> None:
    """One run tells no scatter, so what was taken until now stays; it once said 'within 103%'."""
    at, real = times
    log = _log(tmp_path / "log.csv", BEAM, {("L-1", BEAM): real["L-1", BEAM]})
    said = _asked(log, "--machine", BEAM, "--week", at / "week").stdout
    assert "  1 run: estimates were " in said
    assert " % off, and are now 0.0 %." in said
    assert "Nine of ten runs should fall within 30 % of the estimate" in said
    assert "  0 %\n" in said
    assert "0%" not in said
