"""All line breaks at once, at one size: where each line may stand so that everything before and after it fits."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count, islice
from typing import TypeVar

from engrave.setting.fit.glance import Glance, Glimpse
from engrave.setting.fit.intervals import EVERYWHERE, INFINITY, Spans, join, meet, meet_moved, shifted, without
from engrave.setting.fit.layout import Baselines, Layout, Stack
from engrave.setting.fit.prepared_room import PreparedRoom
from engrave.shop.settings import Align

STRETCH_EASE = 1e-7
"""mm: what is taken from a forbidden stretch, so that lines that just touch on both sides are kept."""

KNOB_AIR = 0.15
"""Cap heights of free wood between a line and what its opened gap goes round, beyond the clearance: with less, the
thing looks wedged in (common practice, no source)."""

HALF_BREAKS = 6
"""Breaks of each half that are paired where a gap opens: enough for the few words that stand beside a knob."""

SIZES_KEPT = 12
"""Sizes whose answers are kept: the few that are asked about again when a break is chosen."""

ONES_KEPT = 64
"""Sizes of single breaks whose answers are kept: those between which a place is weighed."""

SEEN_KEPT = 64
"""Sizes whose glances are kept: those looked at ahead, from the top down, until words fit."""


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Break:
    """One way to break the words, as line numbers of the layout. opened: the gap before this line is open (0: none)."""

    lines: tuple[int, ...]
    opened: int = 0


class LineWalker:
    """Walks over lines from last to first and back, for one room, stack and axis."""

    def __init__(
        self, room: PreparedRoom, stack: Stack, axis: float, tidy: bool, least: float, align: Align = "centre",
        block: float = 0.0, layout: Layout | None = None,
    ) -> None:  # fmt: skip
        self.room, self.stack, self.axis, self.tidy = room, stack, axis, tidy
        self.layout = layout or Layout(room, stack, axis, least, tidy, align, block)
        self._standing: dict[float, tuple[Baselines, dict[int, Spans]]] = {}
        self._ones: dict[tuple[float, tuple[int, ...]], Baselines | Callable[[], Baselines]] = {}
        self._firsts: dict[tuple[float, tuple[int, ...]], Spans] = {}
        self._glance: Glance | None = None
        self._seen: dict[float, Glimpse] = {}
        self._able: dict[float, Baselines] = {}
        self.glances = False
        self.may_open = tidy and self.layout.has_obstacles

    def restack(self, stack: Stack) -> None:
        """Take pitches and gaps from another stack of the same words."""
        self.stack = stack
        self.layout.restack(stack)
        self._clear()

    def move(self, axis: float, slack: float = 0.0) -> None:
        """Stand lines on another axis. slack: mm by which a convex room is drawn out to either side."""
        self.axis = axis
        self.layout.move(axis, slack)
        self._clear()

    def forget(self) -> None:
        """Let go of what is worked out again when it is asked for: a search that is kept is to be small."""
        self.layout.forget()
        self._glance = None
        self._clear()

    def _clear(self) -> None:
        self._standing.clear()
        self._ones.clear()
        self._firsts.clear()
        self._seen.clear()
        self._able.clear()

    def begin_to_glance(self) -> None:
        """Hold lines against the room itself only after a glance from now on: once words turn out to have little room."""
        self.glances = self.tidy and not self.room.convex

    def seen_at(self, size: float, *further: float) -> Glimpse:
        """Return what a glance at a size shows, where glances are taken. further: sizes that will be asked about next."""
        if size not in self._seen:
            self._glance = self._glance or Glance(self.layout)
            asked = (size, *further)
            self._seen.update(zip(asked, self._glance.at(asked), strict=True))
            while len(self._seen) > SEEN_KEPT:
                del self._seen[next(iter(self._seen))]
        return self._seen[size]

    def break_at(self, size: float, opened: bool = True) -> Break | None:
        """Return some break that fits at a size, or None. opened: whether a gap may open."""
        return next(self.breaks_at(size, opened), None)

    def breaks_at(self, size: float, opened: bool = True) -> Iterator[Break]:
        """Yield breaks that fit at a size: all that keep together, longer first lines first; then those opened."""
        fits, after = self.standing_at(size)
        for lines in self._walk((), EVERYWHERE, 0.0, after, fits, size, 0):
            yield Break(lines)
        if self.may_open and opened and after:
            yield from self._opened(fits, after, size)

    def standing_at(self, size: float) -> tuple[Baselines, dict[int, Spans]]:
        """Return where lines may stand at a size, alone, and with all that comes after them; the last are kept.

        Lines that a glance rules out as part of a break are left out. Where it is seen at once that no break fits, nothing
        is said of what comes after.
        """
        found = self._standing.get(size)
        if found is None:
            fits = self._able_at(size)
            found = self._standing[size] = fits, self._after(fits, size) if self.may_fit(size, fits) else {}
            if len(self._standing) > SIZES_KEPT:
                del self._standing[next(iter(self._standing))]
        return found

    def _able_at(self, size: float) -> Baselines:
        """Return where lines may stand, those that a glance does not rule out as part of a break."""
        if size in self._able:
            return self._able.pop(size)
        if not self.glances:
            return self.layout.baselines(size)
        lines = self.seen_at(size).able
        return self.layout.baselines_at([size], lines)[0]

    def alone_at(self, size: float) -> set[int]:
        """Return the lines that fit at a size by themselves, as far as is known without holding each against the room."""
        return set(self.seen_at(size).alone if self.glances else self.standing_at(size)[0].spans)

    def ready_at(self, sizes: Sequence[float]) -> None:
        """Work out at once where lines may stand at sizes that will be asked about."""
        new = [size for size in sizes if size not in self._standing] if not self.room.convex else []
        if len(new) > 1:
            able = {size: self.seen_at(size, *new).able if self.glances else self.layout.narrow(size) for size in new}
            some = [size for size in new if able[size]]
            lines = sorted({n for size in some for n in able[size]})
            self._able.update(zip(some, self.layout.baselines_at(some, lines), strict=True))

    def ready(self, lines: tuple[int, ...], sizes: Sequence[float]) -> None:
        """Hold the lines of a break at once against the room at sizes that may be asked about."""
        new = [size for size in sizes if (size, lines) not in self._ones]
        if len(new) > 1 and not self.room.convex:
            for size, told in zip(new, self.layout.baselines_ahead(new, lines), strict=True):
                self._ones[size, lines] = told
            while len(self._ones) > ONES_KEPT:
                del self._ones[next(iter(self._ones))]

    def may_fit(self, size: float, fits: Baselines | None = None) -> bool:
        """Tell whether some break would fit if every gap could be as wide as it liked: a glance before all is searched.

        From the last word to the first, how low the rest may come to stand at least.
        """
        layout, fits = self.layout, fits or self.layout.baselines(size)
        lowest = [INFINITY] * layout.count + [-INFINITY]
        for at in range(layout.count - 1, -1, -1):
            for line in layout.starting[at]:
                over = lowest[layout.ends[line][1]] + layout.gaps[line] * size - STRETCH_EASE
                for low, high in fits.spans.get(line, ()):
                    if high >= over:
                        lowest[at] = min(lowest[at], max(low, over) + layout.rises[line] * size)
                        break
        return lowest[0] < INFINITY

    # from the last word to the first

    def _after(self, fits: Baselines, size: float) -> dict[int, Spans]:
        """Return by line the baselines at which it and all after it fit; lines that never do are left out."""
        layout = self.layout
        out: dict[int, Spans] = {}
        joined: list[Spans] = [()] * layout.count + [EVERYWHERE]
        under: dict[tuple[int, float], list[tuple[int, float, Spans]]] = {}
        for at in range(layout.count - 1, -1, -1):
            here: list[tuple[float, float]] = []
            for line in layout.starting[at]:
                spans = fits.spans.get(line)
                if not spans:
                    continue
                end = layout.ends[line][1]
                if end < layout.count:
                    gap = layout.gaps[line] * size
                    if not joined[end]:
                        continue
                    if not fits.wedges:
                        spans = meet_moved(spans, joined[end], gap)
                    else:
                        if (end, gap) not in under:
                            under[end, gap] = self._lines_under(end, gap, out, size)
                        spans = self._followed(line, spans, fits, under[end, gap])
                if spans:
                    out[line] = spans
                    here += shifted(spans, layout.rises[line] * size)
            joined[at] = join(here)
        return out

    def _lines_under(self, at: int, gap: float, after: dict[int, Spans], size: float) -> list[tuple[int, float, Spans]]:
        """Return lines from unit `at` on, how far over each the line before it stands, and where that may be."""
        wholes = [(n, gap + self.layout.rises[n] * size) for n in self.layout.starting[at] if n in after]
        return [(below, whole, shifted(after[below], whole)) for below, whole in wholes]

    def _followed(self, line: int, spans: Spans, fits: Baselines, under: Sequence[tuple[int, float, Spans]]) -> Spans:
        """Return the baselines of a line at which some line under it fits as well, with nothing wedged between."""
        found: list[tuple[float, float]] = []
        lowest, highest = spans[0][0], spans[-1][1]
        for below, whole, over in under:
            if over[0][0] <= highest and over[-1][1] >= lowest:
                found += self._unwedged(meet(spans, over), line, below, whole, fits)
        return join(found)

    def _unwedged(self, spans: Spans, line: int, below: int, gap: float, fits: Baselines) -> Spans:
        """Take away the baselines of `line` at which something would stand between it and the line below."""
        if spans and fits.wedges:
            for k in fits.wedges:
                low, high = fits.above[line][k], fits.below[below][k]
                if low > -INFINITY and high < INFINITY:
                    spans = without(spans, low - STRETCH_EASE, high + gap + STRETCH_EASE)
        return spans

    def _walk(
        self, before: tuple[int, ...], may: Spans, drop: float, after: dict[int, Spans], fits: Baselines, size: float,
        at: int,
    ) -> Iterator[tuple[int, ...]]:  # fmt: skip
        """Yield lines from unit `at` on. may: first baselines still possible; drop: from the first baseline to here."""
        layout = self.layout
        for line in reversed(layout.starting[at]):
            here = after.get(line)
            if here is None:
                continue
            gap = layout.gap(before[-1], line) * size if before else 0.0
            still = meet_moved(may, here, drop + gap)
            if before and still and fits.wedges:
                still = shifted(self._unwedged(shifted(still, -drop), before[-1], line, gap, fits), drop)
            if not still:
                continue
            end = layout.ends[line][1]
            if end == layout.count:
                yield (*before, line)
            else:
                yield from self._walk((*before, line), still, drop + gap, after, fits, size, end)

    # two halves, around what is in the way

    def _before(self, fits: Baselines, size: float) -> dict[int, Spans]:
        """Return by line the baselines at which it and all before it fit."""
        layout = self.layout
        out: dict[int, Spans] = {}
        for line, (start, _) in enumerate(layout.ends):
            spans = fits.spans.get(line, ())
            if not spans:
                continue
            if start:
                found: list[tuple[float, float]] = []
                moved: dict[float, Spans] = {}
                for above in layout.ending[start]:
                    over = out.get(above)
                    if over is None:
                        continue
                    gap = layout.gap(above, line) * size
                    under = moved.get(gap) or moved.setdefault(gap, shifted(spans, gap))
                    if under[0][0] <= over[-1][1] and under[-1][1] >= over[0][0]:
                        found += shifted(self._unwedged(meet(over, under), above, line, gap, fits), -gap)
                spans = join(found)
            if spans:
                out[line] = spans
        return out

    def _opened(self, fits: Baselines, after: dict[int, Spans], size: float) -> Iterator[Break]:
        """Yield breaks of which a part stands above and the rest below something in the way."""
        layout = self.layout
        before = self._before(fits, size)
        halves: dict[int, Callable[[], Iterator[tuple[tuple[int, ...], Spans]]]] = {}
        for line in sorted(before, key=lambda n: layout.ends[n][1]):
            uppers = _kept(self._upper_halves(line, before, fits, size))
            for below in layout.starting[layout.ends[line][1]] if layout.ends[line][1] < layout.count else ():
                if below in after and self._goes_round(line, below, before[line], after[below], fits, size):
                    lowers = halves.get(below) or halves.setdefault(
                        below, _kept(self._lower_halves(below, after, fits, size))
                    )
                    for (upper, top), (lower, bottom) in ((u, v) for u in uppers() if u[1] for v in lowers() if v[1]):
                        if self._goes_round(line, below, top, bottom, fits, size):
                            yield Break(upper + lower, len(upper))

    def _upper_halves(
        self, line: int, before: dict[int, Spans], fits: Baselines, size: float
    ) -> Iterator[tuple[tuple[int, ...], Spans]]:
        """Yield the first ways to break what stands above, each with where its last line may stand."""
        for lines, firsts in islice(self._up((line,), fits.spans[line], before, fits, size), HALF_BREAKS):
            yield lines, shifted(firsts, -self.layout.drops(lines)[-1] * size)

    def _lower_halves(
        self, line: int, after: dict[int, Spans], fits: Baselines, size: float
    ) -> Iterator[tuple[tuple[int, ...], Spans]]:
        """Yield the first ways to break what stands below, each with where its first line may stand."""
        for lines in islice(self._down(line, after, fits, size), HALF_BREAKS):
            yield lines, self.block(lines, fits, size)

    def _goes_round(self, line: int, below: int, upper: Spans, lower: Spans, fits: Baselines, size: float) -> bool:
        return self._apart(line, below, upper, lower, fits, size) is not None

    def _apart(
        self, line: int, below: int, upper: Spans, lower: Spans, fits: Baselines, size: float
    ) -> tuple[Spans, Spans] | None:
        """Return where two lines may stand with something between them that has air around it, or None."""
        air = KNOB_AIR * size
        gap = self.layout.gap(line, below) * size
        if line not in fits.above or below not in fits.below:
            return None
        for low, high in zip(fits.above[line], fits.below[below], strict=True):
            if low > -INFINITY and high < INFINITY:
                a = meet(upper, ((low + air, INFINITY),))
                b = meet(lower, ((-INFINITY, high - air),))
                if a and b and a[-1][1] - b[0][0] >= gap:
                    return a, b
        return None

    def _up(
        self, lines: tuple[int, ...], firsts: Spans, before: dict[int, Spans], fits: Baselines, size: float
    ) -> Iterator[tuple[tuple[int, ...], Spans]]:
        """Yield lines from the first unit on that end with some lines, each with where their first may stand."""
        start = self.layout.spans_of(lines[0])[0]
        if start == 0:
            yield lines, firsts
            return
        for above in self.layout.ending[start]:
            more = (above, *lines)
            over = self.block(more, fits, size) if above in before else ()
            if over:
                yield from self._up(more, over, before, fits, size)

    def _down(self, first: int, after: dict[int, Spans], fits: Baselines, size: float) -> Iterator[tuple[int, ...]]:
        end = self.layout.spans_of(first)[1]
        if end == self.layout.count:
            yield (first,)
            return
        for line in reversed(self.layout.starting[end]):
            if line in after:
                gap = self.layout.gap(first, line) * size
                still = self._unwedged(meet_moved(after[first], after[line], gap), first, line, gap, fits)
                last = self.layout.spans_of(line)[1]
                if still and last == self.layout.count:
                    yield (first, line)
                elif still:
                    yield from self._walk((first, line), still, gap, after, fits, size, last)

    # one break

    def fits(self, of: Break, size: float, fits: Baselines | None = None) -> bool:
        """Tell whether a break fits at a size."""
        if of.opened:
            return self.halves(of, size, fits or self.of_lines(of.lines, size)) is not None
        return bool(self.block(of.lines, fits, size) if fits else self.firsts(of.lines, size))

    def firsts(self, lines: tuple[int, ...], size: float) -> Spans:
        """Return the first baselines at which a break that keeps together fits; kept, asked first whether, then where."""
        found = self._firsts.get((size, lines))
        if found is None:
            found = self._firsts[size, lines] = self.block(lines, self.of_lines(lines, size), size)
            if len(self._firsts) > ONES_KEPT:
                del self._firsts[next(iter(self._firsts))]
        return found

    def of_lines(self, lines: tuple[int, ...], size: float) -> Baselines:
        """Return the baselines of a break's lines at a size; asked first whether they fit, then where, they are kept."""
        found = self._ones.get((size, lines))
        if found is None or callable(found):
            told = self.layout.among(self._standing[size][0], lines, size) if size in self._standing else None
            found = told or (found() if found else self.layout.baselines(size, lines))
            self._ones[size, lines] = found
            if len(self._ones) > ONES_KEPT:
                del self._ones[next(iter(self._ones))]
        return found

    def block(self, lines: Sequence[int], fits: Baselines, size: float) -> Spans:
        """Return the first baselines at which lines that keep together fit."""
        may: Spans = EVERYWHERE
        drop = 0.0
        for k, line in enumerate(lines):
            own = fits.spans.get(line)
            if own is None:
                return ()
            if k:
                gap = self.layout.gap(lines[k - 1], line) * size
                may = shifted(self._unwedged(shifted(may, -drop), lines[k - 1], line, gap, fits), drop)
                drop += gap
            may = meet_moved(may, own, drop)
            if not may:
                return ()
        return may

    def halves(self, of: Break, size: float, fits: Baselines) -> tuple[Spans, Spans] | None:
        """Return where the last line of the upper half and the first of the lower may stand, or None."""
        upper, lower = of.lines[: of.opened], of.lines[of.opened :]
        drop = self.layout.drops(upper)[-1] * size
        top, bottom = shifted(self.block(upper, fits, size), -drop), self.block(lower, fits, size)
        return self._apart(upper[-1], lower[0], top, bottom, fits, size) if top and bottom else None

    def stand(
        self, of: Break, size: float, wish: float | None = None, wishes: tuple[float, float] | None = None
    ) -> tuple[float, ...]:
        """Return the baselines of a break that fits: at the wish where it may stand, else in the middle of a span.

        wishes: likewise for the first baselines of both halves of a break that opens, where they keep far enough apart.
        """
        drops = [d * size for d in self.layout.drops(of.lines)]
        if of.opened:
            return self._stand_apart(of, size, drops, wishes)
        firsts = self.firsts(of.lines, size)
        if not firsts:  # a hair's breadth smaller: only rounding kept it out
            firsts = self.firsts(of.lines, size * (1 - 1e-9))
        first = nearest_within(firsts, wish)
        return tuple(first - d for d in drops)

    def _stand_apart(
        self, of: Break, size: float, drops: Sequence[float], wishes: tuple[float, float] | None
    ) -> tuple[float, ...]:
        """Stand both halves at their wishes; without any equally far from what is between, half-way to where they could go.

        What is between them may be lower than the gap that two lines need, or beside them: then they move farther.
        """
        found = self.halves(of, size, self.of_lines(of.lines, size))
        assert found is not None
        k = of.opened
        gap = self.layout.gap(of.lines[k - 1], of.lines[k]) * size
        (low, high), (down, up) = next((a, b) for a in found[0] for b in reversed(found[1]) if a[1] - b[0] >= gap)
        away = min(high - low, up - down) / 2
        above = min(high, max(low + away, up - away + gap))
        below = min(up - away, above - gap)
        if wishes is not None:
            first = min(max(wishes[0] - drops[k - 1], low), high)
            second = min(max(wishes[1], down), up)
            above, below = (first, second) if first - second >= gap else (above, below)
        upper = [above + drops[k - 1] - d for d in drops[:k]]
        lower = [below - (d - drops[k]) for d in drops[k:]]
        return (*upper, *lower)


def _kept(found: Iterator[T]) -> Callable[[], Iterator[T]]:
    """Return what yields the same again each time, but seeks no more than is asked for."""
    kept: list[T] = []

    def again() -> Iterator[T]:
        for k in count():
            if k == len(kept):
                further = next(found, None)
                if further is None:
                    return
                kept.append(further)
            yield kept[k]

    return again


def nearest_within(spans: Spans, wish: float | None) -> float:
    """Return the wish if it is allowed, else a place in the nearest span, as far inside it as the wish is outside.

    So words that must leave the wish for a knob's sake stand in the middle of what is left, not hard against it.
    """
    if wish is None:
        low, high = max(spans, key=lambda s: s[1] - s[0])
        return (low + high) / 2
    low, high = min(spans, key=lambda s: (max(s[0] - wish, wish - s[1], 0.0), -s[1]))
    inside = min(abs(wish - min(max(wish, low), high)), (high - low) / 2)
    return min(max(wish, low + inside), high - inside)
