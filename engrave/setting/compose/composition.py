"""From what fits to what looks composed: which break, at which size, and where on the lid."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from engrave.cache import CacheKind
from engrave.setting.compose.break_choice import (
    SIZES_TRIED,
    aligned,
    best_looking,
    choose,
    other_axes,
    search_on,
    searched,
)
from engrave.setting.compose.break_judge import BreakJudge, judge_of
from engrave.setting.compose.break_order import EQUAL_LOSS
from engrave.setting.compose.line_clearance import lacking_between
from engrave.setting.compose.parting_gain import HullBound, ToBeat, fewer_may_win, knob_on
from engrave.setting.compose.standing import (
    MIDDLE_MOST,
    ONE_SIDED,
    Composition,
    in_the_middle,
    lifted,
    off_middle,
    stood,
    stood_central,
)
from engrave.setting.fit.free_axis import best_axis
from engrave.setting.fit.layout import Field, Layout, Stack
from engrave.setting.fit.line_breaking import Break
from engrave.setting.fit.prepared_room import PreparedRoom
from engrave.setting.fit.solver import SIZE_STEP, SizeSearch
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.fields import ShapedField
from engrave.shop.models import Setting
from engrave.typefaces.run import ORNAMENT

HELD_BY_BUYER = 3
"""Grip of what the buyer typed in one line: see `Silhouette.grip`."""

BUYER_PRICE = 2.0
"""Parting a line that the buyer typed costs more than anything but words too small to be read."""

UNREADABLE_LOSS = 4.0
"""What words too small to be read lose: more than all joints together."""

SMALLEST_SHARE = 0.765
"""Share of the calm size below which nothing more is given up for sense, air and middle; of the largest size that fits it is
0.65 where the setting fills 0.85."""

AIR_MOST, AIR_STEPS = 0.12, 4
"""Share of the size given up at most for air, beyond the setting's calm, and in how many steps it is sought."""

FOOT_UNDER = 0.5
"""Clear wood over a foot at least, in capitals of what stands above it: half a letter's height, the least of what hands
leave (Johnston, 1906), or a date clings to a large name closer than its own lines stand."""

BEYOND_PRICE = 2.0
"""What size given up beyond that for weak joints and looks counts besides, so that a line of all words is no half as large."""

REPITCH_ROUNDS = 5
"""Times the pitch is widened until no two lines come too near; once is nearly always enough."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """Cap heights in mm of ratio 1: the greatest that taste allows, the least searched, the least that can be read.

    parts: words that could not be read otherwise part what belongs together, whatever it costs.
    """

    ceiling: float
    least: float
    readable: float = 0.0
    parts: bool = False


def stack_of(fields: Sequence[ShapedField], setting: Setting, hold: int = 0, nominal: bool = False) -> Stack:
    """Return the fields as a stack with their pitches. hold, nominal: see `Stack`."""
    of_units = tuple(Field(v.ratio, tuple(w.unit for w in v.words)) for v in fields)
    pitches = tuple(v.pitch for v in fields)
    above = (None, *fields)
    gaps = tuple(_clear_over(v, above[i], setting, setting.field_gap) for i, v in enumerate(fields))
    level = tuple(_clear_over(v, above[i], setting, setting.level_gap) for i, v in enumerate(fields))
    return Stack(of_units, fields[0].pitch, 0.0, pitches, hold, gaps, level, nominal)


def _clear_over(field: ShapedField, above: ShapedField | None, setting: Setting, usual: float) -> float:
    """Return the clear wood over a field, in its capitals: a small foot is parted from large letters by theirs."""
    if field.field != "foot" or above is None:
        return usual
    return max(setting.foot_gap, FOOT_UNDER * above.ratio / field.ratio)


def compose_largest(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, sizes: Sizes, border: bool
) -> Composition | None:
    """Return the words composed as large as room and ceiling allow, or None if they fit at no size above the least.

    First no joint is parted; then, each time only where that gains more than it costs, weak ones, strong ones, and last
    the lines that the buyer typed, which nothing pays for but words that could not be read otherwise.
    """
    for where in _tidy_places(frame, setting):
        found = _by_sense(where, fields, setting, sizes, border)
        if found is not None:
            return found
    return None


def may_reach(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, sizes: Sizes, size: float
) -> bool:
    """Tell whether words may come out at `size` mm or larger at all: no composition is larger than the best of its search.

    Asked where a composition that is smaller than that would be thrown away; of places for which it is not known it is True.
    """
    if sizes.ceiling < size:
        return False
    if setting.align != "centre" or frame.axis is None:
        return True
    axes = [frame.axis, *([] if frame.mirrored else other_axes(frame))]
    stacks = [stack_of(fields, setting, hold) for hold, _ in _holds(fields, setting)]
    least = size * SIZE_STEP  # from the last size tried below it, a fit may still be raised above it
    return any(search_on(frame.solving, stack, x, least).best(sizes.ceiling, least) for stack in stacks for x in axes)


def _by_sense(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, sizes: Sizes, border: bool
) -> Composition | None:
    """Return the composition that loses least: size given up, joints parted, unevenness; never for a place in the middle."""
    best: Composition | None = None
    could = 0.0
    for hold, price in _holds(fields, setting):
        if best is not None:
            could = could or _could_be(frame, best, sizes)
            if _loss(best, setting, frame, could, sizes) <= price:
                break
            if _never_outdone(best, fields, hold, setting, frame, could, sizes):
                continue
        found = _compose(frame, fields, setting, sizes, border, hold)
        if found is not None:
            could = max(could, found.full) if could else 0.0
            if best is None or _outdoes(found, best, hold, setting, frame, could or found.full, sizes):
                best = found
    return best and _calmed(frame, best, setting, sizes, border, max(could, best.full))


def _never_outdone(
    best: Composition, fields: tuple[ShapedField, ...], hold: int, setting: Setting, frame: ReadingFrame, could: float, sizes: Sizes
) -> bool:  # fmt: skip
    """Tell whether no composition that holds joints less firmly outdoes the best before it: see `_outdoes`.

    None is larger than `could` as long as pitches are the same. Words that part what the buyer typed are not asked about.
    """
    weak, stack = hold < HELD_BY_BUYER, stack_of(fields, setting, hold)
    if hold > HELD_BY_BUYER or setting.align != "centre" or replace(best.search.stack, hold=hold) != stack:
        return False
    if best.full < _kept_above(weak, setting, could, sizes):
        return False
    if not weak:
        return True
    if (sizes.parts and best.full < sizes.readable) or setting.fill > 1:
        return False
    looks = judge_of(best.search.layout, setting, frame).loss(best.chosen)
    old = ToBeat(best.full, looks, len(best.chosen.lines), could, setting.fill, SMALLEST_SHARE, BEYOND_PRICE)
    lines = Layout(frame.solving.hull, stack, 0.0, max(old.least_size(), sizes.least))
    knob = knob_on(frame.solving, frame.axis if frame.mirrored else None)
    bound = HullBound(lines, bool(frame.solving.obstacles), knob)
    return not fewer_may_win(bound, judge_of(lines, setting, frame), old)


def _kept_above(weak: bool, setting: Setting, could: float, sizes: Sizes) -> float:
    """Return the size in mm from which on joints stay whole, weak ones in no more lines."""
    if weak:
        return (1 - setting.joint_weak) * could
    return max(_smallest(setting, could) * (1 - EQUAL_LOSS), sizes.readable if sizes.parts else 0.0)


def _smallest(setting: Setting, could: float) -> float:
    """Return the size in mm below which nothing more is given up for sense, air and middle."""
    return SMALLEST_SHARE * setting.fill * could


def _outdoes(
    found: Composition, best: Composition, hold: int, setting: Setting, frame: ReadingFrame, could: float, sizes: Sizes
) -> bool:
    """Tell whether a composition that holds joints less firmly is better than the best before it.

    Words that can be read outdo words too small to be cut. Strong joints stay whole within what may be given up in all,
    whatever else speaks for parting them, and weak ones within what they are worth in no more lines. Otherwise what loses
    less is better, where for weak ones the size beyond what may be given up counts dear.
    """
    if sizes.parts and best.full < sizes.readable * (1 - EQUAL_LOSS) and found.full >= sizes.readable:
        return True
    least = _smallest(setting, could) * (1 - EQUAL_LOSS)
    weak = hold < HELD_BY_BUYER
    if best.full >= _kept_above(weak, setting, could, sizes) and (
        not weak or len(best.chosen.lines) <= len(found.chosen.lines)
    ):
        return False
    new, old = (
        _loss(c, setting, frame, could, sizes) + weak * BEYOND_PRICE * max(least - c.full, 0.0) / could
        for c in (found, best)
    )
    return new < old - EQUAL_LOSS


def _holds(fields: Sequence[ShapedField], setting: Setting) -> list[tuple[int, float]]:
    """Return how firmly joints are held, firmest first, each with the least that parting one of the next would cost."""
    grips = {w.unit.grip for f in fields for w in f.words}
    prices = {1: 0.0, 2: setting.joint_weak, 3: min(setting.joint_strong, setting.ampersand), 4: BUYER_PRICE}
    return [(hold, prices[hold]) for hold in prices if hold == 1 or hold - 1 in grips]


COULD_BE: CacheKind[float] = CacheKind("sizes without joints", 64)
"""Sizes that words would have if any joint but the buyer's were parted, by words, axis, greatest and least size."""


def _could_be(frame: ReadingFrame, found: Composition, sizes: Sizes) -> float:
    """Return the size that the words would have on the same axis if any joint but the buyer's were parted."""
    if found.full >= sizes.ceiling * (1 - EQUAL_LOSS):
        return found.full
    free, axis = replace(found.search.stack, hold=HELD_BY_BUYER), found.search.axis
    ceiling = max(sizes.ceiling, found.full)

    def made() -> float:
        best = search_on(frame.solving, free, axis, sizes.least).best(ceiling, sizes.least)
        return best[1] if best else 0.0

    return max(frame.kept.get(COULD_BE, (free, axis, ceiling, sizes.least), made), found.full)


def _loss(found: Composition, setting: Setting, frame: ReadingFrame, could: float, sizes: Sizes) -> float:
    """Return what a composition loses, as a share of the calm size that it could have; unreadable, more than any joint.

    Sizes are those that will be seen: where much is given up for sense, calm gives way.
    """
    looks = judge_of(found.search.layout, setting, frame).loss(found.chosen)
    unreadable = UNREADABLE_LOSS if sizes.parts and found.full < sizes.readable * (1 - 1e-9) else 0.0
    least = _smallest(setting, could)
    seen = min(found.full, max(setting.fill * found.full, least))
    return 1 - seen / (setting.fill * could) + looks + unreadable


COMPOSED: CacheKind[Composition | None] = CacheKind("compositions", 96)
"""Words as large as they fit, by all that this depends on: another share of that size need not search it again."""


def _compose(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, sizes: Sizes, border: bool, hold: int
) -> Composition | None:
    """Return the words as large as they fit with joints held so firmly, stood in the middle."""
    read = replace(setting, fill=1.0) if setting.align == "centre" else setting
    sought = (sizes.ceiling, sizes.least, sizes.readable)
    key = (read, sought, border, stack_of(fields, setting, hold), tuple(v.field for v in fields))

    def made() -> Composition | None:
        found = _composed(frame, fields, setting, sizes, border, hold)
        if found is not None:
            found.search.forget()
        return found

    found = frame.kept.get(COMPOSED, key, made)
    return found and replace(found, fields=fields)


def _composed(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, sizes: Sizes, border: bool, hold: int
) -> Composition | None:
    found = searched(frame, frame.solving, stack_of(fields, setting, hold), sizes.ceiling, sizes.least)
    for attempt in range(REPITCH_ROUNDS):
        if found is None:
            return None
        search, best = found
        wider = _repitched(search.stack, fields, search, best[0])
        if wider == search.stack:
            either_side = len(fields) > 1 and in_the_middle(frame, search)
            middles: dict[tuple[Break, float], Composition] = {}
            off = _off(frame, fields, setting, search, border, sizes.readable, either_side, middles)
            judge = judge_of(search.layout, setting, frame)
            chosen = choose(search, best, judge, sizes.ceiling, sizes.least, off, either_side)
            if chosen is None:
                return None
            if setting.align != "centre":
                search, chosen = aligned(search, chosen, setting, frame, sizes.ceiling, sizes.least)
            wider = _repitched(search.stack, fields, search, chosen[0])
            if wider == search.stack or attempt == REPITCH_ROUNDS - 1:
                there = middles.get(chosen)
                is_weighed = there is not None and there.search is search  # of aligned lines it was not these
                if there is not None and is_weighed and sizes.least <= chosen[1] * (1 - MIDDLE_MOST):
                    return there
                composed = lifted(frame, stood(frame, fields, setting, search, *chosen, border=border))
                has_knob = in_the_middle(frame, search)  # over and under a knob only the calm size is weighed so
                return composed if has_knob else stood_central(frame, composed, setting, border, sizes.least)
        search.restack(wider)
        again = search.best(min(sizes.ceiling, best[1]), sizes.least)  # no wider pitch lets words grow
        found = (search, again) if again else None
    return None


def _off(
    frame: ReadingFrame,
    fields: tuple[ShapedField, ...],
    setting: Setting,
    search: SizeSearch,
    border: bool,
    readable: float,
    either_side: bool,
    middles: dict[tuple[Break, float], Composition],
) -> Callable[[Break, float], float]:
    """Return what tells how much a break at a size loses by where it stands: size given up for the middle, and the rest.

    either_side: several fields are to stand over and under a knob, none of its sides bare. middles: takes in what was
    brought to the middle, without a least size, by break and size.
    """
    has_knob = in_the_middle(frame, search)

    def lost(chosen: Break, size: float) -> float:
        here = lifted(frame, stood(frame, fields, setting, search, chosen, size, border=border))
        unread = UNREADABLE_LOSS if size < readable * (1 - EQUAL_LOSS) else 0.0
        if has_knob:
            sided = ONE_SIDED if either_side and not chosen.opened else 0.0
            return min(MIDDLE_MOST, off_middle(frame, here)) + sided + unread
        central = middles[chosen, size] = stood_central(frame, here, setting, border, 0.0)
        return 1 - central.size / size + off_middle(frame, central) + unread

    return lost


def _calmed(
    frame: ReadingFrame, found: Composition, setting: Setting, sizes: Sizes, border: bool, could: float
) -> Composition:
    """Return the words at the setting's share of the size that fits, as far as they stay readable.

    Size given up for sense counts: together with it no more than SMALLEST_SHARE allows is given up.
    """
    search, chosen = found.search, found.chosen
    whole = search.raised(chosen, found.full, found.full / setting.fill) if setting.fill < 1 else found.full
    most = found.full
    if in_the_middle(frame, search) and found.size < found.full:  # lifted over a knob: calm never drops it there again
        whole = most = found.size
    least = min(max(SMALLEST_SHARE * setting.fill * could, sizes.readable), most)
    size = min(most, max(setting.fill * whole, least))
    aired = _aired(frame, found, setting, border, size, least)
    if aired is not None:
        return aired
    if size >= found.full * (1 - EQUAL_LOSS):
        stands = found.size >= least and not in_the_middle(frame, search)
        return found if stands else _central(frame, found, setting, border, found.full, least)
    while not search.fits(chosen, size):  # smaller need not be easier where something is in the way
        size += (found.full - size) / 4
        if found.full - size < found.full * EQUAL_LOSS:
            return found
    return _central(frame, found, setting, border, size, least)


def _aired(
    frame: ReadingFrame, found: Composition, setting: Setting, border: bool, size: float, least: float
) -> Composition | None:
    """Return the words with air round fittings and edges, a little smaller if it must be; None if there is none to be had.

    A block whose lines begin on one upright gives up all that may be given up: its edge beside a knob looks wedged.
    """
    air = setting.air * size * min([f.ratio for f in found.fields if f.field != ORNAMENT], default=1.0)
    room = frame.airy_room(round(air, 2)) if air > 0 else None
    if room is None:
        return None
    was, lines, chosen = found.search, found.search.layout, found.chosen
    search = search_on(room, was.stack, was.axis, was.least, lines.align, lines.block, lines.in_airy(room))
    most = AIR_MOST if lines.align == "centre" else max(AIR_MOST, 1 - least / size)
    for step in range(AIR_STEPS + 1):
        smaller = size * (1 - most * step / AIR_STEPS)
        if smaller >= least and search.fits(chosen, smaller):
            aired = _central(frame, replace(found, search=search), setting, border, smaller, least)
            dropped = in_the_middle(frame, found.search) and not chosen.opened and aired.away < 0 <= found.away
            if not dropped:
                return aired
    return None


def _central(
    frame: ReadingFrame, found: Composition, setting: Setting, border: bool, size: float, least: float
) -> Composition:
    composed = lifted(frame, stood(frame, found.fields, setting, found.search, found.chosen, size, border=border))
    return replace(stood_central(frame, composed, setting, border, least), full=found.full)


def restood(
    frame: ReadingFrame, found: Composition, setting: Setting, border: bool, size: float, least: float
) -> Composition:
    """Return the words at another size, smaller; together where they need no longer go round what is in the way.

    Those are brought to the middle as any others, and made smaller for it down to `least` mm. Unchanged where their break does not fit at it.
    """
    ways = (found.chosen, replace(found.chosen, opened=0))
    chosen = next((of for of in ways if found.search.fits(of, size)), None)
    if chosen is None:
        return found
    if chosen == found.chosen:
        again = lifted(frame, stood(frame, found.fields, setting, found.search, chosen, size, border=border))
        return replace(again, full=found.full)
    return _central(frame, replace(found, chosen=chosen), setting, border, size, min(least, size))


def _tidy_places(frame: ReadingFrame, setting: Setting) -> tuple[ReadingFrame, ...]:
    """Return the place as it is to be tried: lines from the left (or right) first without the band beside a knob.

    A short line there would look wedged between the block's edge and the knob; centred lines never stand there.
    """
    banded = None if setting.align == "centre" else frame.banded
    return (frame,) if banded is None else (banded, frame)


def compose_at(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, cap: float, border: bool
) -> Composition | None:
    """Return the words set at just this cap height, with as few joints parted as it allows, or None.

    Pieces that belong together look alike: where they have as many lines of as many fields, alike lids get the same
    baselines, as pitch and place then come from the capitals, not from which letters have tails or accents.
    """
    for hold, _ in _holds(fields, setting):
        for where in _tidy_places(frame, setting):
            found = _compose_at(where, fields, setting, cap, border, hold)
            if found is not None:
                return found
    return None


def _compose_at(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, cap: float, border: bool, hold: int
) -> Composition | None:
    # Wider for accents only where letters would touch; words all in capitals keep the pitch that they have alone.
    alike = tuple(replace(v, pitch=min(v.pitch, setting.pitch_mixed)) for v in fields)
    stack = stack_of(alike, setting, hold, nominal=True)
    for attempt in range(REPITCH_ROUNDS):
        at = _at(frame, frame.solving, stack, setting, cap)
        if at is None:
            return None
        search, found = at
        wider = _repitched(stack, alike, search, found[0])
        if wider == stack or attempt == REPITCH_ROUNDS - 1:
            return lifted(
                frame, stood(frame, alike, setting, search, *found, border=border, capitals=True), (1.0,), capitals=True
            )
        stack = wider
    return None


def _at(
    frame: ReadingFrame, room: PreparedRoom, stack: Stack, setting: Setting, cap: float
) -> tuple[SizeSearch, tuple[Break, float]] | None:
    """Return the search and the best looking break at just one size, on the first axis on which it fits."""
    own = frame.axis if frame.axis is not None else best_axis(room, stack, cap, cap)
    for x in [*([] if own is None else [own]), *other_axes(frame)]:
        search = search_on(room, stack, x, cap)
        found = _calmest(search, judge_of(search.layout, setting, frame), cap) if search.layout.complete else None
        if found is not None and setting.align != "centre":
            search, found = aligned(search, found, setting, frame, cap, cap)
        if found is not None and found[1] >= cap * (1 - 1e-9):
            return search, found
    return None


def _calmest(search: SizeSearch, by: BreakJudge, cap: float) -> tuple[Break, float] | None:
    """Return the break that looks best at a size; one that leaves as much air as words have alone may have a line more."""
    top = cap / by.setting.fill
    sizes = [top + (cap - top) * k / (SIZES_TRIED - 1) for k in range(SIZES_TRIED)]
    found = best_looking(search, sizes, by)
    return (found[0], cap) if found and search.fits(found[0], cap) else best_looking(search, [cap], by)


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
