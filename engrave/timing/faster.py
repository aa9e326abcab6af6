"""What to change in a recipe so that the piece takes clearly less time."""

from __future__ import annotations

from dataclasses import replace

from engrave.problems import Problem
from engrave.setting.lettering import Lettering
from engrave.shop.grooves import mark_of
from engrave.tasks import Tool
from engrave.timing.course import seconds_by_part
from engrave.timing.job import Job
from engrave.timing.motion import limits_of
from engrave.timing.plans import plan_piece, raster_rows, sweep_of
from engrave.timing.raster import Sweep, raster_course

WORTH = 0.10
"""Share of a piece's seconds that a change must save before it is worth a sentence."""

SLOWER = (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)
"""Shares of the raster speed that are tried, each with no more run-out than it needs."""


def faster(lettering: Lettering, tool: Tool, job: Job) -> tuple[Problem, ...]:
    """Return notes on changes that would each save more than a tenth of the job's seconds, greatest first."""
    found: list[Problem | None] = []
    if not job.pen_downs:
        return ()
    if tool.method == "raster":
        found += [_slower_raster(lettering, tool, job), _coarser_rows(lettering, tool, job)]
    elif tool.recipe.by == "pass" and job.passes > 1:
        found.append(_by_stroke(lettering, tool, job))
    notes = [note for note in found if note is not None]
    return tuple(sorted(notes, key=lambda n: float(n.value or 0.0)))


def _seconds(lettering: Lettering, tool: Tool) -> float:
    """Return the seconds with another recipe."""
    course = plan_piece(lettering, tool).course
    planned = sum(seconds_by_part([course], limits_of(tool.machine))[0].values())
    fixed = tool.machine.fixed_s if course.starts else 0.0
    return tool.machine.scale * (planned + course.starts * tool.machine.stroke_s + fixed)


def _note(code: str, says: str, seconds: float, job: Job) -> Problem | None:
    if seconds > (1.0 - WORTH) * job.seconds:
        return None
    share = 100.0 * (1.0 - seconds / job.seconds)
    return Problem(
        code,
        "note",
        f"{says}: {seconds:.0f} s instead of {job.seconds:.0f} s ({share:.0f} % less).",
        value=round(seconds, 1),
        limit=round(job.seconds, 1),
    )


def _slower_raster(lettering: Lettering, tool: Tool, job: Job) -> Problem | None:
    """Try lower speeds: a head needs v^2 / 2a of run-out to reach v, so the fast sweep is also the long one."""
    limits = limits_of(tool.machine)
    rows = raster_rows(job.strokes, lettering, tool.recipe.row_pitch)
    speeds = [share * tool.recipe.feed for share in (1.0, *SLOWER)]
    sweeps = [_at_speed(sweep_of(tool), speed, limits.amax[0]) for speed in speeds]
    start = (float(rows.spans[0, 1]), float(rows.y[0])) if len(rows.spans) else (0.0, 0.0)
    courses = [raster_course(rows, s, start, tool.machine.return_home, job.passes) for s in (sweep_of(tool), *sweeps)]
    now, *others = [tool.machine.scale * sum(parts.values()) for parts in seconds_by_part(courses, limits)]
    best, sweep = min(zip(others, sweeps, strict=True), key=lambda it: it[0])
    slower = "A slower sweep" if sweep.speed < tool.recipe.feed else "A shorter run-out"
    says = f"{slower} would be faster, {sweep.speed:.0f} mm/s with {sweep.run_out:.1f} mm of run-out"
    return _note("slower-raster", says + " (set the beam's power anew on scrap)", job.seconds - now + best, job)


def _at_speed(sweep: Sweep, speed: float, push: float) -> Sweep:
    return replace(sweep, speed=speed, run_out=min(sweep.run_out, speed * speed / (2.0 * push)))


def _coarser_rows(lettering: Lettering, tool: Tool, job: Job) -> Problem | None:
    """Try rows as far apart as the mark is wide: wider ones would leave wood standing between them."""
    mark = mark_of(tool.cutter, tool.recipe)[1] or tool.diameter
    if mark <= tool.recipe.row_pitch:
        return None
    other = replace(tool, recipe=replace(tool.recipe, row_pitch=mark))
    says = f"Rows {mark:.2f} mm apart, as wide as the beam's mark, would be faster (try the look on scrap)"
    return _note("coarser-rows", says, _seconds(lettering, other), job)


def _by_stroke(lettering: Lettering, tool: Tool, job: Job) -> Problem | None:
    other = replace(tool, recipe=replace(tool.recipe, by="stroke"))
    says = "Cutting each stroke to its full depth before the next (by = 'stroke') would be faster"
    return _note("by-stroke", says, _seconds(lettering, other), job)
