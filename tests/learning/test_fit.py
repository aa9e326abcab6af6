"""The machine learned from logged times: simulated machines, minutes, outliers, few logs; the log and the table."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from toolpath.workbench import beam_tool, bit_tool, lettering, machine, ring, stroke

from engrave.learning.fitting import learn
from engrave.learning.learned import Learned
from engrave.learning.likeliest import deviations
from engrave.learning.log_remarks import FEWEST
from engrave.learning.logs import Log
from engrave.learning.machine_table import with_learned
from engrave.motion.machine_limits import limits_of
from engrave.setting.lettering import Lettering
from engrave.shop.models import Machine
from engrave.tasks import Tool
from engrave.timing.estimate import seconds_by_part
from engrave.toolpath.methods import course_of_file
from engrave.toolpath.moves import Course
from engrave.toolpath.strokes import as_drawn

UNSEEN = 40
"""Jobs that no fit is shown, on which its estimates are judged."""


def _words(rng: np.random.Generator, letters: int) -> Lettering:
    """Letters of straight and round strokes, 3 to 7 mm high."""
    glyphs = []
    for i in range(letters):
        x, h, kind = 6.0 * i, float(rng.uniform(3, 7)), int(rng.integers(4))
        arc = [(x + 2 + 2 * np.cos(a), h / 2 + h / 2 * np.sin(a)) for a in np.linspace(0.5, 5.5, 16)]
        glyphs.append(
            (
                (stroke((x, 0), (x, h)), stroke((x, h), (x + 3, h)), stroke((x, h / 2), (x + 2, h / 2))),
                (ring(x + 2, h / 2, h / 3), stroke((x + 4, 0), (x + 4, h))),
                (stroke((x, 0), (x + 2, h), (x + 4, 0)), stroke((x + 1, h / 2), (x + 3, h / 2))),
                (stroke(*((float(p), float(q)) for p, q in arc)),),
            )[kind]
        )
    return lettering("single-line", glyphs)


def _course(letters: Lettering, tool: Tool) -> Course:
    return course_of_file([as_drawn(letters)], "single-line", 0.6, tool)


def _jobs(rng: np.random.Generator, count: int, base: Machine) -> list[Course]:
    tool = bit_tool(of=base) if base.kind == "router" else beam_tool(of=base)
    return [_course(_words(rng, int(rng.integers(3, 40))), tool) for _ in range(count)]


def _real(courses: Sequence[Course], of: Machine) -> np.ndarray:
    """Seconds on a machine whose figures are known, by adding up what the model says: no code of the fit's."""
    planned = [sum(p.values()) for p in seconds_by_part(courses, limits_of(of))]
    return np.array([s + c.starts * of.stroke_s + of.fixed_s for s, c in zip(planned, courses, strict=True)])


def _truth(base: Machine) -> Machine:
    """A machine that accelerates at 0.4 of what its table says, and loses time that the table does not know of."""
    lost = 0.3 if base.kind == "router" else 0.06
    amax = tuple(0.4 * a for a in base.amax)
    return replace(base, amax=amax, corner_slack=0.03, stroke_s=lost, fixed_s=12.0)  # type: ignore[arg-type]


def _simulated(kind: str, logs: int, seed: int) -> tuple[Learned, float, float, float]:
    """Return what is learned from logs with 3 % noise and 10 % outliers, and on unseen jobs: error before and after,
    and the share of noisy runs inside the range."""
    rng = np.random.default_rng(seed)
    base = machine(kind)
    courses = _jobs(rng, logs + UNSEEN, base)
    real = _real(courses, _truth(base))
    noisy = real * np.exp(rng.normal(0, 0.03, len(real)))
    noisy[:logs][rng.permutation(logs)[: logs // 10]] *= 1.8
    table = [Log(f"o{i}", 1, float(noisy[i]), i + 2) for i in range(logs)]
    learned = learn({(f"o{i}", 1): courses[i] for i in range(logs)}, table, base)
    before, after = _real(courses[logs:], base), _real(courses[logs:], learned.machine)
    inside = np.abs(np.log(noisy[logs:] / after)) <= np.log1p(learned.machine.scatter)
    errors = [float(np.median(np.abs(s / real[logs:] - 1.0))) for s in (before, after)]
    return learned, errors[0], errors[1], float(inside.mean())


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["router", "laser"])
@pytest.mark.parametrize(("logs", "bound"), [(10, 0.05), (20, 0.03), (30, 0.03)])
def test_simulated_logs_make_the_next_estimates_better(kind: str, logs: int, bound: float) -> None:
    covered = []
    for seed in (11, 12) if logs < 30 else (11,):
        learned, before, after, inside = _simulated(kind, logs, seed)
        print(
            f"{kind}, {logs} logs: {before:.1%} off before, {after:.1%} after on {UNSEEN} unseen jobs; "
            f"{inside:.0%} inside +-{learned.machine.scatter:.1%}"
        )
        assert before > 0.2
        assert after < bound
        covered.append(inside)
        outliers = [p for p in learned.points if p.outlier]
        assert len(outliers) == logs // 10
        assert sum(p.code == "log-outlier" for p in learned.problems) == len(outliers)
    assert np.mean(covered) > 0.85
    assert learned.machine.scatter < 0.20


def test_acceleration_and_fixed_seconds_are_found_and_delta_is_not() -> None:
    """Letters turn few sharp corners: only a plate of zigzags would tell the corner deviation."""
    learned, *_ = _simulated("router", 20, 5)
    fitted = {f.name: f for f in learned.fitted}
    assert fitted["acceleration along x"].determined
    assert fitted["acceleration along x"].after == pytest.approx(160, rel=0.35)
    assert fitted["time lost once a job"].determined
    assert fitted["time lost once a job"].after == pytest.approx(12, rel=0.4)
    assert not fitted["corner deviation"].determined
    assert any("corner deviation: not determined" in line for line in learned.summary)


def _coil(turns: int) -> Lettering:
    """A test plate's line: round and round a circle of 0.5 mm in chords, all bends."""
    angles = np.linspace(0, 2 * np.pi * turns, 16 * turns + 1)
    points = ((float(0.5 * np.cos(a)), float(0.5 * np.sin(a))) for a in angles)
    return lettering("single-line", [(stroke(*points),)])


def _zigzag(teeth: int) -> Lettering:
    """The same plate's other line: 1 mm to and fro, all corners."""
    return lettering("single-line", [(stroke(*((i * 0.7, 0.7 * (i % 2)) for i in range(teeth))),)])


def test_a_plate_of_zigzags_and_small_circles_determines_delta() -> None:
    base = machine("laser")
    rng = np.random.default_rng(2)
    tool = beam_tool(of=base)
    plate = (_coil(400), _coil(1600), _zigzag(400), _zigzag(1600))
    courses = _jobs(rng, 8, base) + [_course(line, tool) for line in plate]
    real = _real(courses, _truth(base)) * np.exp(rng.normal(0, 0.02, 12))
    table = [Log(f"o{i}", 1, float(s), i + 2) for i, s in enumerate(real)]
    learned = learn({(f"o{i}", 1): c for i, c in enumerate(courses)}, table, base)
    plain = learn({(f"o{i}", 1): c for i, c in enumerate(courses[:8])}, table[:8], base)
    delta = learned.fitted[1]
    assert delta.determined
    assert not plain.fitted[1].determined
    assert 0.03 / delta.within**2 < delta.after < 0.03 * delta.within**2


def test_a_few_logs_give_one_factor() -> None:
    base = machine()
    courses = _jobs(np.random.default_rng(1), 3, base)
    real = 1.3 * _real(courses, base)
    learned = learn(
        {("a", i + 1): c for i, c in enumerate(courses)},
        [Log("a", i + 1, float(s), i + 2) for i, s in enumerate(real)],
        base,
    )
    assert learned.machine.scale == pytest.approx(1.3)
    assert learned.machine.amax == base.amax
    assert learned.error_before == pytest.approx(1 - 1 / 1.3)
    assert learned.error_after == pytest.approx(0.0, abs=1e-9)
    assert [p.code for p in learned.problems] == ["few-logs"]
    assert len(learned.points) < FEWEST


def test_whole_minutes_are_warned_of() -> None:
    base = machine()
    courses = _jobs(np.random.default_rng(4), 8, base)
    real = np.maximum(1.0, np.round(_real(courses, _truth(base)) / 60.0)) * 60.0
    table = [Log("a", i + 1, float(s), i + 2, in_minutes=True) for i, s in enumerate(real)]
    learned = learn({("a", i + 1): c for i, c in enumerate(courses)}, table, base)
    (warned,) = [p for p in learned.problems if p.code == "whole-minutes"]
    assert warned.level == "look"
    assert "time runs to the second" in warned.says


def test_logs_of_strangers_are_named_and_left_out() -> None:
    base = machine()
    (course,) = _jobs(np.random.default_rng(1), 1, base)
    learned = learn({("a", 1): course}, [Log("a", 1, 60.0, 2), Log("b", 2, 70.0, 3)], base)
    assert any(p.code == "log-unknown" and "b piece 2" in p.says for p in learned.problems)
    with pytest.raises(ValueError, match="none of the logged pieces"):
        learn({}, [Log("a", 1, 60.0, 2)], base)


# --- the machine's table ---------------------------------------------------------------------------------------------


def _learned(count: int) -> Learned:
    base = machine()
    courses = _jobs(np.random.default_rng(7), count, base)
    real = _real(courses, _truth(base))
    table = [Log("a", i + 1, float(s), i + 2) for i, s in enumerate(real)]
    return learn({("a", i + 1): c for i, c in enumerate(courses)}, table, base)


def test_saving_keeps_what_stands() -> None:
    old = "[router]\n# from the maker\namax_mm_s2 = [400, 400, 150]  # guessed\nretract = 6\n\n[laser]\nscale = 1.0\n"
    learned = _learned(6)
    text = with_learned(old, "router", learned)
    assert "# from the maker" in text
    values = tomllib.loads(text)
    assert values["router"]["retract"] == 6
    assert values["router"]["amax_mm_s2"] == pytest.approx(learned.machine.amax, rel=1e-3)
    assert values["router"]["fixed_s"] == pytest.approx(learned.machine.fixed_s, rel=1e-3)
    assert values["laser"] == {"scale": 1.0}


def test_saving_begins_a_table_where_there_is_none() -> None:
    learned = _learned(3)
    values = tomllib.loads(with_learned("", "router", learned))["router"]
    assert set(values) == {"scale", "scatter"}
    assert values["scale"] == pytest.approx(learned.machine.scale, rel=1e-3)


@pytest.mark.source("JCGM 100:2008 (GUM), 4.3.7: a rectangular distribution of half-width a deviates by a / sqrt 3")
def test_a_time_in_whole_minutes_is_believed_to_half_a_minute() -> None:
    """Half a minute either way is 17.3 s: of a run of a minute 29 %, of one of an hour half a per cent, beside the 5 % of any."""
    runs = SimpleNamespace(real=np.array([60.0, 3600.0, 60.0]))
    found = deviations(runs, np.array([1.0, 1.0, 0.0]), 0.05)  # type: ignore[arg-type]
    hidden = 30.0 / np.sqrt(3.0)
    assert found == pytest.approx([np.hypot(0.05, hidden / 60.0), np.hypot(0.05, hidden / 3600.0), 0.05])
