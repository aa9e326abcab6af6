"""Why words come out at the size they do: what touches what, and which breaks would have been next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Literal

import numpy as np
import shapely

from engrave.geometry.regions import region
from engrave.setting.composing import Composed, compose
from engrave.setting.frames import Place, placed
from engrave.setting.inside import ink
from engrave.setting.lettering import Lettering
from engrave.setting.passes import Break
from engrave.setting.place import SEARCHED, leasts, place
from engrave.setting.taste import greatest_cap
from engrave.setting.voices import Voice, voices
from engrave.tasks import Task
from engrave.typefaces import Shelf

Limit = Literal["room", "greatest", "nothing set"]

NEAR = 0.15
"""mm: letters no farther from the room's border than this count as touching it; the nearest always does."""

AT_GREATEST = 0.999
"""Share of the greatest cap height from which that is the limit."""

RUNNERS_UP = 3
"""Breaks named beside the one chosen: more would be a list to study."""

SIZES = (0.97, 0.92, 0.86, 0.78)
"""Shares of the chosen size at which other breaks are sought."""

SOUGHT = 40
"""Breaks looked at there."""


@dataclass(frozen=True, slots=True)
class Touch:
    """A letter at a border of the room. what: 'edge', or what the keep-out is. x, y: mm in the area's frame, where."""

    letter: str
    line: str
    what: str
    x: float
    y: float
    gap: float


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """Another way to break the words, and the cap height in mm that it would have."""

    lines: tuple[str, ...]
    cap_mm: float


@dataclass(frozen=True, slots=True)
class Why:
    """What limits the size: the room (then `touches` says where) or the setting's greatest. says: in a sentence."""

    cap_mm: float
    greatest_mm: float
    limit: Limit
    touches: tuple[Touch, ...]
    runners_up: tuple[RunnerUp, ...]
    says: str


def why(task: Task, shelf: Shelf) -> Why:
    """Return what limits the size of a task's words, and the runner-up breaks."""
    laid = place(task, shelf)
    spoken, _ = voices(task, shelf)
    groove = laid.groove
    where = placed(task.area, task.tool.machine, task.tool.cutter, groove)
    greatest = greatest_cap(where, task.setting)
    if not laid.marks:
        says = " ".join(p.says for p in laid.problems if p.level == "hold") or "There are no words to set."
        return Why(0.0, greatest, "nothing set", (), (), says)
    touches = _touches(task, where, laid)
    others = _runners_up(task, where, spoken, laid) if laid.lines[0].baseline else ()
    limit: Limit = "greatest" if laid.cap_mm >= AT_GREATEST * greatest else "room"
    return Why(laid.cap_mm, greatest, limit, touches, others, _sentence(task, laid, limit, touches, greatest))


def _touches(task: Task, where: Place, laid: Lettering) -> tuple[Touch, ...]:
    """Return the letters nearest to the room's borders, nearest first: one for each letter and border."""
    border = where.room.boundary
    found: list[Touch] = []
    for mark in laid.marks:
        lines = ink(mark, where)
        if not lines:
            continue
        drawn = shapely.multilinestrings([shapely.linestrings(line) for line in lines])
        here, there = shapely.get_coordinates(shapely.shortest_line(drawn, border))
        x, y = _on_area(where, there)
        line = laid.lines[mark.line].text
        found.append(Touch(mark.text, line, _what(task, x, y), x, y, float(np.hypot(*(here - there)))))
    if not found:
        return ()
    reach = max(min(t.gap for t in found) + 1e-6, NEAR)
    return tuple(sorted((t for t in found if t.gap <= reach), key=lambda t: (t.gap, t.x, t.y)))


def _on_area(where: Place, p: np.ndarray) -> tuple[float, float]:
    a, b, c, d, e, f = where.to_area
    return (float(a * p[0] + c * p[1] + e), float(b * p[0] + d * p[1] + f))


def _what(task: Task, x: float, y: float) -> str:
    """Return what stands behind a border of the room at a place: the nearest of the lid's edge and its keep-outs."""
    at = shapely.Point(x, y)
    outline = region(task.area.outline).boundary
    near = [(float(region(k.outline).distance(at)) - k.clearance, k.why) for k in task.area.keep_outs]
    margin = (task.area.margin or 0.0) + task.area.edge
    return min([(float(outline.distance(at)) - margin, "edge"), *near])[1]


def _runners_up(task: Task, where: Place, spoken: tuple[Voice, ...], laid: Lettering) -> tuple[RunnerUp, ...]:
    greatest = greatest_cap(where, task.setting)
    least = SEARCHED * min(m / v.ratio for v, m in zip(spoken, leasts(task, spoken), strict=True))
    composed = compose(where, spoken, task.setting, greatest, min(least, greatest), task.area.border)
    if composed is None:
        return ()
    own = tuple(line.text for line in laid.lines)
    sizes: dict[tuple[str, ...], float] = {}
    search = composed.search
    for share in SIZES:
        size = composed.size * share
        for other in islice(search.breaks_at(size), SOUGHT):
            lines = _texts(composed, other)
            if lines != own and lines not in sizes:
                sizes[lines] = search.raised(other, size, greatest)
        if len(sizes) >= RUNNERS_UP:
            break
    ranked = sorted(sizes.items(), key=lambda p: (-p[1], p[0]))
    return tuple(RunnerUp(lines, size) for lines, size in ranked[:RUNNERS_UP])


def _texts(composed: Composed, of: Break) -> tuple[str, ...]:
    layout = composed.search.layout
    out = []
    for n in of.lines:
        i, j = layout.ends[n]
        before = sum(len(v.words) for v in composed.voices[: layout.field_of[i]])
        out.append(composed.voices[layout.field_of[i]].line(i - before, j - before)[0])
    return tuple(out)


def _sentence(task: Task, laid: Lettering, limit: Limit, touches: Sequence[Touch], greatest: float) -> str:
    size = f"Capitals are {laid.cap_mm:.1f} mm high"
    if limit == "greatest":
        return f"{size}, the greatest that the setting '{task.setting.id}' allows on this lid ({greatest:.1f} mm)."
    named = list(dict.fromkeys(f"the '{t.letter}' of '{t.line}' and the {t.what}" for t in touches))
    return f"{size}; larger, these would come too near each other: {'; '.join(named[:4])}."
