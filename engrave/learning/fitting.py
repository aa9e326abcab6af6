"""What logged times tell of a machine: its acceleration, corners, seconds lost at each stroke and at each job.

Fitted in the logarithm of the times, so that short and long jobs weigh alike, with broad log-normal priors that hold a
parameter where the jobs say nothing of it, and with Cauchy's loss, to which a run that was interrupted is one odd
point and not a lever (Huber and Ronchetti, Robust Statistics; Gelman et al., Bayesian Data Analysis, on priors).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from engrave.learning.logs import Log
from engrave.learning.memory import Memory, figures_of, once, run_name
from engrave.learning.nonsense import Nonsense, check_follows, check_units
from engrave.motion.machine_limits import limits_of
from engrave.motion.planner import Floats, PreparedChains
from engrave.problems import Problem
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

WORTH = 1.25
"""A fit of several figures is taken unless it promises to be off by so much more than one factor: it tells more."""

KEPT_PREPARED = 8
"""Courses prepared for so many accelerations of z at a time: a fit tries a step of one figure after the other."""

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
class Timed:
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
    on logs that the fit was not shown; None with fewer than five. points: for a plot. memory: what is to be kept, so that
    each run counts once. changed: whether the machine's figures are others than before.
    """

    machine: Machine
    fitted: tuple[Fitted, ...]
    error_before: float
    error_after: float
    error_next: float | None
    points: tuple[Timed, ...]
    problems: tuple[Problem, ...]
    memory: Memory = field(default_factory=Memory)
    changed: bool = True

    @property
    def summary(self) -> tuple[str, ...]:
        """What was learned, in sentences."""
        runs = f"{len(self.points)} run{'' if len(self.points) == 1 else 's'}"
        if not self.changed:
            return (f"{runs}: estimates are {100 * self.error_before:.1f} % off (median). Nothing is changed.",)
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
        return f"{f.name}: not determined by these runs (stays {was})."
    return f"{f.name}: {now}, was {was} (within a factor of {f.within:.2f})."


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
    problems = [_unknown(log) for log in logs if (log.order, log.piece) not in courses]
    if not here:
        raise ValueError("none of the logged pieces is in the week's folder: nothing can be learned from these times")
    used, repeats, known = once(here, memory)
    problems += [_repeated(log, row) for log, row in repeats]
    problems += [_counted(known, len(used))] if known else []
    if not used:
        used = tuple(dict.fromkeys(here))
        return _unchanged(_data(courses, used, machine), used, problems, memory)
    data = _data(courses, used, machine)
    before = data.seconds(machine)
    check_units(data.real, before)
    rounded = _whole_minutes(used)
    problems += _minutes_problem(used) if rounded.any() else []
    problems += [_few(len(used))] if len(used) < FEWEST else []
    fit = _best(data, before, rounded, memory)
    try:
        check_follows(data.real, before, data.seconds(fit.machine))
    except Nonsense:
        if not rounded.any():
            raise
        problems.append(_too_round())
        return _unchanged(data, used, problems, memory)
    if fit.error_next is not None and fit.error_next >= float(np.median(np.abs(before / data.real - 1.0))):
        problems.append(_no_better(fit.error_next))
        fit = _as_it_was(data, before, rounded)
    return _finished(data, used, before, fit, problems, memory)


def _data(courses: Mapping[tuple[str, int], Course], used: Sequence[Log], machine: Machine) -> _Data:
    return _Data([courses[log.order, log.piece] for log in used], np.array([log.seconds for log in used]), machine)


def _best(data: _Data, before: Floats, rounded: Floats, memory: Memory) -> _Fit:
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


class _Data:
    """Courses prepared for planning, and their real seconds."""

    def __init__(self, courses: Sequence[Course], real: Floats, machine: Machine) -> None:
        self.courses, self.real, self.machine = list(courses), real, machine
        self._starts = np.array([c.starts for c in courses], dtype=np.float64)
        self._extra = np.array([c.extra_seconds for c in courses], dtype=np.float64)
        self._prepared: dict[float, PreparedChains] = {}

    def __len__(self) -> int:
        return len(self.real)

    def part(self, keep: NDArray[np.bool_]) -> _Data:
        """Return the runs where `keep` is true."""
        courses = [c for c, k in zip(self.courses, keep, strict=True) if k]
        return _Data(courses, self.real[keep], self.machine)

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


def _fit(data: _Data, rounded: Floats, memory: Memory) -> _Fit | None:
    """Fit all parameters, then without the one of which the logs say least, and so on until they determine all that are left.

    Those given up stay as they were; None if nothing is determined. How sure each is comes from the first fit, in which
    nothing was taken for granted.
    """
    prior = _prior(data, memory)
    free = np.ones(len(prior.centre), dtype=bool)
    theta, spread, noise = _settled(data, rounded, prior, free)
    kept, deviation, about = theta, np.sqrt(np.diag(spread)), np.sqrt(np.diag(spread))
    while (vague := deviation >= DETERMINED * PRIOR_SDS[free]).any():
        share = deviation / PRIOR_SDS[free]
        free[np.flatnonzero(free)[int(np.argmax(np.where(vague, share, 0.0)))]] = False
        if not free.any():
            return None
        kept, narrowed, noise = _settled(data, rounded, prior, free, kept)
        deviation = np.sqrt(np.diag(narrowed))
    determined, deviation = free, about
    final = np.where(determined, kept, data.table())
    return _Fit(
        data.with_parameters(final),
        _parameters(data, final, deviation, determined),
        noise,
        _foretold(data, noise, prior, determined, kept),
        _scatter(float(np.min(noise)), len(data), int(determined.sum())),
        tuple((theta + _accelerations(data.machine)).tolist()),
        tuple(tuple(row) for row in spread.tolist()),
    )


@dataclass(frozen=True, slots=True)
class _Prior:
    """What is known before: likeliest parameters (k,) and their covariance (k, k), in logarithms."""

    centre: Floats
    spread: Floats


def _prior(data: _Data, memory: Memory) -> _Prior:
    """Return what is known of a machine: from the runs counted before, else from its table, broadly."""
    centre = data.centre()
    if len(memory.centre) == len(centre):
        return _Prior(np.array(memory.centre) - _accelerations(data.machine), np.array(memory.spread))
    return _Prior(centre, np.diag(PRIOR_SDS**2))


def _accelerations(machine: Machine) -> Floats:
    """Return what turns parameters, which hold accelerations as shares of the table's, into their plain logarithms."""
    x, _, z = machine.amax
    return np.array([math.log(x), 0.0, 0.0, 0.0, math.log(z / x)])


def _settled(
    data: _Data, rounded: Floats, prior: _Prior, free: NDArray[np.bool_], start: Floats | None = None
) -> tuple[Floats, Floats, Floats]:
    """Return parameters (k,), covariance of the free ones, and each run's deviation, once they agree with each other."""
    noise = _noise(data, rounded, NOISE)
    theta = prior.centre if start is None else start
    spread = np.eye(int(free.sum()))
    for _ in range(3):
        theta, spread = _least_squares(data, noise, theta, prior, free)
        off = np.log(data.real) - np.log(data.seconds(data.with_parameters(theta)))
        noise = _noise(data, rounded, _spread_of(off, int(free.sum())))
    return theta, spread, noise


def _noise(data: _Data, rounded: Floats, share: float) -> Floats:
    """Return each run's deviation in logarithms; a time in whole minutes hides up to half a minute more.

    The deviation of what rounding to 60 s takes away is 60 / sqrt 12.
    """
    hidden = np.where(rounded > 0, 60.0 / math.sqrt(12.0) / data.real, 0.0)
    return np.hypot(share, hidden)


def _spread_of(off: Floats, fitted: int) -> float:
    """Return the deviation of single runs from the median of their absolute errors, `fitted` parameters being fitted.

    1.4826 makes the median absolute deviation the standard deviation where errors are normal. What a few logs say is
    weighed with `NOISE` as if that had been seen on `NOISE_RUNS` runs: ten logs that agree by luck promise too much.
    """
    free = max(1.0, len(off) - fitted)
    seen = 1.4826 * float(np.median(np.abs(off))) * math.sqrt(len(off) / free)
    weighed = (free * seen**2 + NOISE_RUNS * NOISE**2) / (free + NOISE_RUNS)
    return max(LEAST_NOISE, math.sqrt(weighed))


def _least_squares(
    data: _Data, noise: Floats, start: Floats, prior: _Prior, free: NDArray[np.bool_]
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


def _parameters(data: _Data, theta: Floats, deviation: Floats, determined: NDArray[np.bool_]) -> tuple[Fitted, ...]:
    before, after = data.machine, data.with_parameters(theta)
    values = [
        ("acceleration along x", "mm/s2", before.amax[0], after.amax[0]),
        ("corner deviation", "mm", before.corner_slack, after.corner_slack),
        ("time lost at each stroke", "s", before.stroke_s, after.stroke_s),
        ("time lost once a job", "s", before.fixed_s, after.fixed_s),
        ("acceleration up and down", "mm/s2", before.amax[2], after.amax[2]),
    ]
    return tuple(
        Fitted(name, unit, was, now if known else was, float(np.exp(se)), bool(known))
        for (name, unit, was, now), se, known in zip(values, deviation, determined, strict=True)
        if known or name != "acceleration up and down"  # else it is taken to be off as x's is
    )


def _foretold(data: _Data, noise: Floats, prior: _Prior, free: NDArray[np.bool_], start: Floats) -> float:
    """Return the median error on each fifth of the logs by a fit to the other four fifths."""
    fold = np.arange(len(data)) % FOLDS
    off = np.zeros(len(data))
    for k in range(FOLDS):
        seen = fold != k
        other, _ = _least_squares(data.part(seen), noise[seen], start, prior, free)
        rest = data.part(~seen)
        off[~seen] = np.abs(rest.seconds(rest.with_parameters(other)) / rest.real - 1.0)
    return float(np.median(off))


def _scaled(data: _Data, before: Floats, rounded: Floats, memory: Memory) -> _Fit:
    """Return the machine with one factor on its times: the median of what the logs ask for, those counted before too."""
    ratio = np.log(data.real / before)
    n = len(data)
    factor = float(np.exp(np.median(ratio) * n / (n + memory.scaled)))
    scale = data.machine.scale * factor
    off = ratio - math.log(factor)
    spread = _spread_of(off, 1)
    within = float(np.exp(spread / math.sqrt(n + memory.scaled)))
    fitted = (Fitted("factor on all times", "", data.machine.scale, scale, within, True),)
    machine = replace(data.machine, scale=scale)
    others = [float(np.median(np.delete(ratio, k))) for k in range(n)] if n >= FEWEST else []
    next_ = float(np.median(np.abs(np.expm1(np.array(others) - ratio)))) if others else None
    noise = _noise(data, rounded, spread)
    scatter = _scatter(float(np.min(noise)), n, 1)
    if n < FEWEST:  # too few to tell a scatter from: what was taken until now, or the farthest of them
        scatter = max(data.machine.scatter, float(np.max(np.expm1(np.abs(off)))))
    return _Fit(machine, fitted, noise, next_, scatter)


def _as_it_was(data: _Data, before: Floats, rounded: Floats) -> _Fit:
    """Return the machine as it is; that its estimates hold within a share is learned all the same."""
    noise = _noise(data, rounded, _spread_of(np.log(data.real / before), 0))
    return _Fit(data.machine, (), noise, None, _scatter(float(np.min(noise)), len(data), 0))


def _unchanged(data: _Data, used: Sequence[Log], problems: list[Problem], memory: Memory) -> Learned:
    """Return the machine as it was, with what these runs took beside what was reckoned."""
    before = data.seconds(data.machine)
    error = float(np.median(np.abs(before / data.real - 1.0)))
    points = tuple(Timed(log, log.seconds, float(b), float(b), False) for log, b in zip(used, before, strict=True))
    return Learned(data.machine, (), error, error, None, points, tuple(problems), memory, changed=False)


def _finished(
    data: _Data, logs: Sequence[Log], before: Floats, fit: _Fit, problems: list[Problem], memory: Memory
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
        problems=(*problems, *(_outlier(p) for p in points if p.outlier)),
        memory=kept,
    )


def _scatter(noise: float, n: int, fitted: int) -> float:
    """Return the share within which nine of ten runs fall: Student's t for few logs, widened for what was fitted.

    The deviation is known from the logs and, as `NOISE_RUNS` runs would tell it, from what is assumed.
    """
    from scipy.stats import t

    free = max(1.0, n - fitted) + NOISE_RUNS
    return float(np.expm1(t.ppf(0.95, free) * noise * math.sqrt(1.0 + fitted / n)))


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


def _repeated(log: Log, row: int) -> Problem:
    says = f"Row {log.row} says what row {row} says, and counts once. Were they two runs, write the day or a note beside them."
    return Problem("log-repeated", "look", says, where=f"row {log.row}")


def _counted(known: int, new: int) -> Problem:
    rest = f"{new} new" if new else "nothing is new"
    says = f"{known} of these runs were counted when figures were last saved, and are not counted again; {rest}."
    return Problem("log-counted", "note", says, value=float(known))


def _too_round() -> Problem:
    says = "What whole minutes hide of runs so short is more than what the pieces differ by: nothing is changed."
    return Problem("not-better", "look", says)


def _no_better(error: float) -> Problem:
    says = (
        f"Learned from these runs, estimates of others would be {100 * error:.1f} % off, no better than they are: nothing "
        "is changed. More runs, of short and long pieces, timed to the second, would tell."
    )
    return Problem("not-better", "look", says, value=error)


def _unknown(log: Log) -> Problem:
    says = f"Row {log.row}: {log.name} is not among this machine's pieces of the week; its time is left out."
    return Problem("log-unknown", "look", says, where=f"row {log.row}")


def _outlier(point: Timed) -> Problem:
    longer = point.real / point.after - 1.0
    way = f"{100 * longer:.0f} % longer" if longer > 0 else f"{-100 * longer:.0f} % shorter"
    says = (
        f"Row {point.log.row}: {point.log.name} took {point.real:.0f} s, {way} than estimated "
        f"({point.after:.0f} s): interrupted, or another piece? It hardly counts."
    )
    return Problem("log-outlier", "look", says, where=f"row {point.log.row}", value=point.real, limit=point.after)
