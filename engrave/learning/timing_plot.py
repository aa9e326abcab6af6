"""Times as reckoned against times as taken, before and after a machine was learned: one picture."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from engrave.output.numbers import count
from engrave.output.pictures.paper import EDGE, WIDE, in_few_colours
from engrave.output.typesetting import own_typesetter
from engrave.units import duration

if TYPE_CHECKING:
    from engrave.learning.learned import Learned, Timed

SIDE = 820
"""Pixels: side of the square field; both axes have one scale, so that a true estimate lies on its diagonal."""

BEFORE, AFTER, ODD = "#b08d57", "#27566b", "#9c2f24"
"""Old brass before, river blue after, red lead for what was interrupted: told apart by form as well."""

FIELD, BAND = "#fffdf8", "#e3ded2"
"""The square, and in it where nine of ten runs should fall."""

DOT = 8
"""Pixels: radius of a mark; a lid's run is one mark."""

TICKS = (1, 2, 5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 300, 600, 900, 1800, 2700, 3600, 7200, 18000, 36000, 86400)
"""Seconds that a clock's face knows."""

LEAST_GAP = 64
"""Pixels between two figures on an axis: what 'four signs' need."""

Scale = Callable[[float], float]


TEMPLATE = "times.typ"


def timing_png(learned: Learned, shop_name: str = "") -> bytes:
    """Return the picture as PNG: a hollow mark a run as reckoned before, a full one as reckoned now."""
    (png,) = own_typesetter().pages(TEMPLATE, _told(learned, shop_name), {}, dpi=72)
    return in_few_colours(png)


def _told(learned: Learned, shop_name: str) -> dict[str, Any]:
    """Return what the picture's template is told, lengths in pixels from the field's lower left corner."""
    low, high = _span(learned)

    def along(seconds: float) -> float:
        return SIDE * math.log(seconds / low) / math.log(high / low)

    before, after = (f"{100 * e:.1f} %" for e in (learned.error_before, learned.error_after))
    share = f"nine of ten runs should lie within {100 * learned.machine.scatter:.0f} %"
    return {
        "width": WIDE,
        "edge": EDGE,
        "side": SIDE,
        "dot": DOT,
        "title": f"{learned.machine.title}: estimated and real",
        "shop": shop_name,
        "off": f"{count(len(learned.points), 'run')}; half of the estimates were more than {before} off, and now {after}",
        "across": "as timed beside the machine",
        "up": "as estimated",
        "inks": {"before": BEFORE, "after": AFTER, "odd": ODD, "field": FIELD, "band": BAND},
        "band": along(low * math.exp(math.log1p(learned.machine.scatter))),
        "ticks": [{"at": at, "says": duration(seconds)} for seconds, at in _ticks(low, high, along)],
        "runs": [_run(p, along) for p in learned.points],
        "key": {"before": "before", "after": "now", "odd": "now, but taken for interrupted", "band": share},
    }


def _run(point: Timed, along: Scale) -> dict[str, Any]:
    """Return where a run stands in the field; an odd one with its name."""
    x, before, after = (along(s) for s in (point.real, point.before, point.after))
    return {"x": x, "before": before, "after": after, "odd": point.log.name if point.outlier else ""}


def _span(learned: Learned) -> tuple[float, float]:
    """Return the seconds at the ends of both axes: all that is drawn, and a little room."""
    every = [s for p in learned.points for s in (p.real, p.before, p.after)]
    low, high = min(every), max(every)
    room = max(1.15, (high / low) ** 0.06)
    return low / room, high * room


def _ticks(low: float, high: float, along: Scale) -> Iterator[tuple[float, float]]:
    """Yield (seconds, pixels) that are told on an axis."""
    last = -LEAST_GAP * 1.0
    for seconds in TICKS:
        if low <= seconds <= high and along(seconds) - last >= LEAST_GAP:
            last = along(seconds)
            yield seconds, last
