"""What to change in a recipe so that the piece takes clearly less time."""

from __future__ import annotations

import math
from dataclasses import replace

from engrave.cache import Cache
from engrave.findings import FindingCode
from engrave.motion.machine_limits import limits_of
from engrave.problems import Problem
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.timing.estimate import Estimate, seconds_by_part, with_losses
from engrave.toolpath.methods import toolpath_of
from engrave.toolpath.moves import Course, Toolpath
from engrave.toolpath.raster import Sweep, raster_course, raster_rings, rows_of, sweep_of
from engrave.units import duration

WORTH_SAVING = 0.10
"""Share of a piece's seconds that a change must save before it is worth a sentence."""

ROW_OVERLAP = 0.8
"""Greatest row pitch over the width of the beam's mark: rows that overlap by a fifth leave no ridges between them
(common practice, no source)."""

SLOWER_SHARES = (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)
"""Shares of the raster speed that are tried, each with no more run-out than it needs."""


def suggest(
    lettering: Lettering, tool: Tool, toolpath: Toolpath, estimate: Estimate, cache: Cache | None = None
) -> tuple[Problem, ...]:
    """Return notes on changes that would each save more than a tenth of a piece's seconds, greatest first."""
    found: list[Problem | None] = []
    if not toolpath.course.starts:
        return ()
    if tool.method == "raster":
        found += _faster_raster(lettering, tool, toolpath, estimate)
    elif tool.recipe.by == "pass" and toolpath.passes > 1:
        found.append(_by_stroke(lettering, tool, estimate, cache))
    notes = [note for note in found if note is not None]
    return tuple(sorted(notes, key=lambda n: float(n.value or 0.0)))


def saving_note(code: FindingCode, says: str, seconds: float, now: Estimate, least: float = 0.0) -> Problem | None:
    """Return the note that a change would save time; None where it saves a tenth or less, or fewer seconds than `least`."""
    if seconds > (1.0 - WORTH_SAVING) * now.seconds or now.seconds - seconds < least:
        return None
    share = 100.0 * (1.0 - seconds / now.seconds)
    told_of = f"{says}: {duration(seconds)} instead of {duration(now.seconds)} ({share:.0f} % less)."
    return Problem(code, "note", told_of, value=round(seconds, 1), limit=round(now.seconds, 1))


def _faster_raster(lettering: Lettering, tool: Tool, toolpath: Toolpath, now: Estimate) -> list[Problem | None]:
    """Try lower speeds and coarser rows, all planned at once.

    A head needs v^2 / 2a of run-out to reach v, so the fast sweep is also the long one. Rows come no further apart
    than `ROW_OVERLAP` of the mark's width.
    """
    limits = limits_of(tool.machine)
    rings, passes = raster_rings(toolpath.drawn, lettering), toolpath.passes
    sweep = sweep_of(tool)
    sweeps = [_at_speed(sweep, share * sweep.speed, limits.amax[0]) for share in (1.0, *SLOWER_SHARES)]
    pitch = max(ROW_OVERLAP * (tool.cutter.mark(tool.recipe)[1] or tool.diameter), tool.recipe.row_pitch)
    rows, coarse = rows_of(rings, tool.recipe.row_pitch), rows_of(rings, pitch)
    start, home = (float(rows.spans[0, 1]), float(rows.y[0])), tool.machine.return_home
    courses = [raster_course(rows, s, start, home, passes) for s in (sweep, *sweeps)]
    courses.append(raster_course(coarse, sweep, start, home, passes))
    planned = [_whole(c, parts, tool) for c, parts in zip(courses, seconds_by_part(courses, limits), strict=True)]
    saved = [planned[0] - seconds for seconds in planned[1:]]
    best, slower = max(zip(saved, sweeps, strict=False), key=lambda it: it[0])
    return [_slower_note(slower, best, tool, now), _coarser_note(pitch, saved[-1], now)]


def _at_speed(sweep: Sweep, speed: float, push: float) -> Sweep:
    return replace(sweep, speed=speed, run_out=min(sweep.run_out, speed * speed / (2.0 * push)))


def _slower_note(sweep: Sweep, saved: float, tool: Tool, now: Estimate) -> Problem | None:
    slower = "A slower sweep" if sweep.speed < tool.recipe.feed else "A shorter run-out"
    says = f"{slower} would be faster, {sweep.speed:.0f} mm/s with {sweep.run_out:.1f} mm of run-out"
    return saving_note("slower-raster", says + " (set the beam's power anew on scrap)", now.seconds - saved, now)


def _coarser_note(pitch: float, saved: float, now: Estimate) -> Problem | None:
    says = f"Rows {pitch:.2f} mm apart, which still overlap by a fifth, would be faster (try the look on scrap)"
    return saving_note("coarser-rows", says, now.seconds - saved, now)


def _by_stroke(lettering: Lettering, tool: Tool, now: Estimate, cache: Cache | None) -> Problem | None:
    other = replace(tool, recipe=replace(tool.recipe, by="stroke"))
    course = toolpath_of(lettering, other, cache).course
    seconds = _whole(course, seconds_by_part([course], limits_of(tool.machine))[0], tool)
    says = "Cutting each stroke to its full depth before the next (by = 'stroke') would be faster"
    return saving_note("by-stroke", says, seconds, now)


def _whole(course: Course, parts: dict[str, float], tool: Tool) -> float:
    return math.fsum(seconds for _, seconds in with_losses(course, parts, tool.machine))
