"""What logged times tell of a machine: its acceleration, corners, seconds lost at each stroke and at each job.

Fitted in the logarithm of the times, so that short and long jobs weigh alike, with broad log-normal priors that hold a
parameter where the jobs say nothing of it, and with Cauchy's loss, to which a run that was interrupted is one odd
point and not a lever (Huber and Ronchetti, Robust Statistics; Gelman et al., Bayesian Data Analysis, on priors).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engrave.learning.logs import Log
from engrave.motion.machine_limits import limits_of
from engrave.motion.planner import Floats, PreparedChains
from engrave.problems import Problem
from engrave.shop.models import Machine
from engrave.toolpath.moves import Course

PRIOR_SD = math.log(3.0)
"""Standard deviation of each prior in logarithms: a maker's figures are right within a factor of 3, two times of three
(common practice, no source)."""

DETERMINED = 0.5
"""Share of the prior's deviation below which a parameter's standard error must fall to count as learned."""

FEWEST = 5
"""Logs below which four parameters cannot be told apart: then only one factor on the whole time is learned."""

NOISE = 0.05
"""Share by which one run differs from the next of the same job, to begin with; then estimated from the logs."""

NOISE_RUNS = 4.0
"""Runs that the assumed `NOISE` is worth beside what the logs show of it: it is a guess, and ten logs outweigh it."""

LEAST_NOISE = 0.01
"""Share below which no spread is believed, however well a few logs agree: clocks are started by hand."""

CAUCHY = 2.385
"""Tuning constant of Cauchy's loss for 95 % efficiency where the errors are normal (Huber and Ronchetti)."""

STROKE_S, FIXED_S = 0.05, 5.0
"""Seconds at which the priors of the seconds per stroke and per job stand where the machine's table says 0."""

FOLDS = 5
"""Parts into which the logs are divided to see how well each is foretold by the others."""

OUTLYING, FARTHEST_OUT = 4.0, 0.10
"""An outlier lies more than so many deviations off, and more than this share: less may be chance."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """One parameter: before and after in its unit, and the factor within which the logs determine it (1 deviation).

    determined: whether the logs say clearly more about it than was assumed before.
    """

    name: str
    unit: str
    before: float
    after: float
    within: float
    determined: bool


@dataclass(frozen=True, slots=True)
class Point:
    """One logged run: seconds as timed, as estimated before and after. outlier: taken for interrupted or mistaken."""

    log: Log
    real: float
    before: float
    after: float
    outlier: bool


@dataclass(frozen=True, slots=True)
class Learned:
    """What was learned. machine: with the learned figures; scatter among them.

    error_before, error_after: median share by which the estimates were and are off on these logs. error_next: the same
    on logs that the fit was not shown; None with fewer than five. points: for a plot.
    """

    machine: Machine
    fitted: tuple[Fitted, ...]
    error_before: float
    error_after: float
    error_next: float | None
    points: tuple[Point, ...]
    problems: tuple[Problem, ...]

    @property
    def summary(self) -> tuple[str, ...]:
        """What was learned, in sentences."""
        runs = f"{len(self.points)} run{'' if len(self.points) == 1 else 's'}"
        lines = [
            f"{runs}: estimates were {100 * self.error_before:.1f} % off, and are now {100 * self.error_after:.1f} %."
        ]
        if self.error_next is not None:
            lines.append(f"On runs that the fit was not shown they are {100 * self.error_next:.1f} % off (medians).")
        lines += [_told(f) for f in self.fitted]
        share = self.machine.scatter
        lines.append(f"Nine of ten runs should fall within {100 * share:.0f} % of the estimate, interruptions apart.")
        return tuple(lines)


def _told(f: Fitted) -> str:
    unit = f" {f.unit}" if f.unit else ""
    was, now = (f"{float(f'{value:.3g}'):g}{unit}" for value in (f.before, f.after))
    if not f.determined:
        return f"{f.name}: not determined by these runs (stays near {now})."
    return f"{f.name}: {now}, was {was} (within a factor of {f.within:.2f})."


def learn(courses: Mapping[tuple[str, int], Course], logs: Sequence[Log], machine: Machine) -> Learned:
    """Return the machine as the logs show it. courses: of each piece by (order, piece), as it was cut.

    Logs of pieces that are not among the courses are named and left out. Raises ValueError if none is left.
    """
    used = [log for log in logs if (log.order, log.piece) in courses]
    problems = [_unknown(log) for log in logs if (log.order, log.piece) not in courses]
    if not used:
        raise ValueError("none of the logged pieces is in the week's folder: nothing can be learned from these times")
    data = _Data([courses[log.order, log.piece] for log in used], np.array([log.seconds for log in used]), machine)
    before = data.seconds(machine)
    rounded = _whole_minutes(used)
    problems += _minutes_problem(used) if rounded.any() else []
    if len(used) < FEWEST:
        problems.append(_few(len(used)))
        return _finished(data, used, before, _scaled(data, before), problems)
    return _finished(data, used, before, _fit(data, rounded), problems)


@dataclass(frozen=True, slots=True)
class _Fit:
    """A fitted machine, its parameters, the deviation of single runs (n,) in logarithms, and the error foretold."""

    machine: Machine
    fitted: tuple[Fitted, ...]
    noise: Floats
    error_next: float | None


class _Data:
    """Courses prepared for planning, and their real seconds."""

    def __init__(self, courses: Sequence[Course], real: Floats, machine: Machine) -> None:
        self.courses, self.real, self.machine = list(courses), real, machine
        self._starts = np.array([c.starts for c in courses], dtype=np.float64)
        self._extra = np.array([c.extra_seconds for c in courses], dtype=np.float64)
        self._prepared = PreparedChains.of([c.moves for c in courses], limits_of(machine))

    def __len__(self) -> int:
        return len(self.real)

    def part(self, keep: NDArray[np.bool_]) -> _Data:
        """Return the runs where `keep` is true."""
        courses = [c for c, k in zip(self.courses, keep, strict=True) if k]
        return _Data(courses, self.real[keep], self.machine)

    def seconds(self, machine: Machine) -> Floats:
        """Return the seconds (n,) that the machine is reckoned to take with other accelerations, all by one factor."""
        planned = self._prepared.totals(machine.amax[0] / self.machine.amax[0], machine.delta)
        return machine.scale * (planned + self._extra + self._starts * machine.stroke_s + machine.fixed_s)

    def centre(self) -> Floats:
        """Return the logarithms of the parameters that the machine's table states, or where the priors stand."""
        m = self.machine
        return np.log([1.0, max(m.delta, 1e-4), m.stroke_s if m.stroke_s > 0 else STROKE_S, m.fixed_s or FIXED_S])

    def with_parameters(self, theta: Floats) -> Machine:
        """Return the machine with acceleration times exp(theta[0]), and the other three parameters exp(theta)."""
        push, delta, stroke_s, fixed_s = (float(x) for x in np.exp(theta))
        x, y, z = self.machine.amax
        amax = (x * push, y * push, z * push)
        return replace(self.machine, amax=amax, delta=delta, stroke_s=stroke_s, fixed_s=fixed_s, scale=1.0)


def _fit(data: _Data, rounded: Floats) -> _Fit:
    """Fit all four parameters, the spread of single runs with them, and see how well each log is foretold."""
    noise = _noise(data, rounded, NOISE)
    theta, spread = data.centre(), np.eye(4)
    for _ in range(3):
        theta, spread = _least_squares(data, noise, theta)
        off = np.log(data.real) - np.log(data.seconds(data.with_parameters(theta)))
        noise = _noise(data, rounded, _spread_of(off))
    deviation = np.sqrt(np.diag(spread))
    return _Fit(data.with_parameters(theta), _parameters(data, theta, deviation), noise, _foretold(data, noise, theta))


def _noise(data: _Data, rounded: Floats, share: float) -> Floats:
    """Return each run's deviation in logarithms; a time in whole minutes hides up to half a minute more.

    The deviation of what rounding to 60 s takes away is 60 / sqrt 12.
    """
    hidden = np.where(rounded > 0, 60.0 / math.sqrt(12.0) / data.real, 0.0)
    return np.hypot(share, hidden)


def _spread_of(off: Floats) -> float:
    """Return the deviation of single runs from the median of their absolute errors, four parameters being fitted.

    1.4826 makes the median absolute deviation the standard deviation where errors are normal. What a few logs say is
    weighed with `NOISE` as if that had been seen on `NOISE_RUNS` runs: ten logs that agree by luck promise too much.
    """
    free = max(1.0, len(off) - 4.0)
    seen = 1.4826 * float(np.median(np.abs(off))) * math.sqrt(len(off) / free)
    weighed = (free * seen**2 + NOISE_RUNS * NOISE**2) / (free + NOISE_RUNS)
    return max(LEAST_NOISE, math.sqrt(weighed))


def _least_squares(data: _Data, noise: Floats, start: Floats) -> tuple[Floats, Floats]:
    """Return the most likely parameters and their covariance, both in logarithms."""
    from scipy.optimize import least_squares

    centre, n = data.centre(), len(data)

    def residuals(theta: Floats) -> Floats:
        off = np.log(data.real) - np.log(data.seconds(data.with_parameters(theta)))
        return np.concatenate([off / noise, (theta - centre) / PRIOR_SD])

    reach = 3.0 * PRIOR_SD
    bounds = (centre - reach, centre + reach)
    start = np.clip(start, bounds[0] + 1e-6, bounds[1] - 1e-6)
    found = least_squares(residuals, start, bounds=bounds, loss=_loss(n), f_scale=CAUCHY, diff_step=1e-3, xtol=1e-5)
    return found.x, np.linalg.inv(found.jac.T @ found.jac)


def _loss(n: int) -> Callable[[Floats], Floats]:
    """Return Cauchy's loss for the first n squared residuals (the runs), the plain square for the rest (the priors)."""

    def loss(z: Floats) -> Floats:
        rho = np.stack([z, np.ones_like(z), np.zeros_like(z)])
        rho[0, :n], rho[1, :n], rho[2, :n] = np.log1p(z[:n]), 1 / (1 + z[:n]), -1 / (1 + z[:n]) ** 2
        return rho

    return loss


def _parameters(data: _Data, theta: Floats, deviation: Floats) -> tuple[Fitted, ...]:
    before, after = data.machine, data.with_parameters(theta)
    values = (
        ("acceleration along x", "mm/s2", before.amax[0], after.amax[0]),
        ("corner deviation", "mm", before.delta, after.delta),
        ("time lost at each stroke", "s", before.stroke_s, after.stroke_s),
        ("time lost once a job", "s", before.fixed_s, after.fixed_s),
    )
    return tuple(
        Fitted(name, unit, was, now, float(np.exp(se)), bool(se < DETERMINED * PRIOR_SD))
        for (name, unit, was, now), se in zip(values, deviation, strict=True)
    )


def _foretold(data: _Data, noise: Floats, theta: Floats) -> float:
    """Return the median error on each fifth of the logs by a fit to the other four fifths."""
    fold = np.arange(len(data)) % FOLDS
    off = np.zeros(len(data))
    for k in range(FOLDS):
        seen = fold != k
        other, _ = _least_squares(data.part(seen), noise[seen], theta)
        rest = data.part(~seen)
        off[~seen] = np.abs(rest.seconds(rest.with_parameters(other)) / rest.real - 1.0)
    return float(np.median(off))


def _scaled(data: _Data, before: Floats) -> _Fit:
    """Return the machine with one factor on its times, the median of what the logs ask for."""
    ratio = np.log(data.real / before)
    factor = float(np.exp(np.median(ratio)))
    scale = data.machine.scale * factor
    within = float(np.exp(NOISE / math.sqrt(len(data))))
    fitted = (Fitted("factor on all times", "", data.machine.scale, scale, within, True),)
    return _Fit(replace(data.machine, scale=scale), fitted, np.full(len(data), NOISE), None)


def _finished(data: _Data, logs: Sequence[Log], before: Floats, fit: _Fit, problems: list[Problem]) -> Learned:
    after = data.seconds(fit.machine)
    off = np.abs(np.log(data.real / after))
    outlying = (off > OUTLYING * fit.noise) & (off > FARTHEST_OUT) & (len(logs) >= FEWEST)
    points = tuple(
        Point(log, log.seconds, float(b), float(a), bool(o))
        for log, b, a, o in zip(logs, before, after, outlying, strict=True)
    )
    problems += [_outlier(p) for p in points if p.outlier]
    scatter = max(_scatter(float(np.min(fit.noise)), len(logs)), 0.0)
    if len(logs) < FEWEST:  # too few to tell a scatter from: what was taken until now, or the farthest of them
        scatter = max(data.machine.scatter, float(np.max(np.expm1(off))))
    return Learned(
        machine=replace(fit.machine, scatter=scatter),
        fitted=fit.fitted,
        error_before=float(np.median(np.abs(before / data.real - 1.0))),
        error_after=float(np.median(np.abs(after / data.real - 1.0))),
        error_next=fit.error_next,
        points=points,
        problems=tuple(problems),
    )


def _scatter(noise: float, n: int) -> float:
    """Return the share within which nine of ten runs fall: Student's t for few logs, widened for what was fitted."""
    from scipy.stats import t

    free = max(1, n - 4)
    return float(np.expm1(t.ppf(0.95, free) * noise * math.sqrt(1.0 + 4.0 / n)))


def _whole_minutes(logs: Sequence[Log]) -> Floats:
    """Return which logs are in whole minutes (1.0), if so many are that it is no chance: one second in sixty is."""
    whole = np.array([float(log.seconds % 60.0 == 0.0) for log in logs])
    return whole if whole.sum() >= 3 and whole.mean() > 0.5 else np.zeros(len(logs))


def _minutes_problem(logs: Sequence[Log]) -> list[Problem]:
    typical = float(np.median([log.seconds for log in logs]))
    share = f"{100 * 30.0 / typical:.0f} %"
    says = (
        f"These times are whole minutes; half a minute is {share} of a typical run of {typical / 60:.0f} min. They "
        "are trusted that much less: time runs to the second."
    )
    return [Problem("whole-minutes", "look", says, value=round(30.0 / typical, 3))]


def _few(n: int) -> Problem:
    says = (
        f"{n} timed run{'s' if n > 1 else ''}: only one factor on all times is learned. With {FEWEST} or more, of "
        "short and long pieces, acceleration and lost seconds are told apart; ten are better."
    )
    return Problem("few-logs", "note", says, value=float(n), limit=float(FEWEST))


def _unknown(log: Log) -> Problem:
    says = f"Row {log.row}: {log.name} is not among this machine's pieces of the week; its time is left out."
    return Problem("log-unknown", "look", says, where=f"row {log.row}")


def _outlier(point: Point) -> Problem:
    longer = point.real / point.after - 1.0
    way = f"{100 * longer:.0f} % longer" if longer > 0 else f"{-100 * longer:.0f} % shorter"
    says = (
        f"Row {point.log.row}: {point.log.name} took {point.real:.0f} s, {way} than reckoned "
        f"({point.after:.0f} s): interrupted, or another piece? It hardly counts."
    )
    return Problem("log-outlier", "look", says, where=f"row {point.log.row}", value=point.real, limit=point.after)
