"""Every line that could be made of the words, against one room: supports, silhouettes, and where each may stand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from engrave.cache import CacheKind
from engrave.geometry.arrays import Floats
from engrave.setting.fit.intervals import Spans, without
from engrave.setting.fit.line_probe import LineBorders, LineProbe, borders_of, lines_taken, offsets
from engrave.setting.fit.prepared_room import TOUCHING_LIMITS, PreparedRoom
from engrave.setting.text.silhouettes import Silhouette
from engrave.shop.settings import Align

NOMINAL_TAIL = 0.22
"""Caps that letters reach below the baseline, usually: where lids of a set are to look alike, whatever their letters."""

LEVEL_REACH = 0.1
"""Caps: letters that reach down as far as the lowest to within this stand level with it; round feet overshoot by less."""

BORDERS_KEPT = 12
"""Sets of lines whose borders are kept: all lines at one size, and the breaks that are weighed between others."""


@dataclass(frozen=True, slots=True)
class Field:
    """The words of one field, as units of one strip. ratio: its cap height over that of ratio 1."""

    ratio: float
    units: tuple[Silhouette, ...]


@dataclass(frozen=True, slots=True)
class Stack:
    """Fields one over the other. pitch: distance of baselines in caps of the field, averaged where fields meet.

    field_gap: added where fields meet, in caps of ratio 1. hold: no line ends with a unit whose grip is this or more
    (0: lines end anywhere). ink_gaps: over each field its first line is parted from the line before by so much clear
    wood instead, from ink to ink, in caps of the smaller one; level_gaps: by so much where the whole line before stands
    level, in between by the share of it that does. nominal: from capitals and usual tails, whatever the letters, so that lids of a
    set look alike.
    """

    fields: tuple[Field, ...]
    pitch: float
    field_gap: float = 0.0
    pitches: tuple[float, ...] = ()
    hold: int = 0
    ink_gaps: tuple[float, ...] = ()
    level_gaps: tuple[float, ...] = ()
    nominal: bool = False

    def pitch_of(self, index: int) -> float:
        """Return the pitch of a field in its own caps."""
        return self.pitches[index] if self.pitches else self.pitch


@dataclass(slots=True)
class Baselines:
    """Where lines may stand at one size, by line number; those that fit nowhere are left out.

    below, above: for each obstacle the highest baseline under it and the lowest over it (inf, -inf: not in the way).
    wedges: numbers of the obstacles that a gap at the usual pitch could hold.
    """

    spans: dict[int, Spans]
    below: dict[int, list[float]] = field(default_factory=dict)
    above: dict[int, list[float]] = field(default_factory=dict)
    wedges: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class _Sides:
    """What limits baselines from above, from below and (the lines themselves) beside: room per side, reach per line and side."""

    above: Floats
    reach_up: Floats
    below: Floats
    reach_down: Floats
    beside: Floats
    reach_beside: Floats


class Layout:
    """All lines of a stack that are not wider than the room at the least size.

    Lines are numbered; `starting[i]` lists those that begin with unit i, shortest first.
    """

    def __init__(
        self, room: PreparedRoom, stack: Stack, axis: float, least: float, tidy: bool = False, align: Align = "centre",
        block: float = 0.0,
    ) -> None:  # fmt: skip
        """Number the lines. align, block: lines begin (or end) on one upright, as a block `block` caps wide."""
        self.room, self.stack, self.axis, self.tidy, self.align, self.block = room, stack, axis, tidy, align, block
        self.units = [u for f in stack.fields for u in f.units]
        self._box = [_extent(u) for u in self.units]
        self.count = len(self.units)
        self.field_of = [k for k, f in enumerate(stack.fields) for _ in f.units]
        self.has_obstacles = bool(room.obstacles)
        self.ends: list[tuple[int, int]] = []
        self.widths: list[float] = []
        self.centres: list[float] = []
        self.starting: list[list[int]] = []
        self.ending: list[list[int]] = [[] for _ in range(self.count + 1)]
        self._number(room.width / least)
        self.slack = 0.0
        self.gaps: list[float] = []
        self.rises: list[float] = []
        self.restack(stack)
        self.complete = self._goes_through()
        self._supports: Floats | None = None
        self._side: _Sides | None = None
        self._borders: dict[tuple[int, ...], LineBorders] = {}
        self.strips = room.kept

    def _number(self, widest: float) -> None:
        for i in range(self.count):
            self.starting.append([])
            fld = self.field_of[i]
            ratio = self.stack.fields[fld].ratio
            left, right = np.inf, -np.inf
            for j in range(i, self.count):
                if self.field_of[j] != fld:
                    break
                left, right = min(left, self._box[j][0]), max(right, self._box[j][1])
                width = (right - left) * ratio
                if width > widest or (self.align != "centre" and width > self.block + TOUCHING_LIMITS):
                    break
                if self._may_end(i, j):
                    self.starting[i].append(len(self.ends))
                    self.ends.append((i, j + 1))
                    self.ending[j + 1].append(len(self.ends) - 1)
                    self.widths.append(width)
                    self.centres.append(self._centre(left, right, ratio))
                if self.units[j].closes:
                    break

    def _may_end(self, first: int, last: int) -> bool:
        """Tell whether units first to last may make a line, as far as joints are held."""
        unit = self.units[last]
        ends = last + 1 == self.count or self.field_of[last + 1] != self.field_of[last] or unit.closes
        return ends or not self.stack.hold or unit.grip < self.stack.hold or (first == last and unit.lone)

    def _goes_through(self) -> bool:
        """Tell whether some lines, one after the other, hold all units."""
        through = [False] * self.count + [True]
        for i in range(self.count - 1, -1, -1):
            through[i] = any(through[self.ends[n][1]] for n in self.starting[i])
        return through[0]

    def _centre(self, left: float, right: float, ratio: float) -> float:
        """Return the x of a line that stands on the axis: its middle, or that of the block it begins or ends."""
        if self.align == "left":
            return left + self.block / 2 / ratio
        if self.align == "right":
            return right - self.block / 2 / ratio
        return (left + right) / 2

    def in_room(self, room: PreparedRoom) -> Layout:
        """Return the same lines in another room of the same width, without what stands in the way."""
        other = copy(self)
        other.room, other.tidy, other.has_obstacles, other.slack = room, False, bool(room.obstacles), 0.0
        other._side = other._supports = None
        other._borders = {}
        return other

    def in_airy(self, room: PreparedRoom) -> Layout:
        """Return the same lines in a room with more air all round; what is known of the lines alone is known of them there."""
        other = copy(self)
        other.room, other.has_obstacles = room, bool(room.obstacles)
        other._side = other._supports = None
        return other

    def move(self, axis: float, slack: float = 0.0) -> None:
        """Stand lines on another axis. slack: mm by which a convex room is drawn out to either side."""
        self.axis, self.slack = axis, slack
        self._side = None

    def spans_of(self, line: int) -> tuple[int, int]:
        """Return first unit and the one after the last."""
        return self.ends[line]

    def gap(self, above: int, below: int) -> float:
        """Return how far below a line's baseline that of the line after it stands, in caps of ratio 1."""
        return self.gaps[above] + self.rises[below]

    def restack(self, stack: Stack) -> None:
        """Take pitches and gaps from another stack of the same words."""
        self.stack = stack
        self._drops: dict[tuple[int, ...], list[float]] = {}
        self._boxes: dict[tuple[int, ...], tuple[float, float]] = {}
        pitches = [f.ratio * stack.pitch_of(k) for k, f in enumerate(stack.fields)]
        self.gaps = []
        for i, end in self.ends:
            f, g = self.field_of[i], self.field_of[end] if end < self.count else -1
            between = (pitches[f] + pitches[g]) / 2 + (stack.field_gap if f != g else 0.0) if g >= 0 else 0.0
            self.gaps.append(between)
        self.rises = [0.0] * len(self.ends)
        if stack.ink_gaps:
            self._part_fields(stack.ink_gaps, stack.level_gaps or stack.ink_gaps)

    def _part_fields(self, clear: Sequence[float], level: Sequence[float]) -> None:
        """Part fields by clear wood: a line's gap reaches down to its lowest ink and over the wood, the next one's rise from its top."""
        for n, (i, end) in enumerate(self.ends):
            f = self.field_of[i]
            if i and self.field_of[i - 1] != f:
                self.rises[n] = (1.0 if self.stack.nominal else self._reach(n, 1)) * self.ratio(i)
            if end < self.count and self.field_of[end] != f:
                depth = NOMINAL_TAIL if self.stack.nominal else self._reach(n, -1)
                below = self.field_of[end]
                share = 0.0 if self.stack.nominal else self._level(n)
                wood = (clear[below] + share * (level[below] - clear[below])) * min(self.ratio(i), self.ratio(end))
                self.gaps[n] = depth * self.ratio(i) + wood + self.stack.field_gap

    def _reach(self, line: int, sign: int) -> float:
        """Return how far a line's ink reaches above (1) or below (-1) its baseline, in its own caps."""
        i, end = self.ends[line]
        return max(top if sign > 0 else -bottom for _, _, bottom, top in self._box[i:end])

    def _level(self, line: int) -> float:
        """Return the share of a line's ink, by width, that reaches down as far as its lowest letters."""
        i, end = self.ends[line]
        feet = [foot for u in self.units[i:end] for foot in u.feet]
        deepest = max((depth for _, depth in feet), default=0.0)
        level = sum(width for width, depth in feet if depth > deepest - LEVEL_REACH)
        return level / (sum(width for width, _ in feet) or 1.0)

    def drops(self, lines: Sequence[int]) -> list[float]:
        """Return how far below the first baseline each line's stands, in caps of ratio 1; kept, asked at size after size."""
        key = tuple(lines)
        out = self._drops.get(key)
        if out is None:
            out = [0.0]
            for above, below in pairwise(key):
                out.append(out[-1] + self.gap(above, below))
            self._drops[key] = out
        return out

    def box(self, lines: Sequence[int]) -> tuple[float, float]:
        """Return the top and the bottom of a break's ink over its first baseline, in caps of ratio 1; kept likewise."""
        key = tuple(lines)
        if key not in self._boxes:
            self._boxes[key] = self._boxed(key)
        return self._boxes[key]

    def _boxed(self, lines: Sequence[int]) -> tuple[float, float]:
        tops, bottoms = [], []
        for n, drop in zip(lines, self.drops(lines), strict=True):
            i, j = self.ends[n]
            ratio, own = self.ratio(i), self._box[i:j]
            tops.append(max(top for _, _, _, top in own) * ratio - drop)
            bottoms.append(min(bottom for _, _, bottom, _ in own) * ratio - drop)
        return max(tops), min(bottoms)

    def bound(self) -> float:
        """Return a size that no text can exceed: its widest unit against the room's width, its height likewise."""
        tallest = max((top - bottom) * self.ratio(i) for i, (_, _, bottom, top) in enumerate(self._box))
        widest = max((right - left) * self.ratio(i) for i, (left, right, _, _) in enumerate(self._box))
        height = self.room.box[3] - self.room.box[1]
        return float(min(self.room.width / max(widest, TOUCHING_LIMITS), height / max(tallest, TOUCHING_LIMITS)))

    def ratio(self, unit: int) -> float:
        """Return the ratio of a unit's field."""
        return self.stack.fields[self.field_of[unit]].ratio

    # convex hulls of lines against the room's sides

    def line_supports(self) -> Floats:
        """Return for each line and side of the room how far the line reaches towards it, per mm of cap: (lines, n)."""
        if self._supports is None:
            self._supports = self._all_supports()
        return self._supports

    def _all_supports(self) -> Floats:
        normals = self.room.normals
        each = [self._unit_supports(i) for i in range(self.count)]
        out = np.empty((len(self.ends), len(normals)))
        for i, numbers in enumerate(self.starting):
            if not numbers:
                continue
            reach = np.maximum.accumulate(np.array(each[i : self.ends[numbers[-1]][1]]), axis=0)
            ratio = self.ratio(i)
            for number in numbers:
                row = reach[self.ends[number][1] - i - 1]
                out[number] = row - ratio * self.centres[number] * normals[:, 0]
        return out

    def _unit_supports(self, unit: int) -> Floats:
        reach = (self.room.normals @ self.units[unit].hull.T).max(axis=1)
        return np.asarray(self.ratio(unit) * reach)

    def _reaches(self, lines: Sequence[int]) -> Floats:
        """Return the supports of some lines, worked out for them alone where those of all have not been asked for."""
        if self._supports is not None:
            return np.asarray(self._supports[list(lines)])
        out = np.empty((len(lines), len(self.room.normals)))
        for k, line in enumerate(lines):
            i, end = self.ends[line]
            reach = np.max([self._unit_supports(u) for u in range(i, end)], axis=0)
            out[k] = reach - self.ratio(i) * self.centres[line] * self.room.normals[:, 0]
        return out

    def supports(self, lines: Sequence[int]) -> Floats:
        """Return how far a whole break reaches towards each side, first baseline at 0, per mm of cap: (n,)."""
        drops = np.array(self.drops(lines))
        return np.asarray((self._reaches(lines) - drops[:, None] * self.room.normals[:, 1]).max(axis=0))

    def forget(self) -> None:
        """Let go of what is worked out again when it is asked for."""
        self._supports = self._side = None
        self._borders, self._drops, self._boxes = {}, {}, {}

    # where lines may stand at one size

    def chords(self, heights: Floats) -> Floats:
        """Return how wide the room's hull is at heights (mm), as shape (n,)."""
        n, b = self.room.normals, self.room.offsets
        left = b - np.outer(heights, n[:, 1])
        right, west = n[:, 0] > TOUCHING_LIMITS, n[:, 0] < -TOUCHING_LIMITS
        wide = (left[:, right] / n[right, 0]).min(axis=1) - (left[:, west] / n[west, 0]).max(axis=1)
        return np.asarray(np.maximum(wide, TOUCHING_LIMITS))

    def baselines(self, size: float, lines: Sequence[int] | None = None) -> Baselines:
        """Return the baselines at which each line (or each of the given ones) fits at a size."""
        if self.room.convex:
            return self._in_convex(size, lines)
        narrow = self.narrow(size)
        if lines is not None:
            narrow = sorted(set(lines).intersection(narrow))
        return self._in_slabs([size], narrow)[0]()

    def baselines_at(self, sizes: Sequence[float], lines: Sequence[int]) -> list[Baselines]:
        """Return the baselines at which lines fit at several sizes, which costs less than at one after the other."""
        return [made() for made in self.baselines_ahead(sizes, lines)]

    def baselines_ahead(self, sizes: Sequence[float], lines: Sequence[int]) -> list[Callable[[], Baselines]]:
        """Return what tells the baselines at which lines fit at each of several sizes: some are never asked about."""
        if self.room.convex:
            return [partial(self._in_convex, size, lines) for size in sizes]
        return self._in_slabs(sizes, sorted(set(lines)))

    def among(self, fits: Baselines, lines: Sequence[int], size: float) -> Baselines | None:
        """Return the baselines of lines alone, taken from those of more lines at a size; None where one is not among them.

        They are the same: each line is held against the room by itself. What a gap could hold is seen of these lines only.
        """
        if not all(line in fits.spans for line in lines):
            return None
        below, above = ({n: of[n] for n in lines if n in of} for of in (fits.below, fits.above))
        out = Baselines({n: fits.spans[n] for n in lines}, below, above)
        out.wedges = self._wedges(out, size) if self.tidy else ()
        return out

    def narrow(self, size: float) -> list[int]:
        """Return the lines that are no wider than the room at a size."""
        widest = (self.room.width + TOUCHING_LIMITS) / size
        return [n for n, width in enumerate(self.widths) if width <= widest]

    def _sides(self, reach: Floats) -> _Sides:
        """Return what limits baselines: room per side, and reach per line, side and mm of cap."""
        n = self.room.normals
        left = self.room.offsets - n[:, 0] * self.axis + self.slack * abs(n[:, 0])
        up, down, beside = n[:, 1] > TOUCHING_LIMITS, n[:, 1] < -TOUCHING_LIMITS, abs(n[:, 1]) <= TOUCHING_LIMITS
        return _Sides(left[up] / n[up, 1], reach[:, up] / n[up, 1], left[down] / n[down, 1], reach[:, down] / n[down, 1],
                      left[beside], reach[:, beside])  # fmt: skip

    def _in_convex(self, size: float, lines: Sequence[int] | None) -> Baselines:
        numbers = self.narrow(size) if lines is None else list(lines)
        spans: dict[int, Spans] = {}
        if not numbers:
            return Baselines(spans)
        if lines is None or self._side is not None:
            self._side = self._side or self._sides(self.line_supports())
            side, rows = self._side, numbers
        else:
            side, rows = self._sides(self._reaches(numbers)), list(range(len(numbers)))
        high = (side.above - size * side.reach_up[rows]).min(axis=1)
        low = (side.below - size * side.reach_down[rows]).max(axis=1)
        fits = low <= high + TOUCHING_LIMITS
        if len(side.beside):
            fits &= (side.beside - size * side.reach_beside[rows] >= -TOUCHING_LIMITS).all(axis=1)
        for number, ok, lo, hi in zip(numbers, fits.tolist(), low.tolist(), high.tolist(), strict=True):
            if ok:
                spans[number] = ((min(lo, hi), max(lo, hi)),)
        return Baselines(spans)

    def borders(self, lines: Sequence[int]) -> LineBorders:
        """Return where the slices of lines begin and end, centred and in caps of ratio 1; the last few are kept."""
        key = tuple(lines)
        found = self._borders.get(key)
        if found is None:
            found = self._borders[key] = self.borders_in(strip_of(self), key)
            if len(self._borders) > BORDERS_KEPT:
                del self._borders[next(iter(self._borders))]
        return found

    def borders_in(self, strip: Strip, lines: Sequence[int]) -> LineBorders:
        """Return the borders of lines as a strip of the same units has them."""
        if strip.borders is None:
            rows = [self._line_of(number, strip.units) for number in lines]
            return borders_of(np.concatenate(rows), offsets([len(r) for r in rows])[:-1])
        ends = np.array([self.ends[n] for n in lines], dtype=np.intp)
        first = strip.rows_of[ends[:, 0], 0]
        ratios = np.array([self.ratio(self.ends[n][0]) for n in lines])
        centres = np.array([self.centres[n] for n in lines])
        return lines_taken(strip.borders, first, strip.rows_of[ends[:, 1] - 1, 1] - first, ratios, centres * ratios)

    def slices_of(self, number: int) -> Floats:
        """Return the slices of a line, centred and in caps of ratio 1."""
        return self._line_of(number, [u.slices for u in self.units])

    def _line_of(self, number: int, units: Sequence[Floats]) -> Floats:
        i, j = self.ends[number]
        inside = list(units[i:j])
        rows = np.concatenate(_bridged(inside) if self.tidy else inside) * self.ratio(i)
        rows[:, :2] -= self.centres[number] * self.ratio(i)
        return rows

    def _in_slabs(self, sizes: Sequence[float], lines: Sequence[int]) -> list[Callable[[], Baselines]]:
        if not lines:
            return [lambda: Baselines({})] * len(sizes)
        probe = LineProbe(self.room, self.borders(lines), np.array(sizes), self.axis)
        found = *probe.limits(), *probe.around()
        return [partial(self._standing, size, lines, *(of[k] for of in found)) for k, size in enumerate(sizes)]

    def _standing(
        self, size: float, lines: Sequence[int], lowest: Floats, highest: Floats, under: Floats, over: Floats
    ) -> Baselines:
        low, high, below, above = (of.tolist() for of in (lowest, highest, under, over))
        out = Baselines({})
        for k, number in enumerate(lines):
            if low[k] > high[k] + TOUCHING_LIMITS:
                continue
            free = free_spans(low[k], high[k], below[k], above[k])
            if free:
                out.spans[number] = free
                out.below[number], out.above[number] = below[k], above[k]
        out.wedges = self._wedges(out, size) if self.tidy else ()
        return out

    def _wedges(self, fits: Baselines, size: float) -> tuple[int, ...]:
        found = []
        widest = size * max((self.gaps[n] for n in fits.spans), default=0.0) + size * max(self.rises, default=0.0)
        for k in range(len(self.room.obstacles)):
            over = [a[k] for a in fits.above.values() if a[k] > -np.inf]
            under = [b[k] for b in fits.below.values() if b[k] < np.inf]
            if over and under and min(over) < max(under) + widest:
                found.append(k)
        return tuple(found)


def _extent(unit: Silhouette) -> tuple[float, float, float, float]:
    """Return left, right, bottom and top of a unit's ink, in its own caps."""
    (left, bottom), (right, top) = unit.hull.min(axis=0).tolist(), unit.hull.max(axis=0).tolist()
    return left, right, bottom, top


def free_spans(low: float, high: float, below: Sequence[float], above: Sequence[float]) -> Spans:
    """Return where a line may stand between its lowest and highest baseline, under or over each thing in the way."""
    free: Spans = ((min(low, high), max(low, high)),)
    for b, a in zip(below, above, strict=True):
        if b < a:
            free = without(free, b, a)
    return free


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """The slices of each unit, and the borders of all of them with what is between: `rows_of` says which slices are a unit's.

    No borders are told where units do not stand in the order in which they are read; else any line is some slices of them.
    """

    units: Sequence[Floats]
    borders: LineBorders | None
    rows_of: NDArray[np.intp]


STRIPS: CacheKind[Strip] = CacheKind("strips", 4)
"""Of a room, by the units, where one may go on to the next, and how they are drawn: for all ratios, holds and axes."""


def strip_of(layout: Layout, drawn: Callable[[Floats], Floats] | None = None) -> Strip:
    """Return the units of a layout as a strip. drawn: what draws the slices of each otherwise."""
    key = (tuple(layout.units), tuple(layout.field_of), layout.tidy, drawn)

    def made() -> Strip:
        units = [drawn(u.slices) if drawn else u.slices for u in layout.units]
        return _strip_of(units, layout) if layout.tidy else _unordered(units)

    return layout.strips.get(STRIPS, key, made)


def _unordered(units: Sequence[Floats]) -> Strip:
    return Strip(units, None, np.empty((0, 2), dtype=np.intp))


def _strip_of(units: Sequence[Floats], layout: Layout) -> Strip:
    rows: list[Floats] = []
    many: list[int] = []
    for k, slices in enumerate(units):
        between: list[Floats] = []
        if k and layout.field_of[k - 1] == layout.field_of[k] and not layout.units[k - 1].closes:
            if units[k - 1][0, 0] > slices[0, 0]:
                return _unordered(units)
            between = _bridged([units[k - 1], slices])[1:-1]
        rows += [*between, slices]
        many += [sum(len(r) for r in between), len(slices)]
    return Strip(units, borders_of(np.concatenate(rows), np.array([0])), offsets(many)[1:].reshape(-1, 2))


def _bridged(words: list[Floats]) -> list[Floats]:
    """Return the slices of words, and between them slices from the end of one to the start of the next."""
    ordered = sorted(words, key=lambda w: float(w[0, 0]))
    out = ordered[:1]
    for word in ordered[1:]:
        last, first = out[-1][-1], word[0]
        if first[0] > last[1]:
            out.append(np.array([[last[1], first[0], last[3], first[2], last[5], first[4]]]))
        out.append(word)
    return out
