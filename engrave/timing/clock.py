"""How long a piece takes on its machine: from a lettering and a tool to a `Job`.

The course follows exactly the chords that the file's curves flatten to, in the order in which the file holds them.
Where the file holds outlines and the machine's own program makes the moves (raster, pocket, vee), the course is a
typical one and the range is wider.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from engrave.motion.planner import Floats, limits_of
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.timing.estimate import Job
from engrave.timing.suggestions import faster
from engrave.toolpath.methods import drawn_course, plan_piece
from engrave.toolpath.moves import seconds_by_part, told
from engrave.toolpath.vee import vee

OWN_PLAN = {"follow": 0.0, "raster": 0.10, "pocket": 0.30, "vee": 0.30}
"""Share of the seconds by which the plan of the machine's own program may differ from ours, nine times of ten: none
where it follows our lines; raster rows leave it little choice but run-out and trimming; pockets and vee-cuts are
planned from the outlines in many ways. Common practice, no source: nobody has timed them against ours."""


def clock(lettering: Lettering, tool: Tool, vee_paths: Sequence[Floats] | None = None) -> Job:
    """Return a piece's job: its strokes in cutting order, the seconds by part, and what would be faster.

    vee_paths: the centre lines of a vee-cut as (n, 3) polylines, z below the face; worked out here if None.
    """
    if tool.method == "vee" and vee_paths is None:
        vee_paths = vee(lettering, tool)
    job = time_only(lettering, tool, vee_paths)
    return replace(job, problems=(*job.problems, *faster(lettering, tool, job, vee_paths)))


def time_only(lettering: Lettering, tool: Tool, vee_paths: Sequence[Floats] | None = None) -> Job:
    """Return a piece's job without advice."""
    limits = limits_of(tool.machine)
    plan = plan_piece(lettering, tool, vee_paths)
    drawn = drawn_course(lettering, tool) if tool.method == "follow" else None
    courses = [plan.course] if drawn is None else [plan.course, drawn]
    timed = [told(c, parts, tool.machine) for c, parts in zip(courses, seconds_by_part(courses, limits), strict=True)]
    seconds = math.fsum(s for _, s in timed[0])
    saved = math.fsum(s for _, s in timed[1]) - seconds if drawn is not None else 0.0
    return Job(
        strokes=plan.strokes,
        seconds=seconds,
        seconds_range=seconds_range(seconds, tool),
        parts=timed[0],
        passes=plan.passes,
        cut_mm=plan.course.cut_mm,
        travel_mm=plan.course.travel_mm,
        pen_downs=plan.course.starts,
        naive_seconds=plan.course.cut_mm / tool.recipe.feed,
        air_saved=saved,
        facts=plan.facts,
    )


def seconds_range(seconds: float, tool: Tool) -> tuple[float, float]:
    """Return where nine of ten real runs should fall: the machine's scatter, and wider where its program plans."""
    share = math.hypot(tool.machine.scatter, OWN_PLAN[tool.method])
    return (seconds / (1.0 + share), seconds * (1.0 + share))
