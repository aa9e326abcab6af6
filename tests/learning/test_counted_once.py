"""A run counts once, nonsense is refused with its reason, and what is claimed of a machine is no more than is known."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from toolpath.workbench import machine

from engrave.learning.fitting import learn
from engrave.learning.learned import Learned
from engrave.learning.logs import Log
from engrave.learning.memory import NAME, Memory, recalled, remembered, run_name
from engrave.learning.nonsense import Nonsense
from engrave.toolpath.moves import Course
from learning.test_fit import _jobs, _real, _truth

ROUTER = machine("router")


@pytest.fixture(scope="module")
def jobs() -> list[Course]:
    return _jobs(np.random.default_rng(21), 40, ROUTER)


def logs_of(seconds: Sequence[float], **of: str) -> list[Log]:
    return [Log(f"o{i}", 1, float(s), i + 2, **of) for i, s in enumerate(seconds)]


def learned(courses: Sequence[Course], seconds: Sequence[float], memory: Memory | None = None) -> Learned:
    return learn({(f"o{i}", 1): c for i, c in enumerate(courses)}, logs_of(seconds), ROUTER, memory)


# --- nonsense -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [3, 10])
@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda s: s / 60.0, "look like minutes written as seconds"),
        (lambda s: s * 60.0, "look like seconds written as minutes"),
        (lambda s: s * 9.0, "cannot be those of these pieces"),
        (lambda s: s / 9.0, "cannot be those of these pieces"),
        (lambda s: np.full(len(s), float(np.median(s))), "do not follow what there is to cut|fall where there is more"),
        (lambda s: np.median(s) ** 2 / s, "fall where there is more to cut"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_with_its_reason(jobs: list[Course], count: int, change, why: str) -> None:  # type: ignore[no-untyped-def]
    real = _real(jobs[:count], _truth(ROUTER))
    with pytest.raises(Nonsense, match=why):
        learned(jobs[:count], change(real))


def test_times_at_random_are_refused(jobs: list[Course]) -> None:
    rng = np.random.default_rng(5)
    for _ in range(4):
        real = _real(jobs[:12], _truth(ROUTER))
        with pytest.raises(Nonsense, match=r"follow|fall|half of the estimates"):
            learned(jobs[:12], rng.permutation(real) * np.exp(rng.normal(0, 0.3, 12)))


@pytest.mark.parametrize("count", [3, 12])
def test_pieces_that_are_all_alike_are_no_nonsense(jobs: list[Course], count: int) -> None:
    real = _real(jobs[:1], _truth(ROUTER))[0] * np.exp(np.random.default_rng(2).normal(0, 0.02, count))
    found = learned([jobs[0]] * count, real)
    assert found.error_after < 0.03


# --- once ---------------------------------------------------------------------------------------------------------------


def test_rows_copied_three_times_count_once(jobs: list[Course]) -> None:
    real = _real(jobs[:8], _truth(ROUTER))
    courses = {(f"o{i}", 1): c for i, c in enumerate(jobs[:8])}
    rows = logs_of(real)
    copied = [
        *rows,
        *(replace(log, row=log.row + 8) for log in rows),
        *(replace(log, row=log.row + 16) for log in rows),
    ]
    plain, thrice = learn(courses, rows, ROUTER), learn(courses, copied, ROUTER)
    assert thrice.machine == plain.machine
    repeats = [p for p in thrice.problems if p.code == "log-repeated"]
    assert len(repeats) == 16
    assert repeats[0].says.startswith("Row 10 says what row 2 says, and counts once.")


def test_a_log_that_was_saved_changes_nothing_when_it_comes_again(jobs: list[Course], tmp_path: Path) -> None:
    real = _real(jobs[:10], _truth(ROUTER)) * np.exp(np.random.default_rng(3).normal(0, 0.03, 10))
    first = learned(jobs[:10], real)
    (tmp_path / NAME).write_text(remembered(tmp_path, "router", first.memory), "utf-8")
    courses = {(f"o{i}", 1): c for i, c in enumerate(jobs[:10])}
    again = learn(courses, logs_of(real), first.machine, recalled(tmp_path, first.machine))
    assert not again.changed
    assert again.machine == first.machine
    assert [p.code for p in again.problems] == ["log-counted"]
    assert len(again.points) == 10


@pytest.mark.slow
def test_a_log_that_grows_teaches_its_new_rows_alone_and_as_much_as_all_at_once(
    jobs: list[Course], tmp_path: Path
) -> None:
    real = _real(jobs, _truth(ROUTER)) * np.exp(np.random.default_rng(3).normal(0, 0.03, len(jobs)))
    of, memory = ROUTER, Memory()
    for upto in (10, 20, 30, 40):
        courses = {(f"o{i}", 1): c for i, c in enumerate(jobs[:upto])}
        found = learn(courses, logs_of(real[:upto]), of, memory)
        assert len(found.points) == 10
        (tmp_path / NAME).write_text(remembered(tmp_path, "router", found.memory), "utf-8")
        of = found.machine
        memory = recalled(tmp_path, of)
        assert len(memory.runs) == upto
    whole = learned(jobs, real)
    for one in (of, whole.machine):
        assert np.median(np.abs(_real(jobs, one) / _real(jobs, _truth(ROUTER)) - 1.0)) < 0.02
    assert of.amax[0] == pytest.approx(whole.machine.amax[0], rel=0.25)


def test_a_few_runs_at_a_time_are_weighed_by_their_number(jobs: list[Course]) -> None:
    real = 1.3 * _real(jobs[:6], ROUTER)
    first = learned(jobs[:3], real[:3])
    courses = {(f"o{i}", 1): c for i, c in enumerate(jobs[:6])}
    later = learn(courses, logs_of([*real[:3], *(1.3 / 1.3 * real[3:])]), first.machine, first.memory)
    assert later.machine.scale == pytest.approx(1.3, rel=1e-6)
    assert later.memory.scaled == 6


def test_a_table_changed_by_hand_begins_anew(jobs: list[Course], tmp_path: Path) -> None:
    first = learned(jobs[:8], _real(jobs[:8], _truth(ROUTER)))
    (tmp_path / NAME).write_text(remembered(tmp_path, "router", first.memory), "utf-8")
    assert recalled(tmp_path, first.machine).runs
    assert recalled(tmp_path, replace(first.machine, fixed_s=33.0)) == Memory()
    assert recalled(tmp_path, replace(first.machine, id="other")) == Memory()
    assert recalled(None, first.machine) == Memory()


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{", "[" * 100_000, '{"machines": 5}', '{"machines": {"router": 5}}', '{"machines": {"router": {}}}',
     '{"machines": {"router": {"runs": 5, "centre": [], "spread": [], "scaled": 0, "figures": []}}}',
     '{"machines": {"router": {"runs": [], "centre": [1], "spread": [[NaN]], "scaled": 0, "figures": [1]}}}',
     '{"machines": {"router": {"runs": [], "centre": [1], "spread": [[-1]], "scaled": "x", "figures": []}}}'],
    ids=range(10),
)  # fmt: skip
def test_a_damaged_memory_is_none_and_is_written_anew(jobs: list[Course], tmp_path: Path, text: str) -> None:
    (tmp_path / NAME).write_text(text, "utf-8")
    assert recalled(tmp_path, ROUTER) == Memory()
    first = learned(jobs[:8], _real(jobs[:8], _truth(ROUTER)))
    (tmp_path / NAME).write_text(remembered(tmp_path, "router", first.memory), "utf-8")
    assert recalled(tmp_path, first.machine) == first.memory


def test_runs_are_one_whatever_file_and_row_and_two_where_the_day_differs() -> None:
    one = Log("A-1", 1, 452.0, 2, "2026-11-02")
    assert run_name(one) == run_name(replace(one, row=9, order="a-1"))
    assert run_name(one) != run_name(replace(one, date="2026-11-03"))
    assert run_name(one) != run_name(replace(one, note="second cut"))
    assert json.loads(remembered(Path("/nowhere"), "x", Memory(frozenset({run_name(one)}))))["schema"] == 1


# --- no more than is known ----------------------------------------------------------------------------------------------


def test_what_is_not_determined_stays_as_it_was(jobs: list[Course]) -> None:
    found = learned(jobs[:12], _real(jobs[:12], _truth(ROUTER)))
    vague = [f for f in found.fitted if not f.determined]
    assert vague
    assert all(f.after == f.before for f in vague)
    assert found.machine.corner_slack == pytest.approx(ROUTER.corner_slack) or found.fitted[1].determined


def test_whole_minutes_end_no_worse_than_not_learning(jobs: list[Course]) -> None:
    truth = _truth(ROUTER)
    for first in range(0, 32, 8):
        some = jobs[first : first + 8]
        real = np.maximum(1.0, np.round(_real(some, truth) / 60.0)) * 60.0
        try:
            found = learned(some, real)
        except Nonsense:
            continue
        off = [
            np.median(np.abs(_real(jobs, of) * of.scale / _real(jobs, truth) - 1.0)) for of in (ROUTER, found.machine)
        ]
        assert off[1] <= off[0] + 0.02


def test_a_machine_that_is_right_already_keeps_its_figures_and_learns_its_scatter(jobs: list[Course]) -> None:
    real = _real(jobs, ROUTER) * np.exp(np.random.default_rng(8).normal(0, 0.03, len(jobs)))
    found = learned(jobs, real)
    assert np.median(np.abs(_real(jobs, found.machine) * found.machine.scale / _real(jobs, ROUTER) - 1.0)) < 0.015
    assert found.machine.scatter < 0.1


@pytest.mark.slow
def test_more_runs_do_not_make_the_range_wider(jobs: list[Course]) -> None:
    rng = np.random.default_rng(9)
    widths = np.array(
        [
            [
                learned(jobs[:n], _real(jobs[:n], _truth(ROUTER)) * np.exp(rng.normal(0, 0.03, n))).machine.scatter
                for n in (3, 4, 5, 6, 8)
            ]
            for _ in range(4)
        ]
    )
    print(np.round(np.median(widths, axis=0), 3))
    assert np.median(widths[:, 2]) <= 1.1 * np.median(widths[:, 1])


@pytest.mark.slow
def test_ranges_hold_what_they_claim() -> None:
    """Simulated machines whose figures are drawn as the priors say: of what is called determined, within a factor twice as
    wide (two deviations) lies the truth nearly always; nine of ten runs lie within the scatter."""
    rng = np.random.default_rng(31)
    jobs = _jobs(rng, 70, ROUTER)
    held, inside = [], []
    for _ in range(12):
        push, lift = np.exp(rng.normal(0, 0.7)), np.exp(rng.normal(0, 0.4))
        x, y, z = ROUTER.amax
        truth = replace(
            ROUTER, amax=(x * push, y * push, z * push * lift), corner_slack=0.01 * float(np.exp(rng.normal(0, 0.7))),
            stroke_s=0.05 * float(np.exp(rng.normal(0, 0.7))), fixed_s=5.0 * float(np.exp(rng.normal(0, 0.7))),
        )  # fmt: skip
        chosen = rng.permutation(70)
        seen, rest = [jobs[i] for i in chosen[:20]], [jobs[i] for i in chosen[20:]]
        found = learned(seen, _real(seen, truth) * np.exp(rng.normal(0, 0.03, 20)))
        real = dict(zip(("acceleration along x", "corner deviation", "time lost at each stroke", "time lost once a job", "acceleration up and down"),
                        (truth.amax[0], truth.corner_slack, truth.stroke_s, truth.fixed_s, truth.amax[2]), strict=True))  # fmt: skip
        held += [
            abs(np.log(f.after / real[f.name])) <= 2.0 * np.log(f.within)
            for f in found.fitted
            if f.determined and f.name in real
        ]
        off = np.log(
            _real(rest, truth) * np.exp(rng.normal(0, 0.03, 50)) / (_real(rest, found.machine) * found.machine.scale)
        )
        inside.append(float(np.mean(np.abs(off) <= np.log1p(found.machine.scatter))))
    print(
        f"{np.mean(held):.0%} of {len(held)} determined figures within two deviations; {np.mean(inside):.0%} of runs inside"
    )
    assert len(held) >= 12
    assert np.mean(held) >= 0.85
    assert np.mean(inside) >= 0.88
