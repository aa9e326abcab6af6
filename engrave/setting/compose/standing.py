"""Where composed words stand: in the middle as the eye has it, above a knob rather than below, centred for a trade of size."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from engrave.cache import CacheKind
from engrave.setting.fit.line_breaking import Break, nearest_within
from engrave.setting.fit.prepared_room import Obstacle
from engrave.setting.fit.solver import Fit, SizeSearch
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.fields import ShapedField
from engrave.shop.models import Setting

MIDDLE_FREE = 0.02
"""Share of the lid's height by which words may stand off the middle unseen (common practice, no source)."""

MIDDLE_PRICE = 2.5
"""Share of the size that is given up for each share of the lid's height that words stand further off the middle: the
eye forgives a twentieth of the size for a fiftieth of the height (our eye, no source)."""

MIDDLE_MOST = 0.12
"""Most of the size that is given up for the middle."""

ONE_SIDED = 0.12
"""Share of the size that is given up rather than crowd several fields on one side of a knob, with the other half bare: as
much as for the middle (our eye, no source)."""

MIDDLE_TAKEN = 0.1
"""Share of the lid's height about the middle in which something on the axis keeps words out of it."""

EDGE_SHARE = 0.3
"""Share of a half's height up to which the wood outside the words' room is margin, and the half reaches to the lid's edge;
more is taken by words along the rim."""

MIDDLE_SAMPLES, MIDDLE_NARROWINGS = 5, 9
"""Sizes tried for it, and how often the best one's surroundings are narrowed, each time to two thirds."""

ABOVE_KNOB_SHARES = tuple(1.0 - 0.005 * k for k in range(25))
"""Shares of the size at which words below a knob are tried above it, as much as is given up for the middle. By width alone
'Eve' fits 5.5 % larger below, as its foot is narrow, and a rule under it makes that more; everybody sees one name below
the knob among others above (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Composition:
    """Words with break, size and place decided. fit: in the reader's frame; away: mm above where they would be best.

    full: the size that this break could have, without anything given up for calm or for the middle.
    """

    fields: tuple[ShapedField, ...]
    search: SizeSearch
    chosen: Break
    size: float
    fit: Fit
    away: float
    full: float = 0.0


def stood(
    frame: ReadingFrame, fields: tuple[ShapedField, ...], setting: Setting, search: SizeSearch, chosen: Break, size: float,
    *, border: bool, capitals: bool = False,
) -> Composition:  # fmt: skip
    """Return a break at a size at which it fits, stood as near to where it looks best as the room allows.

    border: in the very middle, as a frame around it would show otherwise. capitals: by the capitals alone.
    The free wood over the ink's box and under it divides in one ratio, whatever the lines weigh: `optical` of it is moved
    from over the block to under it (Gage, Applied Design for Printers, 1920, has 2 : 3 at most).
    """
    top, bottom = search.layout.box(chosen.lines)
    if capitals:
        top, bottom = 1.0, -search.layout.drops(chosen.lines)[-1]
    wish = _wished(frame, top, bottom, size, 0.0 if border else setting.optical)
    halves = _half_middles(frame, search)
    if halves is None:
        fit = search.fit(chosen, size, wish)
    elif chosen.opened:
        parts = (chosen.lines[: chosen.opened], chosen.lines[chosen.opened :])
        over, under = (_centred(search, part, at, size, capitals) for part, at in zip(parts, halves, strict=True))
        fit = search.fit(chosen, size, wishes=(over, under))
    else:
        fit = search.fit(chosen, size, wish)
        fit = search.fit(chosen, size, _centred(search, chosen.lines, halves[fit.baselines[0] < wish], size, capitals))
    return Composition(fields, search, chosen, size, fit, fit.baselines[0] - wish, size)


def _wished(frame: ReadingFrame, top: float, bottom: float, size: float, optical: float) -> float:
    """Return the first baseline at which words whose ink reaches so far, in caps, look best on a free lid."""
    free = max(frame.height - (top - bottom) * size, 0.0)
    return frame.middle + optical * free - (top + bottom) / 2 * size


HALVES: CacheKind[tuple[float, float] | None] = CacheKind("halves", 16)
"""Of a room: the middles over and under what stands in its middle, by the words' axis."""


def _half_middles(frame: ReadingFrame, search: SizeSearch) -> tuple[float, float] | None:
    """Return the middles of the lid over and under what stands in its middle, at the words' axis; None if nothing does."""
    key = (frame.height, frame.middle, search.axis)
    return search.room.kept.get(HALVES, key, lambda: _halves_at(frame, search))


def _halves_at(frame: ReadingFrame, search: SizeSearch) -> tuple[float, float] | None:
    knobs = _knobs(frame, search)
    if not knobs:
        return None
    room, half = search.room, frame.height / 2
    k = min(max(int(np.searchsorted(room.x, search.axis, side="right")) - 1, 0), len(room.ceiling) - 1)
    top, bottom = float(room.ceiling[k].mean()), float(room.floor[k].mean())
    top = half if half - top < EDGE_SHARE * half else top
    bottom = -half if bottom + half < EDGE_SHARE * half else bottom
    return (top + max(float(o.high.max()) for o in knobs)) / 2, (min(float(o.low.min()) for o in knobs) + bottom) / 2


def _centred(search: SizeSearch, lines: Sequence[int], middle: float, size: float, capitals: bool) -> float:
    """Return the first baseline of lines whose ink is centred on a height."""
    top, bottom = (1.0, -search.layout.drops(lines)[-1]) if capitals else search.layout.box(lines)
    return middle - (top + bottom) / 2 * size


def stood_central(
    frame: ReadingFrame, composed: Composition, setting: Setting, border: bool, least: float
) -> Composition:
    """Return the words a little smaller instead, as far as that brings them nearer to the middle than it costs.

    One continuous trade: the loss of size and of place together is made least, by at most MIDDLE_MOST and not below
    `least` mm. Over and under a knob it is the middle of each half.
    """
    low = max(composed.size * (1 - MIDDLE_MOST), min(least, composed.size))
    if not off_middle(frame, composed) or low >= composed.size:
        return composed
    off_at = _off_at(frame, composed, setting, border)

    @cache
    def at(size: float) -> tuple[float, float]:
        return 1 - size / composed.size + off_at(size), -size

    @cache
    def fits(size: float) -> bool:
        return fits_at(composed, size)

    def least_of(sizes: Sequence[float]) -> float | None:
        """Return the one that loses least of sizes at which the words fit; of those that surely lose more nothing is asked."""
        found: float | None = None
        for size in sizes:
            if found is None or 1 - size / composed.size <= at(found)[0]:
                found = size if fits(size) and (found is None or at(size) < at(found)) else found
        return found

    def about(size: float, step: float) -> list[float]:
        return [s for s in (size, size + step, size - step) if low <= s <= composed.size]

    samples = np.linspace(low, composed.size, MIDDLE_SAMPLES).tolist()[::-1]
    composed.search.ready(composed.chosen.lines, samples)
    best = least_of(samples) or composed.size
    step = (composed.size - low) / (MIDDLE_SAMPLES - 1)
    for k in range(MIDDLE_NARROWINGS):
        near = about(best, step)
        if k % 2 == 0:  # whichever is best, those about it are held against the room with them
            ahead = dict.fromkeys(s for of in near for s in about(of, step * (2 / 3)))
            composed.search.ready(composed.chosen.lines, list(dict.fromkeys([*near, *ahead])))
        best = least_of(near) or best
        step *= 2 / 3
    again = stood(frame, composed.fields, setting, composed.search, composed.chosen, best, border=border)
    return replace(lifted(frame, again, (1.0,)), full=composed.full)


def _off_at(frame: ReadingFrame, composed: Composition, setting: Setting, border: bool) -> Callable[[float], float]:
    """Return what tells `off_middle` of the words as they stand at a size at which they fit."""
    search, chosen = composed.search, composed.chosen

    def whole(size: float) -> float:
        here = stood(frame, composed.fields, setting, search, chosen, size, border=border)
        return off_middle(frame, lifted(frame, here, (1.0,)))

    if chosen.opened or on_axis(search):
        return whole
    top, bottom = search.layout.box(chosen.lines)
    optical = 0.0 if border else setting.optical

    def bare(size: float) -> float:  # nothing stands in the way of the block, which is as near to the wish as it may be
        wish = _wished(frame, top, bottom, size, optical)
        firsts = search.firsts(chosen.lines, size)
        return _price_of(frame, nearest_within(firsts, wish) - wish) if firsts else whole(size)

    return bare


def _price_of(frame: ReadingFrame, away: float) -> float:
    """Return what standing so far, in mm, from where words look best costs."""
    return MIDDLE_PRICE * max(0.0, abs(away) / frame.height - MIDDLE_FREE)


def fits_at(composed: Composition, size: float) -> bool:
    """Tell whether the break of a composition fits at another size."""
    return composed.search.fits(composed.chosen, size)


def off_middle(frame: ReadingFrame, composed: Composition) -> float:
    """Return what standing off the middle costs, as a share of the size; of its half of the lid, where a knob parts it."""
    chosen, search = composed.chosen, composed.search
    halves = _half_middles(frame, search)
    if halves is None:
        return _price_of(frame, 0.0 if chosen.opened else composed.away)
    k = chosen.opened
    baselines = composed.fit.baselines
    parts = (
        [(chosen.lines[:k], baselines[0], halves[0]), (chosen.lines[k:], baselines[k], halves[1])]
        if k
        else [(chosen.lines, baselines[0], halves[composed.away < 0])]
    )
    aways = [at - _centred(search, lines, middle, composed.size, capitals=False) for lines, at, middle in parts]
    return _price_of(frame, max(map(abs, aways)))


def in_the_middle(frame: ReadingFrame, search: SizeSearch) -> bool:
    """Tell whether something stands on the words' axis about the middle of the lid: a knob, not a notch at the edge."""
    return bool(_knobs(frame, search))


def _knobs(frame: ReadingFrame, search: SizeSearch) -> list[Obstacle]:
    near = MIDDLE_TAKEN * frame.height
    return [
        o
        for o in search.room.obstacles
        if o.x[0] < search.axis < o.x[-1] and o.low.min() < frame.middle + near and o.high.max() > frame.middle - near
    ]


def on_axis(search: SizeSearch) -> bool:
    """Tell whether something stands in the way on the words' axis."""
    return any(o.x[0] < search.axis < o.x[-1] for o in search.room.obstacles)


def lifted(
    frame: ReadingFrame, composed: Composition, shares: Sequence[float] = ABOVE_KNOB_SHARES, capitals: bool = False
) -> Composition:
    """Return words that stand below a knob on the axis above it instead, at the largest share at which they fit there.

    So that a letterer's habit holds: what is read first stands on top.
    """
    search, chosen = composed.search, composed.chosen
    if chosen.opened or composed.away >= 0 or not on_axis(search):
        return composed
    for share in shares:
        size = composed.size * share
        wish = composed.fit.baselines[0] - composed.away
        spans = search.firsts(chosen.lines, size)
        over = [(low, high) for low, high in spans if low > wish]
        if over:
            low, high = over[0]
            at = low + min(low - wish, (high - low) / 2)
            halves = _half_middles(frame, search)
            if halves is not None:
                at = min(max(_centred(search, chosen.lines, halves[0], size, capitals), low), high)
            fit = search.fit(chosen, size, at)
            return replace(composed, size=size, fit=fit, away=fit.baselines[0] - wish)
    return composed
