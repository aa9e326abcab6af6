"""From what fits to what looks composed: which break, at which size, and where on the lid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice

import numpy as np
from shapely import box as rectangle

from engrave.setting.compose.break_judge import BreakJudge, judge_of
from engrave.setting.compose.even_breaks import even_break
from engrave.setting.compose.line_clearance import lacking_between
from engrave.setting.fit.free_axis import best_axis
from engrave.setting.fit.layout import Align, Field, Stack
from engrave.setting.fit.line_breaking import Break
from engrave.setting.fit.prepared_room import PreparedRoom, prepare_room
from engrave.setting.fit.solver import SIZE_STEP, Fit, SizeSearch
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.fields import ShapedField
from engrave.setting.text.glyph_shapes import glyph_shape
from engrave.shop.models import Setting

SIZES_TRIED = 3
"""Sizes at which breaks are gathered, from the largest down to what may be given up for looks."""

BREAKS_TRIED = 64
"""Breaks looked at a size; with more words than MANY_WORDS, one even break is added by a programme over all."""

MANY_WORDS = 8
"""Words (in all fields) up to which the first BREAKS_TRIED breaks hold all that matter."""

OFF_AXIS_GAIN = 1.25
"""A lid with a mirror axis keeps its words on it unless they come out a quarter larger beside it: less than that, and
the eye sees only that they are out of the middle."""

ON_AXIS_GAIN = 1.05
"""A gap opened inside one field, round a knob on the axis, must gain this much; between two fields it need gain
nothing, as the knob then parts what is apart anyway."""

BESIDE_GAIN = 1.2
"""The same round something beside the axis, where the wide gap looks like a mistake."""

SEEN_OFF_MIDDLE = 0.1
"""Share of the lid's height by which words may stand off the middle before it is seen as a fault."""

CENTRED_SHARES = (0.95, 0.9, 0.85)
"""Sizes tried then: up to 15 % is given up for words in the middle, not more; beside a knob there is no middle."""

ABOVE_KNOB_SHARES = tuple(1.0 - 0.005 * k for k in range(13))
"""Shares of the size at which words below a knob are tried above it. By width alone 'Eve' fits 5.5 % larger below, as
its foot is narrow; nobody sees 6 %, and everybody one name below the knob among others above (common practice, no
source)."""

COMPOSED_ACCURACY = 3e-4
"""Relative: how near to its best a composed size comes where something is in the way: 3 micrometres on 10 mm."""

EQUAL_LOSS = 1e-9
"""Losses nearer than this are equal, so that rounding never decides between two breaks."""

REPITCH_ROUNDS = 5
"""Times the pitch is widened until no two lines come too near; once is nearly always enough."""


@dataclass(frozen=True, slots=True, eq=False)
class Composition:
    """Words with break, size and place decided. fit: in the reader's frame; away: mm above where they would be best."""

    fields: tuple[ShapedField, ...]
    search: SizeSearch
    chosen: Break
    size: float
    fit: Fit
    away: float


def stack_of(fields: Sequence[ShapedField], setting: Setting) -> Stack:
    """Return the fields as a stack with their pitches."""
    of_units = tuple(Field(v.ratio, tuple(w.unit for w in v.words)) for v in fields)
    return Stack(of_units, fields[0].pitch, setting.field_gap, tuple(v.pitch for v in fields))


def compose_largest(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, ceiling: float, least: float, border: bool
) -> Composition | None:
    """Return the words composed as large as room and ceiling (mm) allow, or None if they fit at no size above least."""
    for where in _tidy_places(frame, setting):
        found = _compose(where, fields, setting, ceiling, least, border)
        if found is not None:
            return found
    return None


def _compose(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, ceiling: float, least: float, border: bool
) -> Composition | None:
    top = ceiling / setting.fill
    found = _searched(frame, frame.solving, stack_of(fields, setting), top, least)
    for attempt in range(REPITCH_ROUNDS):
        if found is None:
            return None
        search, best = found
        wider = _repitched(search.stack, fields, search, best[0])
        if wider == search.stack:
            chosen = _chosen(search, best, setting, frame, ceiling, least)
            if chosen is None:
                return None
            if setting.align != "centre":
                search, chosen = _aligned(search, chosen, setting, frame, ceiling, least)
            wider = _repitched(search.stack, fields, search, chosen[0])
            if wider == search.stack or attempt == REPITCH_ROUNDS - 1:
                composed = stood(frame, fields, setting, search, *chosen, border=border)
                return _centred(frame, _lifted(composed, ABOVE_KNOB_SHARES), setting, border)
        search.restack(wider)
        again = search.best(min(top, best[1]), least)  # no wider pitch lets words grow
        found = (search, again) if again else None
    return None


def _tidy_places(frame: ReadingFrame, setting: Setting) -> tuple[ReadingFrame, ...]:
    """Return the place as it is to be tried: lines from the left (or right) first without the band beside a knob.

    A short line there would look wedged between the block's edge and the knob; centred lines never stand there.
    """
    banded = None if setting.align == "centre" else _banded(frame)
    return (frame,) if banded is None else (banded, frame)


@lru_cache(maxsize=256)  # as many as lids times grooves in a week
def _banded(frame: ReadingFrame) -> ReadingFrame | None:
    """Return a place without the band across it at the height of what stands on its axis; None if nothing does."""
    room = frame.solving
    axis = frame.axis if frame.axis is not None else (room.box[0] + room.box[2]) / 2
    on_axis = [o for o in room.obstacles if o.x[0] < axis < o.x[-1]]
    if not on_axis:
        return None
    low, high = min(o.low.min() for o in on_axis), max(o.high.max() for o in on_axis)
    left = room.shape.difference(rectangle(room.box[0] - 1.0, low, room.box[2] + 1.0, high))
    return None if left.is_empty else replace(frame, solving=prepare_room(left))


def compose_at(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, cap: float, border: bool
) -> Composition | None:
    """Return the words set at just this cap height, or None.

    Pieces that belong together look alike: where they have as many lines of as many fields, alike lids get the same
    baselines, as pitch and place then come from the capitals, not from which letters have tails or accents.
    """
    for where in _tidy_places(frame, setting):
        found = _compose_at(where, fields, setting, cap, border)
        if found is not None:
            return found
    return None


def _compose_at(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, cap: float, border: bool
) -> Composition | None:
    alike = tuple(replace(v, pitch=setting.pitch_mixed) for v in fields)  # wider only where letters would touch
    stack = stack_of(alike, setting)
    for attempt in range(REPITCH_ROUNDS):
        at = _at(frame, frame.solving, stack, setting, cap)
        if at is None:
            return None
        search, found = at
        wider = _repitched(stack, alike, search, found[0])
        if wider == stack or attempt == REPITCH_ROUNDS - 1:
            return _lifted(stood(frame, alike, setting, search, *found, border=border, capitals=True), (1.0,))
        stack = wider
    return None


def _at(
    frame: ReadingFrame, room: PreparedRoom, stack: Stack, setting: Setting, cap: float
) -> tuple[SizeSearch, tuple[Break, float]] | None:
    """Return the search and the best looking break at just one size, on the first axis on which it fits."""
    own = frame.axis if frame.axis is not None else best_axis(room, stack, cap, cap)
    for x in [*([] if own is None else [own]), *_other_axes(frame)]:
        search = _search(room, stack, x, cap)
        found = (
            _best_looking(search, [cap], judge_of(search.layout, setting, frame)) if search.layout.complete else None
        )
        if found is not None and setting.align != "centre":
            search, found = _aligned(search, found, setting, frame, cap, cap)
        if found is not None and found[1] >= cap * (1 - 1e-9):
            return search, found
    return None


# --- size and break ---------------------------------------------------------------------------------------------


def _searched(
    frame: ReadingFrame, room: PreparedRoom, stack: Stack, ceiling: float, least: float
) -> tuple[SizeSearch, tuple[Break, float]] | None:
    """Return the search on the axis on which the words will stand, with its best; None if they fit nowhere."""
    axis = frame.axis if frame.axis is not None else best_axis(room, stack, ceiling, least)
    if axis is None:
        return None
    search = _search(room, stack, axis, least)
    best = search.best(ceiling, least)
    size = best[1] if best else 0.0
    found = (search, best) if best else None
    if frame.axis is not None and size < ceiling and not frame.mirrored:
        for x in _other_axes(frame):
            other = _search(room, stack, x, least)
            larger = other.best(ceiling, max(OFF_AXIS_GAIN * size, least))
            if larger:
                found, size = (other, larger), larger[1]
    return found


def _search(
    room: PreparedRoom, stack: Stack, axis: float, least: float, align: Align = "centre", block: float = 0.0
) -> SizeSearch:
    search = SizeSearch(room, stack, axis, True, least, align, block)
    search.halved = COMPOSED_ACCURACY
    return search


def _other_axes(frame: ReadingFrame) -> list[float]:
    """Return axes beside a lid's own worth trying: the middle of its room and the middle of the room's widest part."""
    room = frame.solving.shape
    low, _, high, _ = room.bounds
    found = [(low + high) / 2, float(room.centroid.x), float(room.representative_point().x)]
    own = frame.axis if frame.axis is not None else float("inf")
    return [x for x in found if abs(x - own) > 0.02 * (high - low)]


def _chosen(
    search: SizeSearch, best: tuple[Break, float], setting: Setting, frame: ReadingFrame, ceiling: float, least: float
) -> tuple[Break, float] | None:
    best = _worth_opening(search, best, least)
    top = min(ceiling, best[1] * setting.fill)
    opened = bool(best[0].opened)
    give = setting.even + setting.fewer_lines
    sizes = [top * (1 - give * k / (SIZES_TRIED - 1)) for k in range(SIZES_TRIED)]
    by = judge_of(search.layout, setting, frame)
    found = _best_looking(search, sizes, by, top, opened)
    size = top
    while found is None:  # smaller need not be easier where something is in the way
        size *= SIZE_STEP
        if size < least:
            return None
        found = _best_looking(search, [size], by, top, opened)
    chosen, at = found
    return chosen, search.raised(chosen, at, top) if at < top else top


def _worth_opening(search: SizeSearch, best: tuple[Break, float], least: float) -> tuple[Break, float]:
    """Return the best fit of lines that keep together instead of one whose opened gap gains too little."""
    chosen, size = best
    if not chosen.opened or _between_fields(search, chosen):
        return best
    gain = ON_AXIS_GAIN if _on_axis(search) else BESIDE_GAIN
    together = search.best(size, max(size / gain, least), opened=False)
    return together or best


def _between_fields(search: SizeSearch, found: Break) -> bool:
    layout = search.layout
    before, after = (layout.ends[found.lines[found.opened + k]][0] for k in (-1, 0))
    return layout.field_of[before] != layout.field_of[after]


def _on_axis(search: SizeSearch) -> bool:
    return any(o.x[0] < search.axis < o.x[-1] for o in search.room.obstacles)


def _best_looking(
    search: SizeSearch, sizes: Sequence[float], by: BreakJudge, top: float | None = None, opened: bool = True
) -> tuple[Break, float] | None:
    """Return the break with the least loss among those that fit at any of the sizes, and the size where it fits."""
    best: tuple[float, Break, float] | None = None
    seen: set[Break] = set()
    for size in sizes:
        given_up = 1 - size / (top or size)
        for found in _candidates(search, size, by, opened):
            if found in seen:
                continue
            seen.add(found)
            loss = given_up + by.loss(found)
            if best is None or loss < best[0] - EQUAL_LOSS:
                best = (loss, found, size)
    return (best[1], best[2]) if best else None


def _candidates(search: SizeSearch, size: float, by: BreakJudge, opened: bool) -> Iterator[Break]:
    yield from islice(search.breaks_at(size, opened), BREAKS_TRIED)
    if search.layout.count > MANY_WORDS:
        even = even_break(search, size, by)
        if even is not None:
            yield even


# --- alignment --------------------------------------------------------------------------------------------------


def _aligned(
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
        other = _search(search.room, search.stack, search.axis, least, setting.align, width)
        most = other.best(ceiling / setting.fill, least)
        chosen = _chosen(other, most, setting, frame, ceiling, least) if most else None
        if chosen and (best is None or chosen[1] > best[1][1]):
            best = (other, chosen)
    return best or (search, found)


# --- pitch and place --------------------------------------------------------------------------------------------


def _repitched(stack: Stack, fields: Sequence[ShapedField], search: SizeSearch, chosen: Break) -> Stack:
    """Return the stack with pitches widened where two lines would come too near; the same one if none would."""
    layout = search.layout
    pitches = list(stack.pitches)
    gap = stack.field_gap
    for a, b in zip(chosen.lines[:-1], chosen.lines[1:], strict=True):
        if chosen.opened and b == chosen.lines[chosen.opened]:
            continue
        short = lacking_between(fields, layout, a, b)
        if short <= 0:
            continue
        f, g = layout.field_of[layout.ends[a][0]], layout.field_of[layout.ends[b][0]]
        if f == g:
            pitches[f] = max(pitches[f], stack.pitches[f] + short / stack.fields[f].ratio)
        else:
            gap = max(gap, stack.field_gap + short)
    return replace(stack, pitches=tuple(pitches), field_gap=gap)


def stood(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, search: SizeSearch, chosen: Break, size: float, *,
    border: bool, capitals: bool = False,
) -> Composition:  # fmt: skip
    """Return a break at a size at which it fits, stood as near to where it looks best as the room allows.

    border: centred on the ink's box, as a frame around it would show otherwise. capitals: on the capitals alone.
    """
    own = _box_middle(search, chosen)
    if not border:
        own = (own + _ink_middle(fields, search, chosen)) / 2
    if capitals:
        drops = search.layout.drops(chosen.lines)
        own = (1.0 - drops[-1]) / 2
    raised = 0.0 if border else setting.optical * frame.height
    wish = frame.middle + raised - own * size
    fit = search.fit(chosen, size, wish)
    return Composition(fields, search, chosen, size, fit, fit.baselines[0] - wish)


def _lifted(composed: Composition, shares: Sequence[float]) -> Composition:
    """Return words that stand below a knob on the axis above it instead, at the largest share at which they fit there.

    So that a letterer's habit holds: what is read first stands on top.
    """
    search, chosen = composed.search, composed.chosen
    if chosen.opened or composed.away >= 0 or not _on_axis(search):
        return composed
    for share in shares:
        size = composed.size * share
        wish = composed.fit.baselines[0] - composed.away
        spans = search.block(chosen.lines, search.layout.baselines(size, chosen.lines), size)
        over = [(low, high) for low, high in spans if low > wish]
        if over:
            low, high = over[0]
            fit = search.fit(chosen, size, low + min(low - wish, (high - low) / 2))
            return replace(composed, size=size, fit=fit, away=fit.baselines[0] - wish)
    return composed


def _centred(frame: ReadingFrame, composed: Composition, setting: Setting, border: bool) -> Composition:
    """Return the words a little smaller instead, if that brings them from beside the middle into it."""
    search, away = composed.search, abs(composed.away)
    if composed.chosen.opened or away < SEEN_OFF_MIDDLE * frame.height:
        return composed
    for share in CENTRED_SHARES:
        size = composed.size * share
        for found in islice(search.breaks_at(size, False), BREAKS_TRIED):
            again = stood(frame, composed.fields, setting, search, found, size, border=border)
            if abs(again.away) < SEEN_OFF_MIDDLE / 2 * frame.height:
                return again
    return composed


def _box_middle(search: SizeSearch, chosen: Break) -> float:
    """Return the middle of the ink's box over the first baseline, in caps of ratio 1."""
    layout = search.layout
    tops, bottoms = [], []
    for n, drop in zip(chosen.lines, layout.drops(chosen.lines), strict=True):
        i, j = layout.ends[n]
        hull = np.concatenate([u.hull[:, 1] for u in layout.units[i:j]]) * search.stack.fields[layout.field_of[i]].ratio
        tops.append(hull.max() - drop)
        bottoms.append(hull.min() - drop)
    return float((max(tops) + min(bottoms)) / 2)


def _ink_middle(fields: Sequence[ShapedField], search: SizeSearch, chosen: Break) -> float:
    """Return the centroid of the ink over the first baseline, in caps of ratio 1."""
    words = [(v, w) for v in fields for w in v.words]
    ink = moment = 0.0
    for n, drop in zip(chosen.lines, search.layout.drops(chosen.lines), strict=True):
        i, j = search.layout.ends[n]
        for shaped, word in words[i:j]:
            for p in word.placed:
                m = glyph_shape(p.glyph)
                if m:
                    weight = m.ink * (p.scale * shaped.ratio) ** 2
                    ink += weight
                    moment += weight * ((p.y + m.centre_y * p.scale) * shaped.ratio - drop)
    return moment / ink if ink else 0.5
