"""From what fits to what looks composed: which break, at which size, and where on the lid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice

import numpy as np
from shapely import box as rectangle

from engrave.setting.clearance import lacking
from engrave.setting.evenly import even_break
from engrave.setting.frames import Place
from engrave.setting.free import best_axis
from engrave.setting.layout import Align, Field, Stack
from engrave.setting.passes import Break
from engrave.setting.solver import STEP, Fit, Search
from engrave.setting.spaces import Space, space
from engrave.setting.taste import Judge, judge
from engrave.setting.voices import Voice, measure
from engrave.shop.models import Setting

LEVELS = 3
"""Sizes at which breaks are gathered, from the largest down to what may be given up for looks."""

CANDIDATES = 64
"""Breaks looked at a size; with more words than MANY, one even break is added by a programme over all."""

MANY = 8
"""Words (in all fields) up to which the first CANDIDATES breaks hold all that matter."""

OFF_AXIS = 1.25
"""A lid with a mirror axis keeps its words on it unless they come out a quarter larger beside it: less than that, and
the eye sees only that they are out of the middle."""

OPENED_ON_AXIS = 1.05
"""A gap opened inside one field, round a knob on the axis, must gain this much; between two fields it need gain
nothing, as the knob then parts what is apart anyway."""

OPENED_BESIDE = 1.2
"""The same round something beside the axis, where the wide gap looks like a mistake."""

LOW = 0.1
"""Share of the lid's height by which words may stand off the middle before it is seen as a fault."""

SMALLER = (0.95, 0.9, 0.85)
"""Sizes tried then: up to 15 % is given up for words in the middle, not more; beside a knob there is no middle."""

ABOVE = tuple(1.0 - 0.005 * k for k in range(13))
"""Shares of the size at which words below a knob are tried above it. By width alone 'Eve' fits 5.5 % larger below, as
its foot is narrow; nobody sees 6 %, and everybody one name below the knob among others above (common practice, no
source)."""

HALVED = 3e-4
"""Relative: how near to its best a composed size comes where something is in the way: 3 micrometres on 10 mm."""

NO_LOSS = 1e-9
"""Losses nearer than this are equal, so that rounding never decides between two breaks."""

REPITCHED = 5
"""Times the pitch is widened until no two lines come too near; once is nearly always enough."""


@dataclass(frozen=True, slots=True, eq=False)
class Composed:
    """Words with break, size and place decided. fit: in the reader's frame; away: mm above where they would be best."""

    voices: tuple[Voice, ...]
    search: Search
    chosen: Break
    size: float
    fit: Fit
    away: float


def stack_of(voices: Sequence[Voice], setting: Setting) -> Stack:
    """Return the voices as a stack with their pitches."""
    fields = tuple(Field(v.ratio, tuple(w.unit for w in v.words)) for v in voices)
    return Stack(fields, voices[0].pitch, setting.field_gap, tuple(v.pitch for v in voices))


def compose(
    place: Place, voices: tuple[Voice, ...], setting: Setting, ceiling: float, least: float, border: bool
) -> Composed | None:
    """Return the words composed as large as room and ceiling (mm) allow, or None if they fit at no size above least."""
    for where in _tidy_places(place, setting):
        found = _compose(where, voices, setting, ceiling, least, border)
        if found is not None:
            return found
    return None


def _compose(
    place: Place, voices: tuple[Voice, ...], setting: Setting, ceiling: float, least: float, border: bool
) -> Composed | None:
    assert place.solving is not None
    top = ceiling / setting.fill
    found = _searched(place, place.solving, stack_of(voices, setting), top, least)
    for attempt in range(REPITCHED):
        if found is None:
            return None
        search, best = found
        wider = _repitched(search.stack, voices, search, best[0])
        if wider == search.stack:
            chosen = _chosen(search, best, setting, place, ceiling, least)
            if chosen is None:
                return None
            if setting.align != "centre":
                search, chosen = _aligned(search, chosen, setting, place, ceiling, least)
            wider = _repitched(search.stack, voices, search, chosen[0])
            if wider == search.stack or attempt == REPITCHED - 1:
                composed = stood(place, voices, setting, search, *chosen, border=border)
                return _centred(place, _lifted(composed, ABOVE), setting, border)
        search.restack(wider)
        again = search.best(min(top, best[1]), least)  # no wider pitch lets words grow
        found = (search, again) if again else None
    return None


def _tidy_places(place: Place, setting: Setting) -> tuple[Place, ...]:
    """Return the place as it is to be tried: lines from the left (or right) first without the band beside a knob.

    A short line there would look wedged between the block's edge and the knob; centred lines never stand there.
    """
    banded = None if setting.align == "centre" else _banded(place)
    return (place,) if banded is None else (banded, place)


@lru_cache(maxsize=256)  # as many as lids times grooves in a week
def _banded(place: Place) -> Place | None:
    """Return a place without the band across it at the height of what stands on its axis; None if nothing does."""
    room = place.solving
    assert room is not None
    axis = place.axis if place.axis is not None else (room.box[0] + room.box[2]) / 2
    on_axis = [o for o in room.obstacles if o.x[0] < axis < o.x[-1]]
    if not on_axis:
        return None
    low, high = min(o.low.min() for o in on_axis), max(o.high.max() for o in on_axis)
    left = room.shape.difference(rectangle(room.box[0] - 1.0, low, room.box[2] + 1.0, high))
    return None if left.is_empty else replace(place, solving=space(left))


def compose_at(place: Place, voices: tuple[Voice, ...], setting: Setting, cap: float, border: bool) -> Composed | None:
    """Return the words set at just this cap height, or None.

    Pieces that belong together look alike: where they have as many lines of as many fields, alike lids get the same
    baselines, as pitch and place then come from the capitals, not from which letters have tails or accents.
    """
    for where in _tidy_places(place, setting):
        found = _compose_at(where, voices, setting, cap, border)
        if found is not None:
            return found
    return None


def _compose_at(place: Place, voices: tuple[Voice, ...], setting: Setting, cap: float, border: bool) -> Composed | None:
    assert place.solving is not None
    alike = tuple(replace(v, pitch=setting.pitch_mixed) for v in voices)  # wider only where letters would touch
    stack = stack_of(alike, setting)
    for attempt in range(REPITCHED):
        at = _at(place, place.solving, stack, setting, cap)
        if at is None:
            return None
        search, found = at
        wider = _repitched(stack, alike, search, found[0])
        if wider == stack or attempt == REPITCHED - 1:
            return _lifted(stood(place, alike, setting, search, *found, border=border, capitals=True), (1.0,))
        stack = wider
    return None


def _at(
    place: Place, room: Space, stack: Stack, setting: Setting, cap: float
) -> tuple[Search, tuple[Break, float]] | None:
    """Return the search and the best looking break at just one size, on the first axis on which it fits."""
    own = place.axis if place.axis is not None else best_axis(room, stack, cap, cap)
    for x in [*([] if own is None else [own]), *_other_axes(place)]:
        search = _search(room, stack, x, cap)
        found = _best_looking(search, [cap], judge(search.layout, setting, place)) if search.layout.complete else None
        if found is not None and setting.align != "centre":
            search, found = _aligned(search, found, setting, place, cap, cap)
        if found is not None and found[1] >= cap * (1 - 1e-9):
            return search, found
    return None


# --- size and break ---------------------------------------------------------------------------------------------


def _searched(
    place: Place, room: Space, stack: Stack, ceiling: float, least: float
) -> tuple[Search, tuple[Break, float]] | None:
    """Return the search on the axis on which the words will stand, with its best; None if they fit nowhere."""
    axis = place.axis if place.axis is not None else best_axis(room, stack, ceiling, least)
    if axis is None:
        return None
    search = _search(room, stack, axis, least)
    best = search.best(ceiling, least)
    size = best[1] if best else 0.0
    found = (search, best) if best else None
    if place.axis is not None and size < ceiling and not place.mirrored:
        for x in _other_axes(place):
            other = _search(room, stack, x, least)
            larger = other.best(ceiling, max(OFF_AXIS * size, least))
            if larger:
                found, size = (other, larger), larger[1]
    return found


def _search(
    room: Space, stack: Stack, axis: float, least: float, align: Align = "centre", block: float = 0.0
) -> Search:
    search = Search(room, stack, axis, True, least, align, block)
    search.halved = HALVED
    return search


def _other_axes(place: Place) -> list[float]:
    """Return axes beside a lid's own worth trying: the middle of its room and the middle of the room's widest part."""
    assert place.solving is not None
    room = place.solving.shape
    low, _, high, _ = room.bounds
    found = [(low + high) / 2, float(room.centroid.x), float(room.representative_point().x)]
    own = place.axis if place.axis is not None else float("inf")
    return [x for x in found if abs(x - own) > 0.02 * (high - low)]


def _chosen(
    search: Search, best: tuple[Break, float], setting: Setting, place: Place, ceiling: float, least: float
) -> tuple[Break, float] | None:
    best = _worth_opening(search, best, least)
    top = min(ceiling, best[1] * setting.fill)
    opened = bool(best[0].opened)
    give = setting.even + setting.fewer_lines
    sizes = [top * (1 - give * k / (LEVELS - 1)) for k in range(LEVELS)]
    by = judge(search.layout, setting, place)
    found = _best_looking(search, sizes, by, top, opened)
    size = top
    while found is None:  # smaller need not be easier where something is in the way
        size *= STEP
        if size < least:
            return None
        found = _best_looking(search, [size], by, top, opened)
    chosen, at = found
    return chosen, search.raised(chosen, at, top) if at < top else top


def _worth_opening(search: Search, best: tuple[Break, float], least: float) -> tuple[Break, float]:
    """Return the best fit of lines that keep together instead of one whose opened gap gains too little."""
    chosen, size = best
    if not chosen.opened or _between_fields(search, chosen):
        return best
    gain = OPENED_ON_AXIS if _on_axis(search) else OPENED_BESIDE
    together = search.best(size, max(size / gain, least), opened=False)
    return together or best


def _between_fields(search: Search, found: Break) -> bool:
    layout = search.layout
    before, after = (layout.ends[found.lines[found.opened + k]][0] for k in (-1, 0))
    return layout.field_of[before] != layout.field_of[after]


def _on_axis(search: Search) -> bool:
    return any(o.x[0] < search.axis < o.x[-1] for o in search.room.obstacles)


def _best_looking(
    search: Search, sizes: Sequence[float], by: Judge, top: float | None = None, opened: bool = True
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
            if best is None or loss < best[0] - NO_LOSS:
                best = (loss, found, size)
    return (best[1], best[2]) if best else None


def _candidates(search: Search, size: float, by: Judge, opened: bool) -> Iterator[Break]:
    yield from islice(search.breaks_at(size, opened), CANDIDATES)
    if search.layout.count > MANY:
        even = even_break(search, size, by)
        if even is not None:
            yield even


# --- alignment --------------------------------------------------------------------------------------------------


def _aligned(
    search: Search, found: tuple[Break, float], setting: Setting, place: Place, ceiling: float, least: float
) -> tuple[Search, tuple[Break, float]]:
    """Return a search whose lines begin (or end) on one upright, and its best break; the block stays on the axis.

    The block is as wide as its widest line, so a few widths are tried: those of the best breaks of centred lines.
    """
    layout = search.layout
    breaks = list(islice(search.breaks_at(found[1] * (1 - setting.even)), 6))
    widths = sorted({max(layout.widths[n] for n in b.lines) for b in [found[0], *breaks]})
    best: tuple[Search, tuple[Break, float]] | None = None
    for width in widths:
        other = _search(search.room, search.stack, search.axis, least, setting.align, width)
        most = other.best(ceiling / setting.fill, least)
        chosen = _chosen(other, most, setting, place, ceiling, least) if most else None
        if chosen and (best is None or chosen[1] > best[1][1]):
            best = (other, chosen)
    return best or (search, found)


# --- pitch and place --------------------------------------------------------------------------------------------


def _repitched(stack: Stack, voices: Sequence[Voice], search: Search, chosen: Break) -> Stack:
    """Return the stack with pitches widened where two lines would come too near; the same one if none would."""
    layout = search.layout
    pitches = list(stack.pitches)
    gap = stack.field_gap
    for a, b in zip(chosen.lines[:-1], chosen.lines[1:], strict=True):
        if chosen.opened and b == chosen.lines[chosen.opened]:
            continue
        short = lacking(voices, layout, a, b)
        if short <= 0:
            continue
        f, g = layout.field_of[layout.ends[a][0]], layout.field_of[layout.ends[b][0]]
        if f == g:
            pitches[f] = max(pitches[f], stack.pitches[f] + short / stack.fields[f].ratio)
        else:
            gap = max(gap, stack.field_gap + short)
    return replace(stack, pitches=tuple(pitches), field_gap=gap)


def stood(
    place: Place, voices: tuple[Voice, ...], setting: Setting, search: Search, chosen: Break, size: float, *,
    border: bool, capitals: bool = False,
) -> Composed:  # fmt: skip
    """Return a break at a size at which it fits, stood as near to where it looks best as the room allows.

    border: centred on the ink's box, as a frame around it would show otherwise. capitals: on the capitals alone.
    """
    own = _box_middle(search, chosen)
    if not border:
        own = (own + _ink_middle(voices, search, chosen)) / 2
    if capitals:
        drops = search.layout.drops(chosen.lines)
        own = (1.0 - drops[-1]) / 2
    raised = 0.0 if border else setting.optical * place.height
    wish = place.middle + raised - own * size
    fit = search.fit(chosen, size, wish)
    return Composed(voices, search, chosen, size, fit, fit.baselines[0] - wish)


def _lifted(composed: Composed, shares: Sequence[float]) -> Composed:
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


def _centred(place: Place, composed: Composed, setting: Setting, border: bool) -> Composed:
    """Return the words a little smaller instead, if that brings them from beside the middle into it."""
    search, away = composed.search, abs(composed.away)
    if composed.chosen.opened or away < LOW * place.height:
        return composed
    for share in SMALLER:
        size = composed.size * share
        for found in islice(search.breaks_at(size, False), CANDIDATES):
            again = stood(place, composed.voices, setting, search, found, size, border=border)
            if abs(again.away) < LOW / 2 * place.height:
                return again
    return composed


def _box_middle(search: Search, chosen: Break) -> float:
    """Return the middle of the ink's box over the first baseline, in caps of ratio 1."""
    layout = search.layout
    tops, bottoms = [], []
    for n, drop in zip(chosen.lines, layout.drops(chosen.lines), strict=True):
        i, j = layout.ends[n]
        hull = np.concatenate([u.hull[:, 1] for u in layout.units[i:j]]) * search.stack.fields[layout.field_of[i]].ratio
        tops.append(hull.max() - drop)
        bottoms.append(hull.min() - drop)
    return float((max(tops) + min(bottoms)) / 2)


def _ink_middle(voices: Sequence[Voice], search: Search, chosen: Break) -> float:
    """Return the centroid of the ink over the first baseline, in caps of ratio 1."""
    words = [(v, w) for v in voices for w in v.words]
    ink = moment = 0.0
    for n, drop in zip(chosen.lines, search.layout.drops(chosen.lines), strict=True):
        i, j = search.layout.ends[n]
        for voice, word in words[i:j]:
            for p in word.placed:
                m = measure(p.glyph)
                if m:
                    weight = m.ink * (p.scale * voice.ratio) ** 2
                    ink += weight
                    moment += weight * ((p.y + m.centre_y * p.scale) * voice.ratio - drop)
    return moment / ink if ink else 0.5
