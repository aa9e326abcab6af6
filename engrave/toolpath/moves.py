"""Every move of the head through a piece, before it is known how fast the machine can make them.

Frame: the area's x and y in mm, z up with the lid's face at 0. A course is built once and planned as often as needed:
for the estimate, for what would be faster, and when the machine is learned from logged times.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.geometry.paths import Path
from engrave.motion.planner import CUT, LIFT, PARTS, PLUNGE, RAPID, TRAVEL, Moves, chain_through
from engrave.tasks import Tool

Chain = Sequence[Floats]
"""Polylines (n, 3) that are cut one after the other without lifting the bit between them."""


@dataclass(frozen=True, slots=True)
class Course:
    """The head's way and what is spent beside moving.

    moves: all of them in order. extra: seconds by name that no acceleration changes ('spin-up', 'dwell', 'beam').
    starts: how often the cut begins anew
    (pen-downs; sweeps of a raster): what a machine's seconds per stroke are spent on.
    """

    moves: Moves
    starts: int
    extra: tuple[tuple[str, float], ...] = field(default=())

    @property
    def cut_mm(self) -> float:
        """Length in mm that is cut."""
        return self.length_of("cut")

    def length_of(self, part: str) -> float:
        """Return the mm of all moves of one part."""
        return float(self.moves.lengths[self.moves.part == PARTS.index(part)].sum())

    @property
    def extra_seconds(self) -> float:
        """Seconds spent beside moving."""
        return sum(s for _, s in self.extra)


@dataclass(frozen=True, slots=True)
class Toolpath:
    """What is cut of a piece and in which order.

    drawn: the lettering's contours as the typeface gives them, glyph after glyph, overlapping ones united. strokes: the
    same in the order and direction in which they are cut (area's frame, mm): exactly
    what the SVG holds. course: every move of the head along them. passes: how often each place is cut. facts:
    'rows', 'marked_mm' (raster); 'rings', 'area_mm2' (pocket: how many, and the letters' area); 'deepest_mm' (vee); 'lines', 'marked_mm', 'passes_over' (side by side). caps: of each of the strokes, how many mm
    a cap height is there, by which its middle lines were found (vee): no file says so.
    """

    drawn: Path = field(repr=False)
    strokes: Path
    course: Course = field(compare=False)
    passes: int
    facts: tuple[tuple[str, float], ...] = ()
    caps: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class BitFeeds:
    """How a turning bit is led. feed, plunge mm/s; retract, approach mm above the face (approach None: plunge from
    the retract height); dwell_s at the bottom of each plunge; spin_up_s once."""

    feed: float
    plunge: float
    retract: float
    approach: float | None = None
    dwell_s: float = 0.0
    spin_up_s: float = 0.0


def bit_of(tool: Tool) -> BitFeeds:
    """Return how the tool's bit is led."""
    recipe, machine = tool.recipe, tool.machine
    return BitFeeds(recipe.feed, recipe.plunge, machine.retract, machine.approach, recipe.dwell_s, machine.spin_up_s)


class _Trail:
    """Collects points and the part of the move that leads to each."""

    def __init__(self, start: Floats) -> None:
        self._points = [start.reshape(1, 3)]
        self._parts: list[int] = []
        self._many: list[int] = []
        self._stops: list[int] = []
        self._count = 0
        self.at = start

    def go(self, points: Floats, part: int, stop: bool = False) -> None:
        """Move through the points (n, 3); `stop`: to a full stop at the last of them."""
        if len(points):
            self._points.append(points)
            self._parts.append(part)
            self._many.append(len(points))
            self._count += len(points)
            self.at = points[-1]
        if stop and self._count:
            self._stops.append(self._count - 1)

    def moves(self, feeds: Floats) -> Moves:
        """Return the moves; feeds (mm/s) by part."""
        part = np.array(self._parts, dtype=np.uint8).repeat(np.array(self._many, dtype=np.intp))
        stop = np.zeros(self._count, dtype=bool)
        stop[self._stops] = True
        return chain_through(np.concatenate(self._points), feeds[part], part, stop)


def bit_course(chains: Iterable[Chain], bit: BitFeeds, start: tuple[float, float], home: bool) -> Course:
    """Return the course of a bit through chains of polylines (n, 3), z below 0 where it cuts.

    For each chain: across at the retract height, down to the approach height at rapid, down to the depth at the
    plunge feed, cut, up at rapid. Inside a chain a step straight down is a plunge, any other gap a cut.
    """
    trail = _Trail(np.array([*start, bit.retract]))
    plunges = 0
    count = 0
    for chain in chains:
        count += 1
        for i, line in enumerate(chain):
            plunges += _enter(trail, line[0], bit) if i == 0 else _link(trail, line[0], bit)
            trail.go(line[1:], CUT)
        trail.go(np.array([[trail.at[0], trail.at[1], bit.retract]]), LIFT)
    if home:
        trail.go(np.array([[*start, bit.retract]]), TRAVEL)
    feeds = np.array([bit.feed, RAPID, bit.plunge, RAPID, RAPID])
    extra = (("spin-up", bit.spin_up_s if count else 0.0), ("dwell", plunges * bit.dwell_s))
    return Course(trail.moves(feeds), count, extra)


def _enter(trail: _Trail, first: Floats, bit: BitFeeds) -> int:
    """Go above the first point and down into the wood; returns 1, the plunge."""
    trail.go(np.array([[first[0], first[1], bit.retract]]), TRAVEL)
    if bit.approach is not None and bit.approach < bit.retract:
        trail.go(np.array([[first[0], first[1], bit.approach]]), LIFT)
    trail.go(first.reshape(1, 3), PLUNGE, stop=bit.dwell_s > 0.0)
    return 1


def _link(trail: _Trail, first: Floats, bit: BitFeeds) -> int:
    """Go on to the next polyline of a chain; returns how many plunges that took."""
    same_place = float(np.hypot(*(first[:2] - trail.at[:2]))) < SAME_PLACE
    down = same_place and first[2] < trail.at[2] - SAME_PLACE
    trail.go(first.reshape(1, 3), PLUNGE if down else CUT, stop=down and bit.dwell_s > 0.0)
    return int(down)


SAME_PLACE = 1e-6
"""mm: below this two places are one; far under what a step motor resolves."""


def beam_course(
    lines: Sequence[Floats], feed: float, start: tuple[float, float], home: bool, beam_delay_s: float | None
) -> Course:
    """Return the course of a beam along polylines (n, 2): across at rapid, then along at the feed.

    beam_delay_s: None if the beam is switched on the fly; else the head stands still that long at each beam-on, and
    comes to rest before the beam goes off.
    """
    halts = beam_delay_s is not None
    trail = _Trail(np.array([*start, 0.0]))
    for line in lines:
        flat = np.column_stack([line[:, :2], np.zeros(len(line))])
        trail.go(flat[:1], TRAVEL, stop=halts)
        trail.go(flat[1:], CUT, stop=halts)
    if home:
        trail.go(np.array([[*start, 0.0]]), TRAVEL)
    feeds = np.array([feed, RAPID, RAPID, RAPID, RAPID])
    return Course(trail.moves(feeds), len(lines), (("beam", len(lines) * (beam_delay_s or 0.0)),))


def at_depths(lines: Sequence[Floats], depths: Sequence[float], by: str) -> list[list[Floats]]:
    """Return the chains that cut flat polylines (n, 2) at each depth.

    by 'pass': all lines at the first depth, then all at the next. by 'stroke': a line at all its depths before the
    next line, an open one there and back.
    """
    if by == "pass" or len(depths) == 1:
        return [[_level(line, depth)] for depth in depths for line in lines]
    return [there_and_back([_level(line, depth) for depth in depths]) for line in lines]


def there_and_back(levels: Sequence[Floats]) -> list[Floats]:
    """Turn every second polyline of an open stroke round, so that each begins where the one before it ended."""
    first = levels[0]
    if float(np.hypot(*(first[0, :2] - first[-1, :2]))) < SAME_PLACE:
        return list(levels)
    return [line if i % 2 == 0 else line[::-1] for i, line in enumerate(levels)]


def _level(line: Floats, depth: float) -> Floats:
    return np.column_stack([line[:, :2], np.full(len(line), -depth)])


def equal_depths(depth: float, pass_depth: float) -> tuple[float, ...]:
    """Return the depths of the passes: as few as `pass_depth` allows, all of the same bite."""
    count = passes_for(depth, pass_depth)
    return tuple(depth * (i + 1) / count for i in range(count))


def passes_for(depth: float, pass_depth: float) -> int:
    """Return how many passes of at most `pass_depth` a depth takes; 1 where the recipe names no pass depth."""
    if pass_depth <= 0.0 or depth <= 0.0:
        return 1
    return max(1, int(np.ceil(depth / pass_depth - PASS_ROUND_OFF)))


PASS_ROUND_OFF = 1e-6
"""Share of a pass that is no pass: 0.9 mm by 0.3 mm is three passes, though floats make it three and a bit."""
