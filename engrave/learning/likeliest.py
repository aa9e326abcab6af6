"""The likeliest figures of a machine by timed runs: least squares with priors, and how far single runs scatter.

Fitted in the logarithm of the times, so that short and long jobs weigh alike, with broad log-normal priors that hold a
parameter where the jobs say nothing of it, and with Cauchy's loss, to which a run that was interrupted is one odd
point and not a lever (Huber and Ronchetti, Robust Statistics; Gelman et al., Bayesian Data Analysis, on priors).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.arrays import Floats
from engrave.learning.memory import Memory
from engrave.motion.machine_limits import limits_of
from engrave.motion.planner import PreparedChains
from engrave.shop.models import Machine
from engrave.toolpath.moves import Course

PRIOR_SD = math.log(3.0)
"""Standard deviation of each prior in logarithms: a maker's figures are right within a factor of 3, two times of three
(common practice, no source)."""

LIFT_SD = math.log(1.6)
"""The same for how much more z's acceleration is off than x's: a maker states both alike (common practice, no source).
Without it z would hang on x, and what the logs say of x would be taken for surer than it is."""

PRIOR_SDS = np.array([PRIOR_SD, PRIOR_SD, PRIOR_SD, PRIOR_SD, LIFT_SD])
"""Of the parameters in their order: acceleration, corner deviation, seconds a stroke, seconds a job, z beside x."""

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

KEPT_PREPARED = 8
"""Courses prepared for so many accelerations of z at a time: a fit tries a step of one figure after the other."""


class TimedRuns:
    """Courses prepared for planning, and their real seconds."""

    def __init__(self, courses: Sequence[Course], real: Floats, machine: Machine) -> None:
        self.courses, self.real, self.machine = list(courses), real, machine
        self._starts = np.array([c.starts for c in courses], dtype=np.float64)
        self._extra = np.array([c.extra_seconds for c in courses], dtype=np.float64)
        self._prepared: dict[float, PreparedChains] = {}

    def __len__(self) -> int:
        return len(self.real)

    def part(self, keep: NDArray[np.bool_]) -> TimedRuns:
        """Return the runs where `keep` is true."""
        courses = [c for c, k in zip(self.courses, keep, strict=True) if k]
        return TimedRuns(courses, self.real[keep], self.machine)

    def seconds(self, machine: Machine) -> Floats:
        """Return the seconds (n,) that the machine is reckoned to take with other accelerations: x and y by one factor."""
        (x, _, z), (x0, y0, z0) = machine.amax, self.machine.amax
        push = x / x0
        lift = z / (z0 * push)
        if lift not in self._prepared:
            if len(self._prepared) >= KEPT_PREPARED:
                self._prepared.clear()
            limits = limits_of(replace(self.machine, amax=(x0, y0, z0 * lift)))
            self._prepared[lift] = PreparedChains.of([c.moves for c in self.courses], limits)
        planned = self._prepared[lift].totals(push, machine.corner_slack)
        return machine.scale * (planned + self._extra + self._starts * machine.stroke_s + machine.fixed_s)

    def table(self) -> Floats:
        """Return the logarithms of the parameters as the machine's table states them; -inf where it says 0."""
        m = self.machine
        with np.errstate(divide="ignore"):
            return np.asarray(np.log([1.0, max(m.corner_slack, 1e-4), max(m.stroke_s, 0.0), max(m.fixed_s, 0.0), 1.0]))

    def centre(self) -> Floats:
        """Return the logarithms of the parameters that the machine's table states, or where the priors stand."""
        usual = np.log([1.0, 1e-4, STROKE_S, FIXED_S, 1.0])
        table = self.table()
        return np.where(np.isfinite(table), table, usual)

    def with_parameters(self, theta: Floats) -> Machine:
        """Return the machine with all accelerations times exp(theta[0]), z's times exp(theta[4]) besides; the rest plain."""
        push, delta, stroke_s, fixed_s, lift = (float(v) for v in np.exp(theta))
        x, y, z = self.machine.amax
        amax = (x * push, y * push, z * push * lift)
        return replace(self.machine, amax=amax, corner_slack=delta, stroke_s=stroke_s, fixed_s=fixed_s, scale=1.0)


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known before: likeliest parameters (k,) and their covariance (k, k), in logarithms."""

    centre: Floats
    spread: Floats


def prior_of(data: TimedRuns, memory: Memory) -> Prior:
    """Return what is known of a machine: from the runs counted before, else from its table, broadly."""
    centre = data.centre()
    if len(memory.centre) == len(centre):
        return Prior(np.array(memory.centre) - accelerations(data.machine), np.array(memory.spread))
    return Prior(centre, np.diag(PRIOR_SDS**2))


def accelerations(machine: Machine) -> Floats:
    """Return what turns parameters, which hold accelerations as shares of the table's, into their plain logarithms."""
    x, _, z = machine.amax
    return np.array([math.log(x), 0.0, 0.0, 0.0, math.log(z / x)])


def settled(
    data: TimedRuns, rounded: Floats, prior: Prior, free: NDArray[np.bool_], start: Floats | None = None
) -> tuple[Floats, Floats, Floats]:
    """Return parameters (k,), covariance of the free ones, and each run's deviation, once they agree with each other."""
    noise = deviations(data, rounded, NOISE)
    theta = prior.centre if start is None else start
    spread = np.eye(int(free.sum()))
    for _ in range(3):
        theta, spread = least_squares_fit(data, noise, theta, prior, free)
        off = np.log(data.real) - np.log(data.seconds(data.with_parameters(theta)))
        noise = deviations(data, rounded, spread_of(off, int(free.sum())))
    return theta, spread, noise


def deviations(data: TimedRuns, rounded: Floats, share: float) -> Floats:
    """Return each run's deviation in logarithms; a time in whole minutes hides up to half a minute more.

    The deviation of what rounding to 60 s takes away is 60 / sqrt 12.
    """
    hidden = np.where(rounded > 0, 60.0 / math.sqrt(12.0) / data.real, 0.0)
    return np.hypot(share, hidden)


def spread_of(off: Floats, fitted: int) -> float:
    """Return the deviation of single runs from the median of their absolute errors, `fitted` parameters being fitted.

    1.4826 makes the median absolute deviation the standard deviation where errors are normal. What a few logs say is
    weighed with `NOISE` as if that had been seen on `NOISE_RUNS` runs: ten logs that agree by luck promise too much.
    """
    free = max(1.0, len(off) - fitted)
    seen = 1.4826 * float(np.median(np.abs(off))) * math.sqrt(len(off) / free)
    weighed = (free * seen**2 + NOISE_RUNS * NOISE**2) / (free + NOISE_RUNS)
    return max(LEAST_NOISE, math.sqrt(weighed))


def least_squares_fit(
    data: TimedRuns, noise: Floats, start: Floats, prior: Prior, free: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Return the most likely parameters (k,), those that are not free as the table has them, and the others' covariance."""
    from scipy.optimize import least_squares

    n, centre = len(data), prior.centre[free]
    weigh = np.linalg.cholesky(np.linalg.inv(prior.spread[np.ix_(free, free)])).T

    def whole(part: Floats) -> Floats:
        theta = data.table().copy()
        theta[free] = part
        return theta

    def residuals(part: Floats) -> Floats:
        off = np.log(data.real) - np.log(data.seconds(data.with_parameters(whole(part))))
        return np.concatenate([off / noise, weigh @ (part - centre)])

    reach = 3.0 * PRIOR_SDS[free]
    bounds = (centre - reach, centre + reach)
    begin = np.clip(start[free], bounds[0] + 1e-6, bounds[1] - 1e-6)
    found = least_squares(residuals, begin, bounds=bounds, loss=_loss(n), f_scale=CAUCHY, diff_step=1e-3, xtol=1e-5)
    return whole(found.x), np.linalg.inv(found.jac.T @ found.jac)


def _loss(n: int) -> Callable[[Floats], Floats]:
    """Return Cauchy's loss for the first n squared residuals (the runs), the plain square for the rest (the priors)."""

    def loss(z: Floats) -> Floats:
        rho = np.stack([z, np.ones_like(z), np.zeros_like(z)])
        rho[0, :n], rho[1, :n], rho[2, :n] = np.log1p(z[:n]), 1 / (1 + z[:n]), -1 / (1 + z[:n]) ** 2
        return rho

    return loss


def foretold(data: TimedRuns, noise: Floats, prior: Prior, free: NDArray[np.bool_], start: Floats) -> float:
    """Return the median error on each fifth of the logs by a fit to the other four fifths."""
    fold = np.arange(len(data)) % FOLDS
    off = np.zeros(len(data))
    for k in range(FOLDS):
        seen = fold != k
        other, _ = least_squares_fit(data.part(seen), noise[seen], start, prior, free)
        rest = data.part(~seen)
        off[~seen] = np.abs(rest.seconds(rest.with_parameters(other)) / rest.real - 1.0)
    return float(np.median(off))


def nine_of_ten(deviation: float, runs: int, fitted: int) -> float:
    """Return the factor within which a figure of such a standard deviation (in logarithms) lies nine times of ten.

    Student's t, as how far runs scatter is itself only known from so many of them, all figures fitted to them counted,
    and never from fewer than the `NOISE_RUNS` that the assumed scatter stands for.
    """
    from scipy.stats import t

    return float(np.exp(t.ppf(0.95, max(NOISE_RUNS, runs - fitted)) * deviation))


def scatter_of(noise: float, n: int, fitted: int) -> float:
    """Return the share within which nine of ten runs fall: Student's t for few logs, widened for what was fitted.

    The deviation is known from the logs and, as `NOISE_RUNS` runs would tell it, from what is assumed.
    """
    from scipy.stats import t

    free = max(1.0, n - fitted) + NOISE_RUNS
    return float(np.expm1(t.ppf(0.95, free) * noise * math.sqrt(1.0 + fitted / n)))
