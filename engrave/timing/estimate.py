"""What the clock says of one piece."""

from __future__ import annotations

from dataclasses import dataclass, field

from engrave.geometry.paths import Path
from engrave.problems import Problem


@dataclass(frozen=True, slots=True)
class Job:
    """A piece's run on its machine. Seconds.

    strokes: the lettering's contours in the order and direction in which they are cut (area's frame, mm): exactly
    what the SVG holds. parts: seconds by what they are spent on ('cut', 'travel', 'plunge', 'lift', 'turn',
    'spin-up', 'dwell', 'beam', 'starts', 'fixed'), those that took any, summing to `seconds`. seconds_range: where nine of ten real runs should fall.
    naive_seconds: length over feed, for comparison. air_saved: seconds saved by joining and
    ordering strokes, against the typeface's own. facts: 'rows', 'marked_mm' (raster); 'rings', 'left_mm2', 'area_mm2'
    (pocket: what stays standing of the letters, their area); 'deepest_mm' (vee).
    """

    strokes: Path
    seconds: float
    seconds_range: tuple[float, float]
    parts: tuple[tuple[str, float], ...]
    passes: int
    cut_mm: float
    travel_mm: float
    pen_downs: int
    naive_seconds: float
    air_saved: float
    problems: tuple[Problem, ...] = ()
    facts: tuple[tuple[str, float], ...] = field(default=())
