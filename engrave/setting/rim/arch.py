"""A name in an arch over straight lines, or over an ornament: on a curve of its own, whatever the lid's outline."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString, Point

from engrave.setting.compose.containment import ink_of, is_inside
from engrave.setting.compose.size_rules import greatest_cap
from engrave.setting.lettering import Lettering, Mark
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.rim.rim_bands import RimBand, RimGround, rim_band
from engrave.setting.rim.rim_layout import RIM_STEP, RIM_TRIES, bands_laid
from engrave.setting.text.fields import ShapedField
from engrave.tasks import Task

SWEEP = 1.45
"""Radians that a name takes of its arch, as far as the radius may follow it: 83 degrees read upright (our eye)."""

LETTER_TURN = 0.3
"""Radians that each letter adds to that at most: 17 degrees, or a short name fans out (our eye, no source)."""

LEAST_RADIUS, GREATEST_RADIUS = 0.34, 1.5
"""Radii of an arch over the room's width: tighter, a short name fans out; wider, it is a straight line."""

ARCH_SHARE = 0.36
"""Share of the whole circle that a name may take: 130 degrees."""

DROPS = (0.0, 0.08, 0.16, 0.24, 0.32)
"""Shares of the room's height by which an arch stands below the room's top, tried one after the other: on a round lid its
ends would else stand outside."""

ENDING_WITHIN = 0.6
"""Caps within which an ornament below a name belongs to it: what a knob keeps further off is left out."""

RISE_SHARES = (1.0, 0.8, 0.6, 0.4, 0.2)
"""Shares of the way to where the block would be in the middle, tried one after the other."""


def in_an_arch(
    task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], empty: Lettering, cap: float | None,
    spare: ShapedField | None,
) -> Lettering | None:  # fmt: skip
    """Return the first field in an arch over the others (over `spare` where there are none) as large as they go.

    cap: at just this size in mm. None if they do not go.
    """
    band = rim_band(fields[0])
    if band is None:
        return None
    below = list(fields[1:]) or ([spare] if spare is not None else [])
    size = cap or greatest_cap(frame, task.setting)
    for _ in range(1 if cap else RIM_TRIES):
        for drop in DROPS:
            over = _circle(frame, band, size, drop)
            bands = [(band, ARCH_SHARE, True)]
            alone = over and bands_laid(task, frame, bands, [], over, size, empty, exact=True)
            if over is None or alone is None:  # before anything is sought for the lines below it
                continue
            laid = bands_laid(task, frame, bands, below, over, size, empty, exact=True) if below else alone
            laid = laid and _closed_up(task, frame, laid)
            if laid and below == [spare] and _away(laid, frame) > ENDING_WITHIN * laid.cap_mm:
                laid = alone
            if laid:
                return _in_the_middle(task, frame, laid)
        size *= RIM_STEP
    return None


def _circle(frame: ReadingFrame, band: RimBand, size: float, drop: float) -> RimGround | None:
    """Return the circle inside whose top a name is bent; drop: share of the room's height that it stands below its top."""
    low, bottom, high, top = frame.room.bounds
    axis = frame.axis if frame.axis is not None else (low + high) / 2
    crossing = LineString([(axis, bottom - 1), (axis, top + 1)]).intersection(frame.room)
    if crossing.is_empty:
        return None
    wide = high - low
    radius = band.width * size / min(SWEEP, LETTER_TURN * len(band.letters)) + band.top * size
    radius = min(max(radius, LEAST_RADIUS * wide), GREATEST_RADIUS * wide)
    middle = Point(axis, crossing.bounds[3] - drop * (top - bottom) - radius)
    return RimGround(middle.buffer(radius, quad_segs=48), spread=0.0)


def _closed_up(task: Task, frame: ReadingFrame, laid: Lettering) -> Lettering:
    """Return what stands below raised until the setting's gap of wood is left between it and the arch."""
    arch = [m for m in laid.marks if m.line == 0]
    below = [m for m in laid.marks if m.line != 0]
    if not below:
        return laid
    smaller = min([line.cap_mm for line in laid.lines[1:]] or [laid.cap_mm * task.setting.message_ratio])
    free = shapely.distance(_ink(arch, frame), _ink(below, frame)) - task.setting.field_gap * smaller
    return _raised(laid, frame, free, {id(m) for m in below}) if free > 0 else laid


def _away(laid: Lettering, frame: ReadingFrame) -> float:
    """Return how far what stands below is from the arch, in mm."""
    arch, below = ([m for m in laid.marks if (m.line == 0) is first] for first in (True, False))
    return float(shapely.distance(_ink(arch, frame), _ink(below, frame)))


def _in_the_middle(task: Task, frame: ReadingFrame, laid: Lettering) -> Lettering:
    _, low, _, high = _ink(laid.marks, frame).bounds
    wish = frame.middle + (0.0 if task.area.border else task.setting.optical * frame.height)
    return _raised(laid, frame, wish - (low + high) / 2, {id(m) for m in laid.marks})


def _raised(laid: Lettering, frame: ReadingFrame, by: float, which: set[int]) -> Lettering:
    """Return the lettering with some of its marks raised as far as they stay inside."""
    for share in RISE_SHARES:
        _, _, c, d, _, _ = frame.to_area
        dx, dy = c * by * share, d * by * share
        moved = tuple(
            replace(m, matrix=(*m.matrix[:4], m.matrix[4] + dx, m.matrix[5] + dy)) if id(m) in which else m
            for m in laid.marks
        )
        lines = {m.line for m in laid.marks if id(m) in which}
        found = replace(
            laid,
            marks=moved,
            lines=tuple(
                replace(line, baseline=line.baseline - by * share) if k in lines and line.baseline else line
                for k, line in enumerate(laid.lines)
            ),
        )
        if is_inside(found, frame):
            return found
    return laid


def _ink(marks: Sequence[Mark], frame: ReadingFrame) -> shapely.Geometry:
    lines = [line for mark in marks for line in ink_of(mark, frame)]
    index = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return shapely.multilinestrings(shapely.linestrings(np.concatenate(lines), indices=index))
