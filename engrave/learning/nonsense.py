"""Times that cannot be times of these pieces: another unit, one figure for all, shorter the more there is to cut."""

from __future__ import annotations

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.units import duration

FARTHEST_RATIO = 6.0
"""Times longer or shorter than reckoned by more than this are of another unit, piece or machine: what is not known of a
machine (accelerations by a factor of 3, lost seconds) alters whole times by less (common practice, no source)."""

MINUTES_RATIO = (30.0, 120.0)
"""Factors that mean minutes under seconds or the other way: 60, and what is not known of the machine."""

TOLD_APART = 0.05
"""Median share by which reckoned times must differ among themselves for it to be seen whether the logged ones follow."""

TOO_FAR = 0.35
"""Median share by which a fit may still be off; beyond it the times are not those of these pieces."""

FEWEST_COMPARED = 3
"""Runs from which it can be seen whether times follow the pieces at all."""


class Nonsense(ValueError):
    """Logged times from which nothing can be learned; the message says why and what to do."""


def check_units(real: Floats, reckoned: Floats) -> None:
    """Raise Nonsense where logged seconds (n,) are of another unit, or far from anything the machine could take."""
    ratio = float(np.median(real / reckoned))
    logged, was = (float(np.median(s)) for s in (real, reckoned))
    typical = f"half of the runs took more than {_span(logged)}, and were estimated at {_span(was)}"
    if MINUTES_RATIO[0] <= 1.0 / ratio <= MINUTES_RATIO[1]:
        raise Nonsense(f"These times look like minutes written as seconds: {typical}. Call the column minutes.")
    if MINUTES_RATIO[0] <= ratio <= MINUTES_RATIO[1]:
        raise Nonsense(f"These times look like seconds written as minutes: {typical}. Call the column seconds.")
    if not 1.0 / FARTHEST_RATIO <= ratio <= FARTHEST_RATIO:
        raise Nonsense(
            f"These times cannot be those of these pieces on this machine: {typical}. Is it the right machine, the right "
            "week, and the right unit?"
        )


def check_follows(real: Floats, reckoned: Floats, fitted: Floats) -> None:
    """Raise Nonsense where logged seconds (n,) are told no better by the pieces than by one figure for all.

    reckoned: seconds before, fitted: after. Where all pieces are reckoned alike this cannot be seen, and nothing is said.
    """
    if len(real) < FEWEST_COMPARED or _spread(reckoned) < TOLD_APART:
        return
    off = float(np.median(np.abs(np.log(real / fitted))))
    if off >= _spread(real):
        falls = _falls(real, reckoned)
        how = "fall where there is more to cut" if falls else "do not follow what there is to cut"
        raise Nonsense(
            f"These times {how}: one and the same time for all pieces would tell them as well. Are they put to the right "
            "orders?"
        )
    if off > TOO_FAR:
        raise Nonsense(
            f"With the best figures that can be found half of the estimates would still be more than {100 * off:.0f} % off: "
            "these are not the times of these pieces on this machine."
        )


def _spread(seconds: Floats) -> float:
    """Return the median share by which times differ from their own median."""
    return float(np.median(np.abs(np.log(seconds / np.median(seconds)))))


def _falls(real: Floats, reckoned: Floats) -> bool:
    """Tell whether longer pieces took less time: by the order of the times, so that one odd run says nothing."""
    ranks = [np.argsort(np.argsort(s)) for s in (real, reckoned)]
    return float(np.corrcoef(ranks[0], ranks[1])[0, 1]) < 0.0


def _span(seconds: float) -> str:
    return duration(seconds) if seconds >= 1.0 else f"{seconds:.2g} s"
