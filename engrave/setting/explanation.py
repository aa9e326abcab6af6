"""Why words come out at the size they do: what touches what, and which breaks would have been next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import region
from engrave.setting.compose.containment import ink_of
from engrave.setting.compose.lay import lines_of
from engrave.setting.compose.size_rules import greatest_cap
from engrave.setting.compose.standing import Composition, stood
from engrave.setting.fit.line_breaking import Break
from engrave.setting.fit.solver import SizeSearch
from engrave.setting.lettering import NO_LINE, Lettering, Mark
from engrave.setting.ornament.artwork_laid import is_artwork
from engrave.setting.placing import placement
from engrave.setting.reading_frame import ReadingFrame, frame_of
from engrave.shop import flat
from engrave.tasks import Task
from engrave.typefaces import Shelf

Limiting = Literal["room", "greatest", "looks", "nothing set"]

TOUCH_GAP = 0.15
"""mm: letters no farther from the room's border than this count as touching it; the nearest always does."""

SAME_BORDER = 0.02
"""mm: a place of the words' room that lies no farther from the border of the lid's room is on it."""

GREATEST_SHARE = 0.999
"""Share of the greatest cap height from which that is the limit."""

SEEN_GAIN = 1.01
"""How much larger words could be before that needs an explanation: a hundredth is not seen."""

RUNNERS_NAMED = 3
"""Breaks named beside the one chosen: more would be a list to study."""

RUNNER_SHARES = (0.97, 0.92, 0.86, 0.78)
"""Shares of the chosen size at which other breaks are sought."""

RUNNERS_SOUGHT = 40
"""Breaks looked at there."""


@dataclass(frozen=True, slots=True)
class Touch:
    """A letter, or an ornament among the words, at a border of their room. mark: its place in the marks.

    line: '' for an ornament, whose letter is what it is called. what: 'edge', 'frame', 'drawing', or what the keep-out is.
    x, y: where, mm in the area's frame; gap: mm of air there.
    """

    letter: str
    line: str
    what: str
    x: float
    y: float
    gap: float
    mark: int

    @property
    def named(self) -> str:
        """Return what touches, as it is told."""
        return f"the '{self.letter}' of '{self.line}'" if self.line else self.letter


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """Another way to break the words, and the cap height in mm that it would have. marks: its letters on the lid."""

    lines: tuple[str, ...]
    cap_mm: float
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Why:
    """What limits the size, and `says` so in a sentence.

    limit: the room (then `touches` says where), the setting's greatest, or looks: words that could be larger would
    stand out of the middle, or break less evenly; 'nothing set' where no words stand.
    """

    cap_mm: float
    limit: Limiting
    touches: tuple[Touch, ...]
    runners_up: tuple[RunnerUp, ...]
    says: str


def explain(task: Task, shelf: Shelf) -> Why:
    """Return what limits the size of a task's words, and the runner-up breaks."""
    placed = placement(task, shelf)
    laid, frame, composed = placed.lettering, placed.frame, placed.composition
    if frame is None or not laid.lines:
        nothing = "A drawing stands here without words." if laid.marks else "There are no words to set."
        says = " ".join(p.says for p in laid.problems if p.level == "hold") or nothing
        return Why(0.0, "nothing set", (), (), says)
    greatest = greatest_cap(frame, task.setting)
    touches = _touches(task, shelf, frame, laid)
    free = _unheld(frame, composed) if composed else None
    others = _runners_up(task, frame, free, laid, greatest) if free else ()
    could = _could_be(free, greatest) if free else laid.cap_mm
    limit: Limiting = "greatest" if laid.cap_mm >= GREATEST_SHARE * greatest else "room"
    if limit == "room" and could > laid.cap_mm * SEEN_GAIN and (not touches or touches[0].gap > TOUCH_GAP):
        limit = "looks"
    return Why(laid.cap_mm, limit, touches, others, _sentence(task, laid, limit, touches, greatest, could))


def _unheld(frame: ReadingFrame, composed: Composition) -> Composition:
    """Return a composition whose search may end lines anywhere, to tell what else there would have been."""
    of = composed.search
    return replace(composed, search=SizeSearch(frame.solving, replace(of.stack, hold=0), of.axis, True, of.least))


def _could_be(composed: Composition, greatest: float) -> float:
    """Return the cap height in mm that the words would have if looks counted for nothing."""
    found = composed.search.best(greatest, composed.size)
    return (found[1] if found else composed.size) * composed.fields[0].ratio


def _touches(task: Task, shelf: Shelf, frame: ReadingFrame, laid: Lettering) -> tuple[Touch, ...]:
    """Return the letters nearest to the room's borders, nearest first: one for each letter and border."""
    border = frame.room.boundary
    among, around = _drawn(frame, laid)
    whole = frame_of(task.area, task.tool.machine, task.tool.cutter, laid.groove, shelf.cache) or frame
    found: list[Touch] = []
    for number, drawn in among:
        mark = laid.marks[number]
        here, there = shapely.get_coordinates(shapely.shortest_line(drawn, border))
        x, y = _on_area(frame, there)
        line = "" if mark.line == NO_LINE else laid.lines[mark.line].text
        what = _around(there, around, whole) or _what(task, x, y)
        found.append(Touch(mark.text, line, what, x, y, float(np.hypot(*(here - there))), number))
    if not found:
        return ()
    reach = max(min(t.gap for t in found) + 1e-6, TOUCH_GAP)
    return tuple(sorted((t for t in found if t.gap <= reach), key=lambda t: (t.gap, t.x, t.y)))


def _drawn(
    frame: ReadingFrame, laid: Lettering
) -> tuple[list[tuple[int, BaseGeometry]], list[tuple[str, BaseGeometry]]]:
    """Return what stands in the words' room by its place in the marks, and what stands around it by its name."""
    among, around = [], []
    for number, mark in enumerate(laid.marks):
        lines = ink_of(mark, frame)
        if not lines:
            continue
        drawn = shapely.multilinestrings([shapely.linestrings(line) for line in lines])
        if mark.line == NO_LINE and frame.room.disjoint(drawn):
            around.append(("drawing" if is_artwork(mark) else "frame", drawn))
        else:
            among.append((number, drawn))
    return among, around


def _around(at: np.ndarray, around: Sequence[tuple[str, BaseGeometry]], whole: ReadingFrame) -> str:
    """Return what bounds the words at a place of their room's border; '' where it is the border of the lid's room."""
    place = shapely.Point(at)
    if not around or whole.room.boundary.distance(place) <= SAME_BORDER:
        return ""
    return min((float(drawn.distance(place)), name) for name, drawn in around)[1]


def _on_area(frame: ReadingFrame, p: np.ndarray) -> tuple[float, float]:
    a, b, c, d, e, f = frame.to_area
    return (float(a * p[0] + c * p[1] + e), float(b * p[0] + d * p[1] + f))


def _what(task: Task, x: float, y: float) -> str:
    """Return what stands behind a border of the room at a place: the nearest of the lid's edge and its keep-outs."""
    at = shapely.Point(x, y)
    outline = region(task.area.outline).boundary
    near = [(float(region(k.outline).distance(at)) - k.clearance, k.why) for k in task.area.keep_outs]
    margin = (task.area.margin or 0.0) + task.area.edge
    if any(task.area.edge_sides):
        outline, margin = flat(task.area).boundary, task.area.margin or 0.0
    return min([(float(outline.distance(at)) - margin, "edge"), *near])[1]


def _runners_up(
    task: Task, frame: ReadingFrame, composed: Composition, laid: Lettering, greatest: float
) -> tuple[RunnerUp, ...]:
    own = tuple(line.text for line in laid.lines)
    sizes: dict[tuple[str, ...], tuple[float, Break]] = {}
    search = composed.search
    for share in RUNNER_SHARES:
        size = composed.size * share
        for other in islice(search.breaks_at(size), RUNNERS_SOUGHT):
            lines = _texts(composed, other)
            if lines != own and lines not in sizes:
                sizes[lines] = search.raised(other, size, greatest), other
        if len(sizes) >= RUNNERS_NAMED:
            break
    ranked = sorted(sizes.items(), key=lambda p: (-p[1][0], p[0]))
    return tuple(
        RunnerUp(lines, size, _marks(task, frame, composed, other, size))
        for lines, (size, other) in ranked[:RUNNERS_NAMED]
    )


def _marks(task: Task, frame: ReadingFrame, composed: Composition, of: Break, size: float) -> tuple[Mark, ...]:
    """Return another break's letters laid on the lid, with the pitch of the one chosen."""
    border = task.area.border
    other = stood(frame, composed.fields, task.setting, composed.search, of, size, border=border)
    return tuple(mark for _, marks in lines_of(frame, other, size) for mark in marks)


def _texts(composed: Composition, of: Break) -> tuple[str, ...]:
    layout = composed.search.layout
    out = []
    for n in of.lines:
        i, j = layout.ends[n]
        before = sum(len(v.words) for v in composed.fields[: layout.field_of[i]])
        out.append(composed.fields[layout.field_of[i]].line(i - before, j - before)[0])
    return tuple(text for text in out if text)  # an ornament's line has none


def _sentence(
    task: Task, laid: Lettering, limit: Limiting, touches: Sequence[Touch], greatest: float, could: float
) -> str:
    size = f"{laid.size_is_of.capitalize()} are {laid.cap_mm:.1f} mm high"
    if limit == "greatest":
        return f"{size}, the greatest that the setting '{task.setting.id}' allows on this lid ({greatest:.1f} mm)."
    if limit == "looks":
        calm = (
            "without the air that the setting keeps (lettering_size 'large' takes it), "
            if task.setting.fill < 1
            else ""
        )
        return f"{size}; they could be {could:.1f} mm, but {calm}out of the lid's middle, broken less evenly or parting words that belong together."
    named = list(dict.fromkeys(f"{t.named} and the {t.what}" for t in touches))
    return f"{size}; larger, these would come too near each other: {'; '.join(named[:4])}."
