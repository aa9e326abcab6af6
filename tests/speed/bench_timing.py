"""How fast the clock is, what ordering saves, and how wrong length over feed would be: `python tests/speed/bench_timing.py`.

Times are of this computer; seconds saved and the naive error are of the demo weeks on our own tables' machines.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from toolpath.workbench import lettering, machine, stroke

from engrave.making import environment
from engrave.motion.machine_limits import Limits, limits_of
from engrave.motion.planner import chain_through, plan_chain
from engrave.setting import place
from engrave.tasks import Task
from engrave.timing import Estimate, estimate_time
from engrave.toolpath import toolpath_of
from engrave.toolpath.strokes import HeadRoute, as_drawn, in_order
from engrave.verbs import make_orders, try_words

WEEKS = sorted((Path(__file__).parents[2] / "orders_demo").glob("*.csv"))


WEIGHED = (("diode-450", "usual"), ("diode-450", "large"), ("co2-tube", "usual"), ("ball-1", "usual"))
"""Cutters and sizes by which the same words are drawn with a weight."""


def weights() -> None:
    """Seconds of lines side by side against rows, pockets or a V-bit's middle lines over the same area."""
    env = environment()
    for cutter, size in WEIGHED:
        piece = try_words(
            "Wanda", lid="letter-box", typeface="withy", cutter=cutter, wood="walnut", lettering_size=size,
            line_weight="auto" if cutter != "ball-1" else "12 %", env=env,
        ).entries[0].piece  # fmt: skip
        if piece.task is None or piece.lettering is None or piece.estimate is None or not piece.task.weights:
            continue
        beside, fixed = piece.estimate.seconds, piece.task.tool.machine.fixed_s
        print(f"{cutter}, capitals {piece.lettering.cap_mm:.1f} mm: {beside:.0f} s side by side", end="")
        for tool in piece.task.weighting.others if piece.task.weighting else ():
            other = estimate_time(toolpath_of(piece.lettering, tool, env.cache), tool).seconds
            share = (beside - fixed) / (other - fixed)
            print(f", {other:.0f} s by {tool.method} (ratio {share:.2f} without what each job takes)", end="")
        print()


def _best(work: Callable[[], object], times: int = 5) -> float:
    """Milliseconds of the fastest of some runs."""
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        found.append(1e3 * (time.perf_counter() - begun))
    return min(found)


def planner() -> None:
    """Milliseconds a thousand segments."""
    points = np.cumsum(np.random.default_rng(1).normal(0, 0.3, (100_001, 2)), axis=0)
    chain = chain_through(points, 30.0)
    spent = _best(lambda: plan_chain(chain, Limits((50.0,) * 3, (400.0,) * 3)))
    print(f"planner: {spent / 100:.2f} ms per 1,000 segments (100,000 at once)")


def ordering() -> None:
    """Milliseconds to order strokes scattered as on a lid."""
    rng = np.random.default_rng(2)
    for n in (10, 40, 100, 300):
        at = rng.uniform(0, [90, 30], (n, 2))
        ends = at + rng.normal(0, 3, (n, 2))
        drawn = lettering("single-line", [(stroke(tuple(a), tuple(b)),) for a, b in zip(at, ends, strict=True)])
        way = HeadRoute((0.0, 0.0), True, limits_of(machine()))
        print(
            f"order of {n} strokes: {_best(lambda d=drawn, w=way: in_order(as_drawn(d), 'single-line', w, False), 3):.1f} ms"
        )


def demo_weeks() -> None:
    """Milliseconds a piece by method; seconds saved by ordering; the error of length over feed."""
    env = environment()
    spent: dict[str, list[float]] = defaultdict(list)
    for week in WEEKS:
        jobs: list[Estimate] = []
        by_method: dict[str, list[float]] = defaultdict(list)
        whats, _ = make_orders(week, env)
        for what in whats:
            if not isinstance(what, Task) or not (letters := place(what, env.shelf)).marks:
                continue
            begun = time.perf_counter()
            job = estimate_time(toolpath_of(letters, what.tool, env.cache), what.tool)
            spent[what.tool.method].append(1e3 * (time.perf_counter() - begun))
            by_method[what.tool.method].append(job.naive_seconds / job.seconds - 1.0)
            jobs.append(job)
        total, saved = sum(j.seconds for j in jobs), sum(j.air_saved for j in jobs)
        print(f"{week.name}: {len(jobs)} pieces, {total:.0f} s; joining and ordering strokes saves {saved:.0f} s")
        for method, errors in sorted(by_method.items()):
            print(f"  length over feed, {method}: {np.median(errors):+.0%} (median), {min(errors):+.0%} at worst")
    for method, times in sorted(spent.items()):
        print(f"clock, {method}: {np.median(times):.1f} ms a piece (median of {len(times)}), {max(times):.0f} at most")


if __name__ == "__main__":
    planner()
    ordering()
    demo_weeks()
    weights()
