"""What logged times told of a machine: its figures before and after, each run beside its estimates, and all that in sentences."""

from __future__ import annotations

from dataclasses import dataclass, field

from engrave.learning.logs import Log
from engrave.learning.memory import Memory
from engrave.problems import Problem
from engrave.shop.models import Machine


@dataclass(frozen=True, slots=True)
class Fitted:
    """One parameter: before and after in its unit, and the factor within which the logs determine it (1 deviation).

    determined: whether the logs say clearly more about it than was assumed before. low, high: between which it lies nine times
    of ten, by these logs; not evenly about `after` where other figures, left as they were, have pushed that aside.
    """

    name: str
    unit: str
    before: float
    after: float
    within: float
    determined: bool
    low: float
    high: float


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
        lines += [_figure_told(f) for f in self.fitted]
        share = self.machine.scatter
        lines.append(f"Nine of ten runs should fall within {100 * share:.0f} % of the estimate, interruptions apart.")
        return tuple(lines)


def _figure_told(f: Fitted) -> str:
    unit = f" {f.unit}" if f.unit else ""
    was, now, low, high = (f"{float(f'{value:.3g}'):g}{unit}" for value in (f.before, f.after, f.low, f.high))
    if not f.determined:
        return f"{f.name}: not determined by these runs (stays {was})."
    return f"{f.name}: {now}, was {was} (nine times of ten between {low} and {high})."
