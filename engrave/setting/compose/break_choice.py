"""Which break at which size: what fits largest, what looks better and costs little, and what fills the room calmly."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice

from engrave.setting.compose.break_judge import BreakJudge, judge_of
from engrave.setting.compose.break_order import EQUAL_LOSS, BreakOrder, weighed
from engrave.setting.compose.standing import on_axis
from engrave.setting.fit.free_axis import best_axis
from engrave.setting.fit.layout import Layout, Stack
from engrave.setting.fit.line_breaking import Break
from engrave.setting.fit.prepared_room import PreparedRoom
from engrave.setting.fit.solver import SIZE_STEP, SizeSearch
from engrave.setting.reading_frame import ReadingFrame
from engrave.shop.models import Setting
from engrave.shop.settings import Align

SIZES_TRIED = 6
"""Sizes at which breaks are gathered, from the largest down to what may be given up for looks."""

OFF_AXIS_GAIN = 1.25
"""A lid with a mirror axis keeps its words on it unless they come out a quarter larger beside it: less than that, and
the eye sees only that they are out of the middle."""

ON_AXIS_GAIN = 1.05
"""A gap opened inside one field, round a knob on the axis, must gain this much; between two fields it need gain
nothing, as the knob then parts what is apart anyway."""

BESIDE_GAIN = 1.2
"""The same round something beside the axis, where the wide gap looks like a mistake."""

COMPOSED_ACCURACY = 3e-4
"""Relative: how near to its best a composed size comes where something is in the way: 3 micrometres on 10 mm."""

Off = Callable[[Break, float], float]


def _anywhere(_chosen: Break, _size: float) -> float:
    """Stand anywhere."""
    return 0.0


def searched(
    frame: ReadingFrame, room: PreparedRoom, stack: Stack, ceiling: float, least: float
) -> tuple[SizeSearch, tuple[Break, float]] | None:
    """Return the search on the axis on which the words will stand, with its best; None if they fit nowhere."""
    axis = frame.axis if frame.axis is not None else best_axis(room, stack, ceiling, least)
    if axis is None:
        return None
    search = search_on(room, stack, axis, least)
    best = search.best(ceiling, least)
    size = best[1] if best else 0.0
    found = (search, best) if best else None
    if frame.axis is not None and size < ceiling and not frame.mirrored:
        for x in other_axes(frame):
            other = search_on(room, stack, x, least)
            larger = other.best(ceiling, max(OFF_AXIS_GAIN * size, least))
            if larger:
                found, size = (other, larger), larger[1]
    return found


def search_on(
    room: PreparedRoom, stack: Stack, axis: float, least: float, align: Align = "centre", block: float = 0.0,
    layout: Layout | None = None,
) -> SizeSearch:  # fmt: skip
    """Return a search for words that keep together on an axis, as exact as a composed size need be."""
    search = SizeSearch(room, stack, axis, True, least, align, block, layout)
    search.halved = COMPOSED_ACCURACY
    return search


def other_axes(frame: ReadingFrame) -> list[float]:
    """Return axes beside a lid's own worth trying: the middle of its room and the middle of the room's widest part."""
    room = frame.solving.shape
    low, _, high, _ = room.bounds
    found = [(low + high) / 2, float(room.centroid.x), float(room.representative_point().x)]
    own = frame.axis if frame.axis is not None else float("inf")
    return [x for x in found if abs(x - own) > 0.02 * (high - low)]


def choose(
    search: SizeSearch, best: tuple[Break, float], by: BreakJudge, ceiling: float, least: float, off: Off = _anywhere,
    either_side: bool = False,
) -> tuple[Break, float] | None:  # fmt: skip
    """Return the break with the least loss and the largest size up to the ceiling at which it fits.

    off: what a break at a size loses besides, by standing where it must. either_side: breaks that open round a knob are
    weighed as well where one that does not is larger.
    """
    best = _worth_opening(search, best, least)
    top = min(ceiling, best[1])
    if len(search.layout.ends) == 1 and search.fits(best[0], top):
        return best[0], top  # one word, with nothing to choose from
    opened = either_side or bool(best[0].opened)
    setting = by.setting
    give = setting.even + setting.fewer_lines + setting.joint_plain + setting.short_line
    sizes = [top * (1 - give * k / (SIZES_TRIED - 1)) for k in range(SIZES_TRIED)]
    chosen = _least_lossy(BreakOrder(search, sizes, by, top, opened), off)
    size = top
    while chosen is None:  # smaller need not be easier where something is in the way
        size *= SIZE_STEP
        if size < least:
            return None
        chosen = _least_lossy(BreakOrder(search, [size], by, top, opened), off)
    return chosen


def _least_lossy(found: BreakOrder, off: Off) -> tuple[Break, float] | None:
    """Return the break that loses least where it comes to stand, as large as it fits there; None if there is none."""
    search, top = found.search, found.top
    chosen: tuple[float, Break, float] | None = None
    for loss, of, at in weighed(found):
        most = found.most
        if loss >= most:
            break
        worth = (at + (loss - most) * top) * (1 - EQUAL_LOSS) if chosen is not None else 0.0
        if worth >= top:
            continue  # not even as large as any it would lose less
        full = search.raised(of, at, top, worth) if at < top else top
        bare = loss - (full - at) / top
        whole = bare + off(of, full) if bare < most else most
        if whole < most:
            chosen, found.most = (whole, of, full), whole - EQUAL_LOSS
    return chosen and chosen[1:]


def best_looking(search: SizeSearch, sizes: Sequence[float], by: BreakJudge) -> tuple[Break, float] | None:
    """Return the break with the least loss among those that fit at any of the sizes, and the size where it fits."""
    found = BreakOrder(search, sizes, by, sizes[0], opened=True).next()
    return found[1:] if found else None


def _worth_opening(search: SizeSearch, best: tuple[Break, float], least: float) -> tuple[Break, float]:
    """Return the best fit of lines that keep together instead of one whose opened gap gains too little."""
    chosen, size = best
    if not chosen.opened or _between_fields(search, chosen):
        return best
    gain = ON_AXIS_GAIN if on_axis(search) else BESIDE_GAIN
    together = search.best(size, max(size / gain, least), opened=False)
    return together or best


def _between_fields(search: SizeSearch, found: Break) -> bool:
    layout = search.layout
    before, after = (layout.ends[found.lines[found.opened + k]][0] for k in (-1, 0))
    return layout.field_of[before] != layout.field_of[after]


def aligned(
    search: SizeSearch, found: tuple[Break, float], setting: Setting, frame: ReadingFrame, ceiling: float, least: float
) -> tuple[SizeSearch, tuple[Break, float]]:
    """Return a search whose lines begin (or end) on one upright, and its best break; the block stays on the axis.

    The block is as wide as its widest line, so a few widths are tried: those of the best breaks of centred lines.
    """
    layout = search.layout
    breaks = list(islice(search.breaks_at(found[1] * (1 - setting.even)), 6))
    widths = sorted({max(layout.widths[n] for n in b.lines) for b in [found[0], *breaks]})
    best: tuple[SizeSearch, tuple[Break, float]] | None = None
    for width in widths:
        other = search_on(search.room, search.stack, search.axis, least, setting.align, width)
        most = other.best(ceiling / setting.fill, least)
        by = judge_of(other.layout, setting, frame)
        chosen = choose(other, most, by, ceiling, least) if most else None
        if chosen and (best is None or chosen[1] > best[1][1]):
            best = (other, chosen)
    return best or (search, found)
