"""The planner against ground truth, textbook motion, and an integration of its own in fine steps of time."""

from __future__ import annotations

import json
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from toolpath.workbench import joined_rows, machine

from engrave.motion.machine_limits import Limits, limits_of
from engrave.motion.planner import RAPID, Moves, chain_through, chained, plan_chain, plan_chains
from engrave.timing.estimate import seconds_by_part
from engrave.toolpath.moves import BitFeeds, Course, at_depths, beam_course, bit_course
from engrave.toolpath.raster import Sweep, raster_course

CASES = {c["id"]: c for c in json.loads((Path(__file__).parents[1] / "data" / "motion.json").read_text())["cases"]}

# --- simulated machines ----------------------------------------------------------------------------------------------


def _limits(m: dict[str, Any]) -> Limits:
    return Limits(tuple(m["vmax_mm_s"]), tuple(m["amax_mm_s2"]), m["corner"], m["corner_slack_mm"])


def _course(case: dict[str, Any]) -> Course:
    p = case["params"]
    start, home = tuple(case.get("start", (0.0, 0.0))), p.get("return_home", False)
    lines = [np.array(s, dtype=float) for s in case.get("strokes", ())]
    if case["kind"] == "path":
        return Course(chain_through(case["path"], p["feed_mm_min"] / 60.0), 1)
    if case["kind"] == "router":
        bit = BitFeeds(
            p["feed_mm_min"] / 60, p["plunge_mm_min"] / 60, p["retract_mm"], p.get("approach_mm"), 0, p["spinup_s"]
        )
        return bit_course(at_depths(lines, p["depths_mm"], "pass"), bit, start, home)
    if case["kind"] == "laser_vector":
        return beam_course(lines, p["feed_mm_min"] / 60, start, home, p["beam_delay_s"])
    rows = joined_rows([r[0] for r in case["rows"]], [r[1] for r in case["rows"]])
    return raster_course(rows, Sweep(p["speed_mm_s"], p["run_out_mm"]), start, home)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_ground_truth_of_two_simulations(case: dict[str, Any]) -> None:
    """Two simulations that agree within 0.02 %: integration in the phase plane at 1 um, a clocked run at 20 us."""
    course = _course(case)
    parts = seconds_by_part([course], _limits(case["machine"]))[0]
    assert sum(parts.values()) == pytest.approx(case["expect_s"], rel=2e-4)
    same = {"cut": ("cut",), "plunge": ("plunge",), "rapid": ("travel", "lift"), "turn": ("turn", "travel")}
    same |= {"spinup": ("spin-up",), "beam": ("beam",)}
    for name, expected in case["expect_parts_s"].items():
        assert sum(parts.get(p, 0.0) for p in same[name]) == pytest.approx(expected, rel=5e-4), name


# --- textbook motion -------------------------------------------------------------------------------------------------


def _straight(length: float, v: float, a: float) -> float:
    return plan_chain(chain_through([[0, 0], [length, 0]], RAPID), Limits((v, v, v), (a, a, a))).total


@pytest.mark.source(
    "Halliday and Resnick, Fundamentals of Physics, 10th ed., ch. 2, problem 29, and school problems named beside the figures"
)
@pytest.mark.parametrize(
    ("length", "v", "a", "seconds", "tol"),
    [
        (190, 305 / 60, 1.22, 41.5, 0.05),  # Halliday/Resnick, Fundamentals of Physics, 10th ed., ch. 2, problem 29
        (60, 2, 1, 32, 0.01),  # a school problem on lifts, univerkov.com
        (816, 1e9, 1.74, 43.32, 0.02),  # train between stations, no speed limit, toughstem.com 2171
        (880, 1e9, 1.34, 51.25, 0.01),  # the same kind, byjus.com
        (2000, 60 / 3.6, 0.8333, 140, 0.01),  # Sakharov's problem on a train: 2 km, 140 s, 60 km/h
        (100, 200, 1000, 0.7, 1e-6),  # d/v + v/a
        (10, 200, 1000, 0.2, 1e-6),  # 2 sqrt(d/a)
    ],
)
def test_textbook_moves_from_rest_to_rest(length: float, v: float, a: float, seconds: float, tol: float) -> None:
    assert _straight(length, v, a) == pytest.approx(seconds, abs=tol)


@pytest.mark.source("Halliday and Resnick, Fundamentals of Physics, 10th ed., ch. 2, problem 29")
def test_distance_to_full_speed() -> None:
    """Halliday/Resnick, the same problem: the lift has run 10.6 m when it reaches 305 m/min."""
    limits = Limits((305 / 60,) * 3, (1.22,) * 3)
    before, after = (
        plan_chain(chain_through([[0, 0], [x, 0], [190, 0]], RAPID), limits).nodes[1] for x in (10.5, 10.7)
    )
    assert before < 305 / 60 - 1e-3
    assert after == pytest.approx(305 / 60)


def _up_and_down(up: float, level: float, down: float, a: float, b: float) -> tuple[float, float]:
    """Return (seconds, greatest speed) along x with a, then along y with b, round a corner that costs nothing."""
    limits = Limits((1e9,) * 3, (a, b, 1e9), corner_slack=1e12)
    planned = plan_chain(
        chain_through([[0, 0], [up, 0], [up + level, 0], [up + level, down]], [RAPID, RAPID, RAPID]), limits
    )
    return planned.total, float(planned.nodes.max())


@pytest.mark.source("tech-champion.com, 100 m with 2 and 4 m/s2")
def test_unequal_acceleration_and_braking() -> None:
    """tech-champion.com: 100 m with 2 and 4 m/s2: greatest speed sqrt(2abd/(a+b)) = 16.33 m/s, 12.247 s (computed)."""
    top = math.sqrt(2 * 2 * 4 * 100 / 6)
    seconds, speed = _up_and_down(top**2 / 4, 1e-12, top**2 / 8, 2.0, 4.0)
    assert speed == pytest.approx(16.33, abs=0.005)
    assert seconds == pytest.approx(12.247, abs=0.001)


@pytest.mark.source("a fluid-power article: a cylinder's cruise between unequal ramps")
def test_cylinder_with_unequal_ramps() -> None:
    """A fluid-power article: 43.6 in within 2.15 s, 0.30 s up and 0.45 s down, needs a cruise of 24.56 in/s."""
    v = 24.5634
    limits = Limits((v, v, v), (v / 0.30, v / 0.45, 1e9), corner_slack=1e12)
    down = v * 0.45 / 2
    seconds = plan_chain(chain_through([[0, 0], [43.6 - down, 0], [43.6 - down, down]], RAPID), limits).total
    assert seconds == pytest.approx(2.15, abs=0.001)


DELTA_5 = 5.0**2 * (math.sqrt(2) - 1) / 1000.0
"""Corner deviation for 5 mm/s round a right angle at 1000 mm/s2: v90^2 (sqrt2 - 1) / a, as documentation of open
3-D printer firmware derives it."""


@pytest.mark.source("kinematics page of open 3-D printer firmware: corner deviation")
@pytest.mark.parametrize(
    ("between", "speed"),
    [(30, 1.902), (60, 3.218), (90, 5.0), (120, 8.182), (135, 11.211), (150, 17.133), (170, 52.07)],
)
def test_corner_speeds(between: float, speed: float) -> None:
    """The kinematics page of open 3-D printer firmware: v^2 = a R, R = delta sin(theta/2) / (1 - sin(theta/2))."""
    half = math.radians(180 - between) / 2
    far = 1000.0
    points = [[-far * math.cos(half), -far * math.sin(half)], [0, 0], [far * math.cos(half), -far * math.sin(half)]]
    limits = Limits((1e4,) * 3, (1000.0,) * 3, corner_slack=DELTA_5)
    assert pytest.approx(0.010355, abs=1e-6) == DELTA_5
    assert plan_chain(chain_through(points, RAPID), limits).nodes[1] == pytest.approx(
        speed, abs=max(0.001, 1e-4 * speed)
    )


@pytest.mark.source("v = sqrt(a r), any textbook of mechanics")
def test_speed_on_a_curve() -> None:
    """v = sqrt(a r), any textbook of mechanics: 500 mm/s2 on a radius of 10 mm is 70.71 mm/s."""
    turn = np.linspace(0, 4 * np.pi, 1441)
    circle = 10 * np.column_stack([np.cos(turn), np.sin(turn)])
    planned = plan_chain(chain_through(circle, 1e4), Limits((1e5,) * 3, (500.0,) * 3, "slow_arcs", corner_slack=1e6))
    assert planned.nodes[720] == pytest.approx(70.71, abs=0.01)  # there the change of direction lies along x alone


def test_turn_of_a_raster() -> None:
    """Closed form: a run-out of v^2/2a = 15 mm and a turn of 2v/a = 0.2 s on top of 50 mm at 300 mm/s, 3000 mm/s2."""
    sweep = plan_chain(chain_through([[-15, 0], [65, 0]], 300.0), Limits((300.0,) * 3, (3000.0,) * 3)).total
    assert sweep - 50 / 300 == pytest.approx(0.2, abs=1e-6)


def test_sweeps_of_a_raster() -> None:
    """Closed form, at rest at each row's end: 50 x 10 mm at 254 lines an inch, 100 lines counted, 36.667 s of sweeps;
    the rapids between rows come on top."""
    rows = joined_rows([0.1 * i for i in range(100)], [[(0.0, 50.0)]] * 100)
    course = raster_course(rows, Sweep(300.0, 15.0), (-15.0, 0.0), False)
    parts = seconds_by_part([course], Limits((300.0,) * 3, (3000.0,) * 3, "stop"))[0]
    assert parts["cut"] == pytest.approx(36.667, abs=0.001)
    assert parts["turn"] == pytest.approx(99 * 2 * math.sqrt(0.1 / 3000), rel=1e-9)


# --- an integration of our own ---------------------------------------------------------------------------------------


def _corner(p: np.ndarray, q: np.ndarray, r: np.ndarray, amax: np.ndarray, delta: float) -> float:
    """Greatest v^2 from q's corner by the angle between both ways, in plain trigonometry."""
    back, on = (p - q) / np.linalg.norm(p - q), (r - q) / np.linalg.norm(r - q)
    theta = math.acos(max(-1.0, min(1.0, float(back @ on))))
    if theta < 1e-3:
        return 0.0
    if math.pi - theta < 1e-3:
        return math.inf
    inward = (back + on) / np.linalg.norm(back + on)
    push = min(a / abs(i) for a, i in zip(amax, inward, strict=True) if abs(i) > 1e-12)
    return push * delta * math.sin(theta / 2) / (1 - math.sin(theta / 2))


def _clocked(points: np.ndarray, feeds: list[float], limits: Limits, dt: float) -> float:
    """Run a head along the points in steps of time, as fast as it can still brake; return seconds."""
    vmax, amax = np.array(limits.vmax), np.array(limits.amax)
    steps = np.diff(points, axis=0)
    lengths = [float(np.linalg.norm(s)) for s in steps]
    unit = [s / d for s, d in zip(steps, lengths, strict=True)]
    top = [min(f, min(v / abs(u) for v, u in zip(vmax, w, strict=True) if u)) for f, w in zip(feeds, unit, strict=True)]
    push = [min(a / abs(u) for a, u in zip(amax, w, strict=True) if u) for w in unit]
    limit = [0.0] * (len(points))
    for k in range(len(points) - 2, 0, -1):
        corner = _corner(points[k - 1], points[k], points[k + 1], amax, limits.corner_slack)
        brake = limit[k + 1] + 2 * push[k] * lengths[k]
        limit[k] = min(corner, top[k - 1] ** 2, top[k] ** 2, brake)
    clock, speed = 0.0, 0.0
    for k, length in enumerate(lengths):
        gone = 0.0
        while gone < length:
            bound = min(top[k], math.sqrt(limit[k + 1] + 2 * push[k] * (length - gone)))
            faster = min(speed + push[k] * dt, bound)
            step = (speed + faster) / 2 * dt
            if gone + step >= length or step <= 0.0:
                clock += (length - gone) / max((speed + faster) / 2, push[k] * dt / 2)
                break
            gone, clock = gone + step, clock + dt
            speed = faster
        speed = min(speed, math.sqrt(limit[k + 1])) if k + 1 < len(points) - 1 else 0.0
    return clock


@pytest.mark.parametrize("seed", range(12))
def test_an_integration_in_fine_steps_of_time(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.column_stack([rng.uniform(0, 12, (9, 2)), rng.uniform(-1, 1, 9)])
    feeds = [float(f) for f in rng.choice([15.0, 40.0, 90.0], 8)]
    limits = Limits((80.0, 60.0, 20.0), (700.0, 450.0, 200.0), "slow", float(rng.choice([0.005, 0.02, 0.1])))
    ours = plan_chain(chain_through(points, feeds), limits).total
    assert ours == pytest.approx(_clocked(points, feeds, limits, 2e-5), rel=2e-3)


# --- look-ahead, block time, stops -----------------------------------------------------------------------------------

FINE = chain_through([[0.5 * i, 0] for i in range(201)], 100.0)
LIMITS = Limits((200.0,) * 3, (500.0,) * 3)


def _at(look_ahead: int | None) -> float:
    return plan_chain(FINE, Limits(LIMITS.vmax, LIMITS.amax, look_ahead=look_ahead)).total


def test_look_ahead_of_one_block_stops_at_each() -> None:
    assert _at(1) == pytest.approx(200 * 2 * math.sqrt(0.5 / 500))


def test_more_look_ahead_is_faster_until_it_is_enough() -> None:
    seconds = [_at(n) for n in (1, 2, 4, 8, 16, 32)]
    assert all(a > b for a, b in pairwise(seconds))
    assert _at(40) == pytest.approx(_at(None))
    assert plan_chain(FINE, Limits(LIMITS.vmax, LIMITS.amax, look_ahead=5)).nodes.max() == pytest.approx(
        math.sqrt(2 * 500 * 0.5 * 4)  # in block k, the next four are known beyond its end
    )


def test_block_time_bounds_speed() -> None:
    limits = Limits(LIMITS.vmax, LIMITS.amax, min_block_s=0.01)
    assert plan_chain(FINE, limits).nodes.max() == pytest.approx(0.5 / 0.01)


def test_a_stop_that_hangs_on_a_move_without_length_is_kept() -> None:
    points = [[0, 0], [50, 0], [50, 0], [100, 0]]
    run = plan_chain(chain_through(points, 100.0), LIMITS).total
    halted = plan_chain(chain_through(points, 100.0, stop=[False, True, False]), LIMITS).total
    assert halted == pytest.approx(2 * _straight(50, 100, 500))
    assert run == pytest.approx(_straight(100, 100, 500))


def test_nothing_to_do_takes_no_time() -> None:
    assert plan_chain(chain_through([[3, 3]], 10.0), LIMITS).total == 0.0
    assert plan_chain(chain_through([[3, 3], [3, 3]], 10.0), LIMITS).total == 0.0
    assert plan_chains([], LIMITS) == []


# --- properties ------------------------------------------------------------------------------------------------------

PLACES = st.lists(st.tuples(st.integers(0, 400), st.integers(0, 400), st.integers(-20, 20)), min_size=2, max_size=14)


def _chain(places: list[tuple[int, int, int]], feed: float = 60.0) -> Moves:
    return chain_through(np.array(places, dtype=float) / 10.0, feed)


SOME = Limits((90.0, 70.0, 15.0), (800.0, 500.0, 150.0), "slow", 0.02)


@settings(max_examples=60, deadline=None)
@given(PLACES, st.floats(0.1, 10.0))
def test_one_scale_for_lengths_speeds_and_accelerations_keeps_the_time(
    places: list[tuple[int, int, int]], k: float
) -> None:
    chain = _chain(places)
    larger = Moves(chain.steps * k, chain.feed * k, chain.stop, chain.part)
    vmax, amax = (tuple(k * x for x in axis) for axis in (SOME.vmax, SOME.amax))
    limits = Limits(vmax, amax, "slow", SOME.corner_slack * k)  # type: ignore[arg-type]
    assert plan_chain(larger, limits).total == pytest.approx(plan_chain(chain, SOME).total, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(PLACES, st.floats(5.0, 80.0), st.floats(1.0, 3.0))
def test_more_feed_acceleration_or_deviation_is_never_slower(
    places: list[tuple[int, int, int]], feed: float, more: float
) -> None:
    now = plan_chain(_chain(places, feed), SOME).total
    quicker = Limits(SOME.vmax, tuple(a * more for a in SOME.amax), "slow", SOME.corner_slack)  # type: ignore[arg-type]
    looser = Limits(SOME.vmax, SOME.amax, "slow", SOME.corner_slack * more)
    assert plan_chain(_chain(places, feed * more), SOME).total <= now + 1e-9
    assert plan_chain(_chain(places, feed), quicker).total <= now + 1e-9
    assert plan_chain(_chain(places, feed), looser).total <= now + 1e-9


@settings(max_examples=60, deadline=None)
@given(PLACES)
def test_back_takes_as_long_as_there_and_stops_longer(places: list[tuple[int, int, int]]) -> None:
    there = plan_chain(_chain(places), SOME).total
    assert plan_chain(_chain(places[::-1]), SOME).total == pytest.approx(there, rel=1e-9)
    halting = Limits(SOME.vmax, SOME.amax, "stop")
    guarded = Limits(SOME.vmax, SOME.amax, "slow_arcs", SOME.corner_slack)
    assert there <= plan_chain(_chain(places), guarded).total + 1e-9 <= plan_chain(_chain(places), halting).total + 2e-9


@settings(max_examples=60, deadline=None)
@given(PLACES, st.integers(1, 5))
def test_cutting_straight_moves_into_blocks_changes_nothing(places: list[tuple[int, int, int]], n: int) -> None:
    chain = _chain(places)
    finer = Moves(
        np.repeat(chain.steps / n, n, axis=0),
        np.repeat(chain.feed, n),
        np.repeat(chain.stop, n),
        np.repeat(chain.part, n),
    )
    assert plan_chain(finer, SOME).total == pytest.approx(plan_chain(chain, SOME).total, rel=1e-9, abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.lists(PLACES, min_size=1, max_size=5))
def test_many_jobs_at_once_are_each_as_alone(jobs: list[list[tuple[int, int, int]]]) -> None:
    chains = [_chain(j) for j in jobs]
    for together, chain in zip(plan_chains(chains, SOME), chains, strict=True):
        assert together.total == pytest.approx(plan_chain(chain, SOME).total, rel=1e-9, abs=1e-9)
    assert plan_chain(chained(chains), SOME).total <= sum(plan_chain(c, SOME).total for c in chains) + 1e-9


# --- a machine as it stands ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("x_runs", "turned"), [("right", False), ("left", False), ("back", True), ("front", True)])
def test_a_machine_that_stands_across_has_its_axes_across(x_runs: str, turned: bool) -> None:
    """Speed and acceleration of the machine's x are along the lid's y where its x runs front to back."""
    y_runs = "right" if turned else "back"
    of = machine(vmax=(10.0, 20.0, 30.0), amax=(100.0, 200.0, 300.0), axes=(x_runs, y_runs))
    found = limits_of(of)
    assert found.vmax == ((20.0, 10.0, 30.0) if turned else (10.0, 20.0, 30.0))
    assert found.amax == ((200.0, 100.0, 300.0) if turned else (100.0, 200.0, 300.0))
