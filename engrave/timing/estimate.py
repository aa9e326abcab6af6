"""How long a toolpath takes on its machine.

The course follows exactly the chords that the file's curves flatten to, in the order in which the file holds them.
Where the file holds outlines and the machine's own program makes the moves (raster, pocket, vee), the course is a
typical one and the range is wider.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engrave.motion.machine_limits import Limits, limits_of
from engrave.motion.planner import PARTS, plan_chains
from engrave.shop.models import Machine
from engrave.tasks import Tool
from engrave.toolpath.follow import course_as_drawn
from engrave.toolpath.moves import Course, Toolpath

OWN_PLAN = {"follow": 0.0, "side-by-side": 0.0, "raster": 0.10, "pocket": 0.30, "vee": 0.30}
"""Share of the seconds by which the plan of the machine's own program may differ from ours, nine times of ten: none
where it follows our lines; raster rows leave it little choice but run-out and trimming; pockets and vee-cuts are
planned from the outlines in many ways. Common practice, no source: nobody has timed them against ours."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """The seconds of a toolpath.

    parts: seconds by what they are spent on ('cut', 'travel', 'plunge', 'lift', 'turn', 'spin-up', 'dwell', 'beam',
    'starts', 'fixed'), those that took any, summing to `seconds`. seconds_range: where nine of ten real runs should
    fall. naive_seconds: length over feed, for comparison. air_saved: seconds saved by joining and ordering strokes,
    against the typeface's own order.
    """

    seconds: float
    seconds_range: tuple[float, float]
    parts: tuple[tuple[str, float], ...]
    naive_seconds: float
    air_saved: float


def estimate_time(toolpath: Toolpath, tool: Tool) -> Estimate:
    """Return how long the tool takes for a toolpath."""
    drawn = course_as_drawn(toolpath.drawn, tool) if tool.method == "follow" else None
    courses = [toolpath.course] if drawn is None else [toolpath.course, drawn]
    planned = seconds_by_part(courses, limits_of(tool.machine))
    timed = [with_losses(c, parts, tool.machine) for c, parts in zip(courses, planned, strict=True)]
    seconds = math.fsum(s for _, s in timed[0])
    saved = math.fsum(s for _, s in timed[1]) - seconds if drawn is not None else 0.0
    return Estimate(
        seconds=seconds,
        seconds_range=seconds_range(seconds, tool),
        parts=timed[0],
        naive_seconds=toolpath.course.cut_mm / tool.recipe.feed,
        air_saved=saved,
    )


def seconds_range(seconds: float, tool: Tool) -> tuple[float, float]:
    """Return where nine of ten real runs should fall: the machine's scatter, and wider where its program plans."""
    share = math.hypot(tool.machine.scatter, OWN_PLAN[tool.method])
    return (seconds / (1.0 + share), seconds * (1.0 + share))


def seconds_by_part(courses: Sequence[Course], limits: Limits) -> list[dict[str, float]]:
    """Plan many courses of one machine at once; seconds by part, extras included, parts without seconds left out."""
    result = []
    for course, planned in zip(courses, plan_chains([c.moves for c in courses], limits), strict=True):
        sums = np.bincount(course.moves.part, weights=planned.seconds, minlength=len(PARTS))
        parts = {name: float(s) for name, s in zip(PARTS, sums, strict=True) if s > 0.0}
        parts.update({name: s for name, s in course.extra if s > 0.0})
        result.append(parts)
    return result


def with_losses(course: Course, parts: dict[str, float], machine: Machine) -> tuple[tuple[str, float], ...]:
    """Return the seconds by part, with what the machine loses at each stroke and once a job, at its learned scale."""
    every = dict(parts)
    every["starts"] = course.starts * machine.stroke_s
    every["fixed"] = machine.fixed_s if course.starts else 0.0
    return tuple((name, machine.scale * s) for name, s in every.items() if s > 0.0)
