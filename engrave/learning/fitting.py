"""What logged times tell of a machine: its acceleration, corners, seconds lost at each stroke and at each job.

All figures are fitted (`likeliest`), then fewer, until the runs determine what is left; or one factor on all times,
where that promises more. What is said of single runs stands in `log_remarks`, what comes out in `learned`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.arrays import Floats
from engrave.learning.learned import Fitted, Learned, Timed
from engrave.learning.likeliest import (
    PRIOR_SDS,
    TimedRuns,
    accelerations,
    deviations,
    foretold,
    nine_of_ten,
    prior_of,
    scatter_of,
    settled,
    spread_of,
)
from engrave.learning.log_remarks import (
    FEWEST,
    counted_before,
    few_runs,
    minutes_problem,
    no_better,
    outlying_run,
    repeated_row,
    too_round,
    unknown_piece,
)
from engrave.learning.logs import Log
from engrave.learning.memory import Memory, figures_of, once, run_name
from engrave.learning.nonsense import Nonsense, check_follows, check_units
from engrave.problems import Problem
from engrave.shop.models import Machine
from engrave.toolpath.moves import Course

DETERMINED = 0.5
"""Share of the prior's deviation below which a parameter's standard error must fall to count as learned."""

WORTH = 1.25
"""A fit of several figures is taken unless it promises to be off by so much more than one factor: it tells more."""

LIFT_FIGURE = 4
"""Place among the parameters of z's acceleration beside x's."""

OUTLYING, FARTHEST_OUT = 4.0, 0.10
"""An outlier lies more than so many deviations off, and more than this share: less may be chance."""


def learn(
    courses: Mapping[tuple[str, int], Course], logs: Sequence[Log], machine: Machine, memory: Memory | None = None
) -> Learned:
    """Return the machine as the logs show it. courses: of each piece by (order, piece), as it was cut.

    Logs of pieces that are not among the courses are named and left out; rows that come again, and runs that `memory`
    says were counted before, count once. Raises ValueError if none is left, `Nonsense` (one of it) for times that cannot
    be those of these pieces.
    """
    memory = memory or Memory()
    here = [log for log in logs if (log.order, log.piece) in courses]
    problems = [unknown_piece(log) for log in logs if (log.order, log.piece) not in courses]
    if not here:
        raise ValueError("none of the logged pieces is in the week's folder: nothing can be learned from these times")
    used, repeats, known = once(here, memory)
    problems += [repeated_row(log, row) for log, row in repeats]
    problems += [counted_before(known, len(used))] if known else []
    if not used:
        used = tuple(dict.fromkeys(here))
        return _unchanged(_timed_runs(courses, used, machine), used, problems, memory)
    data = _timed_runs(courses, used, machine)
    before = data.seconds(machine)
    check_units(data.real, before)
    rounded = whole_minutes(used)
    problems += minutes_problem(used) if rounded.any() else []
    problems += [few_runs(len(used))] if len(used) < FEWEST else []
    fit = _best(data, before, rounded, memory)
    try:
        check_follows(data.real, before, data.seconds(fit.machine))
    except Nonsense:
        if not rounded.any():
            raise
        problems.append(too_round())
        return _unchanged(data, used, problems, memory)
    if fit.error_next is not None and fit.error_next >= float(np.median(np.abs(before / data.real - 1.0))):
        problems.append(no_better(fit.error_next))
        fit = _as_it_was(data, before, rounded)
    return _finished(data, used, before, fit, problems, memory)


def _timed_runs(courses: Mapping[tuple[str, int], Course], used: Sequence[Log], machine: Machine) -> TimedRuns:
    return TimedRuns([courses[log.order, log.piece] for log in used], np.array([log.seconds for log in used]), machine)


def _best(data: TimedRuns, before: Floats, rounded: Floats, memory: Memory) -> _Fit:
    """Return the fit of all parameters, or of one factor on all times where that promises to be off by less."""
    plain = _scaled(data, before, rounded, memory)
    if len(data) < FEWEST:
        return plain
    full = _fit(data, rounded, memory)
    return full if full is not None and full.scatter <= WORTH * plain.scatter else plain


@dataclass(frozen=True, slots=True)
class _Fit:
    """A fitted machine, its parameters, the deviation of single runs (n,) in logarithms, and the error foretold.

    scatter: share within which nine of ten runs fall. centre, spread: of all parameters, () for one factor alone.
    """

    machine: Machine
    fitted: tuple[Fitted, ...]
    noise: Floats
    error_next: float | None
    scatter: float
    centre: tuple[float, ...] = ()
    spread: tuple[tuple[float, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class _Found:
    """What the fit of all figures found: their logarithms (k,) and covariance (k, k)."""

    theta: Floats
    spread: Floats


def _fit(data: TimedRuns, rounded: Floats, memory: Memory) -> _Fit | None:
    """Fit all parameters, then without the one of which the logs say least, and so on until they determine all that are left.

    Those given up stay as they were; None if nothing is determined. How sure each is comes from the first fit, in which
    nothing was taken for granted.
    """
    prior = prior_of(data, memory)
    free = np.ones(len(prior.centre), dtype=bool)
    theta, spread, noise = settled(data, rounded, prior, free)
    kept, deviation = theta, np.sqrt(np.diag(spread))
    while (vague := deviation >= DETERMINED * PRIOR_SDS[free]).any():
        share = deviation / PRIOR_SDS[free]
        free[np.flatnonzero(free)[int(np.argmax(np.where(vague, share, 0.0)))]] = False
        if not free.any():
            return None
        kept, narrowed, noise = settled(data, rounded, prior, free, kept)
        deviation = np.sqrt(np.diag(narrowed))
    determined = free
    final = np.where(determined, kept, data.table())
    return _Fit(
        data.with_parameters(final),
        _parameters(data, final, _Found(theta, spread), determined, len(data) + len(memory.runs)),
        noise,
        foretold(data, noise, prior, determined, kept),
        scatter_of(float(np.min(noise)), len(data), int(determined.sum())),
        tuple((theta + accelerations(data.machine)).tolist()),
        tuple(tuple(row) for row in spread.tolist()),
    )


def _parameters(
    data: TimedRuns, final: Floats, found: _Found, determined: NDArray[np.bool_], runs: int
) -> tuple[Fitted, ...]:
    """Return what is said of each figure. runs: those that were counted before as well.

    Nine times of ten a figure lies about where the fit of all of them has it, and as closely: that one took nothing for
    granted. What is put into the table may lie aside, as it makes up for figures that are left as they were.
    """
    before, after = data.machine, data.with_parameters(final)
    values = [
        ("acceleration along x", "mm/s2", before.amax[0], after.amax[0], [0]),
        ("corner deviation", "mm", before.corner_slack, after.corner_slack, [1]),
        ("time lost at each stroke", "s", before.stroke_s, after.stroke_s, [2]),
        ("time lost once a job", "s", before.fixed_s, after.fixed_s, [3]),
        ("acceleration up and down", "mm/s2", before.amax[2], after.amax[2], [0, 4]),
    ]
    out = []
    for k, (name, unit, was, now, parts) in enumerate(values):
        deviation = math.sqrt(float(found.spread[np.ix_(parts, parts)].sum()))
        if determined[k]:
            middle = now * math.exp(float((found.theta - final)[parts].sum()))
            factor = nine_of_ten(deviation, runs, len(PRIOR_SDS))
            low, high = min(now, middle / factor), max(now, middle * factor)
            out.append(Fitted(name, unit, was, now, math.exp(deviation), True, low, high))
        elif k != LIFT_FIGURE:  # else it is taken to be off as x's is
            out.append(Fitted(name, unit, was, was, math.exp(deviation), False, was, was))
    return tuple(out)


def _scaled(data: TimedRuns, before: Floats, rounded: Floats, memory: Memory) -> _Fit:
    """Return the machine with one factor on its times: the median of what the logs ask for, those counted before too."""
    ratio = np.log(data.real / before)
    n = len(data)
    factor = float(np.exp(np.median(ratio) * n / (n + memory.scaled)))
    scale = data.machine.scale * factor
    off = ratio - math.log(factor)
    spread = spread_of(off, 1)
    sure = spread / math.sqrt(n + memory.scaled)
    nine = nine_of_ten(sure, n + memory.scaled, 1)
    fitted = (
        Fitted(
            "factor on all times", "", data.machine.scale, scale, float(np.exp(sure)), True, scale / nine, scale * nine
        ),
    )
    machine = replace(data.machine, scale=scale)
    others = [float(np.median(np.delete(ratio, k))) for k in range(n)] if n >= FEWEST else []
    next_ = float(np.median(np.abs(np.expm1(np.array(others) - ratio)))) if others else None
    noise = deviations(data, rounded, spread)
    scatter = scatter_of(float(np.min(noise)), n, 1)
    if n < FEWEST:  # too few to tell a scatter from: what was taken until now, or the farthest of them
        scatter = max(data.machine.scatter, float(np.max(np.expm1(np.abs(off)))))
    return _Fit(machine, fitted, noise, next_, scatter)


def _as_it_was(data: TimedRuns, before: Floats, rounded: Floats) -> _Fit:
    """Return the machine as it is; that its estimates hold within a share is learned all the same."""
    noise = deviations(data, rounded, spread_of(np.log(data.real / before), 0))
    return _Fit(data.machine, (), noise, None, scatter_of(float(np.min(noise)), len(data), 0))


def _unchanged(data: TimedRuns, used: Sequence[Log], problems: list[Problem], memory: Memory) -> Learned:
    """Return the machine as it was, with what these runs took beside what was reckoned."""
    before = data.seconds(data.machine)
    error = float(np.median(np.abs(before / data.real - 1.0)))
    points = tuple(Timed(log, log.seconds, float(b), float(b), False) for log, b in zip(used, before, strict=True))
    return Learned(data.machine, (), error, error, None, points, tuple(problems), memory, changed=False)


def _finished(
    data: TimedRuns, logs: Sequence[Log], before: Floats, fit: _Fit, problems: list[Problem], memory: Memory
) -> Learned:
    after = data.seconds(fit.machine)
    off = np.abs(np.log(data.real / after))
    outlying = (off > OUTLYING * fit.noise) & (off > FARTHEST_OUT) & (len(logs) >= FEWEST)
    points = tuple(
        Timed(log, log.seconds, float(b), float(a), bool(o))
        for log, b, a, o in zip(logs, before, after, outlying, strict=True)
    )
    machine = replace(fit.machine, scatter=fit.scatter)
    runs = memory.runs | {run_name(log) for log in logs}
    kept = replace(memory, runs=runs, figures=figures_of(machine))
    if fit.centre:
        kept = replace(kept, centre=fit.centre, spread=fit.spread, scaled=0)
    elif fit.fitted:
        kept = replace(kept, centre=(), spread=(), scaled=memory.scaled + len(logs))
    return Learned(
        machine=machine,
        fitted=fit.fitted,
        error_before=float(np.median(np.abs(before / data.real - 1.0))),
        error_after=float(np.median(np.abs(after / data.real - 1.0))),
        error_next=fit.error_next,
        points=points,
        problems=(*problems, *(outlying_run(p) for p in points if p.outlier)),
        memory=kept,
    )


def whole_minutes(logs: Sequence[Log]) -> Floats:
    """Return which logs are in whole minutes (1.0), if so many are that it is no chance: one second in sixty is."""
    whole = np.array([float(log.seconds % 60.0 == 0.0) for log in logs])
    return whole if whole.sum() >= 3 and whole.mean() > 0.5 else np.zeros(len(logs))
