"""A piece set along the rim: who stands where, at which size, and what of the words goes into the middle."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from shapely import Point, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cache import CacheKind
from engrave.geometry.affine import map_points
from engrave.geometry.affine import matrix_product as after
from engrave.setting.compose.composition import Sizes, compose_largest
from engrave.setting.compose.containment import is_inside
from engrave.setting.compose.lay import lines_of, settled
from engrave.setting.compose.size_rules import LARGER_RATIOS, SEARCHED_SHARE, greatest_cap, least_cap
from engrave.setting.compose.standing import Composition
from engrave.setting.fit_messages import cover_too_much
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.setting.reading_frame import CORNER_TOLERANCE, ReadingFrame, part_of
from engrave.setting.rim.bent_bands import BentBand, largest_bend
from engrave.setting.rim.rim_bands import (
    ALONE_SHARE,
    AROUND_SHARE,
    TOGETHER_SHARE,
    UPRIGHT_SHARE,
    RimBand,
    RimGround,
    behind_fittings,
    deepest_cap,
    estimated_cap,
    has_rim,
    hulls_of,
    letters_join,
    rim_band,
    rim_depth,
    rim_ground,
)
from engrave.setting.rim.rim_curve import bent_glyph
from engrave.setting.text.fields import ShapedField
from engrave.shop.house import WORD_FIELDS
from engrave.tasks import Task
from engrave.typefaces.run import ORNAMENT

MESSAGE_SLACK = 0.6
"""Share of its ratio to the name to which a long message may sink before it makes the name smaller as well."""

BEND_SHARE = 0.9
"""Share of a size at which a smaller bend is taken as well."""

RIM_STEP = 0.94
"""Sizes tried where something stands in the rim's way, one after the other."""

RIM_TRIES = 14
"""Times that is tried: down to four tenths."""

READ_AS = (*WORD_FIELDS, ORNAMENT)
"""Fields in the order in which they are told."""

RIM_AIR = 0.6
"""Caps of the rim's letters kept free between them and what stands in the middle."""

MIDDLES: CacheKind[ReadingFrame | None] = CacheKind("middles", 4)
"""Rooms that a rim leaves, each with what was composed in it: at another share of the size that fits it is the same room."""


def rim_parts(
    where: str, fields: tuple[ShapedField, ...]
) -> tuple[list[tuple[ShapedField, float, bool]], list[ShapedField]]:
    """Return who goes along the rim (field, share of the way round, heads outwards), and who into the middle.

    Around asks for two fields at least: one that goes round another.
    """
    first, rest = fields[0], list(fields[1:])
    if where == "around":
        return [(rest[0], AROUND_SHARE, True)], [first, *rest[1:]]
    if where == "both" and rest:
        return [(first, TOGETHER_SHARE, True), (rest[0], TOGETHER_SHARE, False)], rest[1:]
    return [(first, ALONE_SHARE, where != "bottom")], rest


def along_rim(
    task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], empty: Lettering, cap: float | None,
    spare: ShapedField | None = None,
) -> Lettering | None:  # fmt: skip
    """Return the words set along the rim as large as they go, or at just `cap` mm for the first; None if they do not.

    spare: an ornament for the middle where no words stand there and it has room.
    """
    outside = rim_ground(frame)
    if outside is None or not has_rim(frame):
        return None
    rim, middle = rim_parts(task.setting.rim_where, fields)
    bands = [(b, share, up) for shaped, share, up in rim if (b := rim_band(shaped)) is not None]
    if len(bands) < len(rim):
        return None
    laid = _along(task, frame, bands, middle, outside, empty, cap, spare)
    behind = behind_fittings(outside, frame) if laid is None else None
    return laid if behind is None else _along(task, frame, bands, middle, behind, empty, cap, spare)


def _along(
    task: Task, frame: ReadingFrame, bands: list[tuple[RimBand, float, bool]], middle: list[ShapedField], outside: RimGround,
    empty: Lettering, cap: float | None, spare: ShapedField | None,
) -> Lettering | None:  # fmt: skip
    """Return the words bent along one outline; a spare ornament only where nothing stands in the middle of the lid."""
    free = frame.solving.shape.covers(Point(frame.axis if frame.axis is not None else 0.0, frame.middle))
    spare = spare if free else None
    size = cap or min(
        greatest_cap(frame, task.setting), *(deepest_cap(b, outside) / b.shaped.ratio for b, _, _ in bands)
    )
    nearest: Lettering | None = None
    for _ in range(1 if cap else RIM_TRIES):
        laid = bands_laid(task, frame, bands, middle, outside, size, empty, exact=cap is not None)
        if laid is not None and spare is not None and not middle:
            return bands_laid(task, frame, bands, [spare], outside, size, empty, exact=cap is not None) or laid
        if laid is not None and not _outdone(laid):
            return laid
        if laid is not None and (nearest is None or laid.cap_mm > nearest.cap_mm):
            nearest = laid
        size *= RIM_STEP
    return nearest


def _outdone(laid: Lettering) -> bool:
    """Tell whether a name comes out smaller than what is said of it: round it, letters are not to be larger than its own."""
    caps = {line.field: line.cap_mm for line in laid.lines}
    return "name" in caps and caps["name"] < max(caps.values()) * (1 - 1e-6)


def bands_laid(
    task: Task, frame: ReadingFrame, bands: list[tuple[RimBand, float, bool]], middle: list[ShapedField], outside: RimGround, size: float,
    empty: Lettering, exact: bool,
) -> Lettering | None:  # fmt: skip
    """Return fields bent along the inside of a convex outline with the others in the middle; None if they do not fit."""
    bent = _bent(task, bands, outside, size, exact)
    if bent is None:
        return None
    inner = _middle(task, frame, bent, middle, outside)
    if middle and inner is None:
        return None
    laid = replace(empty, marks=(), lines=())
    order = {v.field: k for k, v in enumerate([b.band.shaped for b in bent] + middle)}
    pieces = [_of_bent(frame, b) for b in bent] + ([_of_middle(frame, inner)] if inner else [])
    lines = [(line, marks) for piece in pieces for line, marks in piece]
    lines.sort(key=lambda p: (READ_AS.index(p[0].field), order[p[0].field]))
    all_lines, marks = settled(lines)
    laid = replace(laid, marks=marks, lines=all_lines)
    return laid if is_inside(laid, frame) else None


def _bent(
    task: Task, bands: list[tuple[RimBand, float, bool]], outside: RimGround, size: float, exact: bool
) -> list[BentBand] | None:
    """Bend all bands. A long message makes the name smaller only once it is much smaller than its ratio asks.

    Two stand on straight sides together, or both on an oval; what goes round a name never stands on one side.
    """
    side = all(share != AROUND_SHARE for _, share, _ in bands)
    out = _each_bent(task, bands, outside, size, exact, side)
    if side and len({b.way for b in out or ()}) > 1:
        side, out = False, _each_bent(task, bands, outside, size, exact, False) or out
    if out is None:
        return None
    first = min(out[0].cap / bands[0][0].shaped.ratio, *(b.cap / (b.band.shaped.ratio * MESSAGE_SLACK) for b in out))
    caps = [min(b.cap, first * b.band.shaped.ratio) for b in out]
    return [
        b if b.cap <= cap * (1 + 1e-9) else _again(b, one, outside, cap, side)
        for b, one, cap in zip(out, bands, caps, strict=True)
    ]


def _each_bent(
    task: Task, bands: list[tuple[RimBand, float, bool]], outside: RimGround, size: float, exact: bool, side: bool
) -> list[BentBand] | None:
    """Bend each band as large as it goes by itself; one alone takes half the way round if it can be read so."""
    out: list[BentBand] = []
    for b, share, up in bands:
        ceiling = size * b.shaped.ratio
        readable = least_cap(task, b.shaped.field, b.shaped.typeface)
        least = ceiling if exact else min(SEARCHED_SHARE * readable, ceiling)
        found = None
        if share == ALONE_SHARE:
            found = largest_bend(b, outside, UPRIGHT_SHARE, up, ceiling, min(max(readable, least), ceiling), side)
        found = found or largest_bend(b, outside, share, up, ceiling, least, side)
        if found is None:
            return None
        out.append(found)
    return out


def _again(larger: BentBand, one: tuple[RimBand, float, bool], outside: RimGround, cap: float, side: bool) -> BentBand:
    """Return a band bent smaller, at the others' size."""
    of, share, up = one
    return largest_bend(of, outside, share, up, cap, cap * BEND_SHARE, side) or larger


def _middle(
    task: Task, frame: ReadingFrame, bent: list[BentBand], middle: list[ShapedField], outside: RimGround
) -> Composition | None:
    """Compose what goes into the middle, in the room that the rim leaves."""
    if not middle:
        return None
    ring = outside.oval if any(b.way == "oval" for b in bent) else outside.outline
    inner = ring.intersection(frame.solving.shape).difference(union_all([_covered(b) for b in bent]))
    place = frame.kept.get(MIDDLES, inner.wkb, lambda: part_of(frame, inner))
    if place is None:
        return None
    if cover_too_much(place, [(v, least_cap(task, v.field, v.typeface)) for v in middle if v.field != ORNAMENT]):
        return None
    own = middle[0].ratio
    fields = tuple(replace(v, ratio=v.ratio / own) for v in middle)
    first: Composition | None = None
    for ratio in (0.0, *LARGER_RATIOS):
        found = _at_ratio(task, frame, place, bent, fields, own, ratio)
        if found is not None and found.size >= _readable(task, found.fields) * (1 - 1e-9):
            return found
        first = first or found
        if len(fields) == 1:
            break
    return first


def _at_ratio(
    task: Task, frame: ReadingFrame, place: ReadingFrame, bent: list[BentBand], fields: tuple[ShapedField, ...], own: float,
    ratio: float,
) -> Composition | None:  # fmt: skip
    """Compose the middle, what follows its first field at least as large as a ratio to it. own: that field's to the name."""
    raised = tuple(replace(v, ratio=max(v.ratio, ratio)) if k else v for k, v in enumerate(fields))
    readable = _readable(task, raised)
    ceiling = _ceiling(task, frame, bent, raised[0], own, readable)
    least = SEARCHED_SHARE * least_cap(task, raised[0].field, raised[0].typeface)
    sizes = Sizes(ceiling, min(least, ceiling), readable)
    return compose_largest(place, raised, replace(task.setting, align="centre"), sizes, task.area.border)


def _readable(task: Task, fields: tuple[ShapedField, ...]) -> float:
    """Return the cap of the first field at which all can be read; ornaments always can."""
    return max([least_cap(task, v.field, v.typeface) / v.ratio for v in fields if v.field != ORNAMENT], default=0.0)


def _covered(bent: BentBand) -> BaseGeometry:
    """Return what a band covers of the lid, and the wood kept free round it."""
    letters = [map_points(m, b.points) for b, m in zip(bent.band.letters, bent.maps, strict=True)]
    neighbours = [np.concatenate(pair) for pair in pairwise([letters[0], *letters])]
    return union_all(hulls_of(neighbours)).buffer(RIM_AIR * bent.cap, quad_segs=2)


def _ceiling(
    task: Task, frame: ReadingFrame, bent: list[BentBand], first: ShapedField, own: float, readable: float
) -> float:
    """Return the greatest cap in the middle: the name's own limit, or its ratio to the name on the rim.

    What stands alone in a ring of words is no smaller than the smallest of them, and none too small to be read.
    """
    on_rim = {b.band.shaped.field: b.cap / b.band.shaped.ratio for b in bent}
    if "name" not in on_rim:
        return greatest_cap(frame, task.setting) * own
    ringed = min(b.cap for b in bent) if len(bent) > 1 and first.field != ORNAMENT else 0.0
    return max(on_rim["name"] * own, ringed, min(readable, on_rim["name"]))


def _of_bent(frame: ReadingFrame, bent: BentBand) -> list[tuple[Line, list[Mark]]]:
    shaped = bent.band.shaped
    face = shaped.typeface
    line = Line(bent.band.text, shaped.field, bent.cap, bent.cap * face.x_height, 0.0, joined=face.joined)
    joins = letters_join(shaped)
    marks = [
        Mark(
            bent_glyph(p, letter.middle, at, bent.track, bent.cap, m) if joins else p.glyph,
            after(frame.to_area, after(m, (p.scale, 0.0, 0.0, p.scale, p.x, p.y))),
            p.text,
            0,
        )
        for letter, m, at in zip(bent.band.letters, bent.maps, bent.at, strict=True)
        for p in letter.placed
    ]
    return [(line, marks)]


def _of_middle(frame: ReadingFrame, composed: Composition) -> list[tuple[Line, list[Mark]]]:
    return lines_of(frame, composed, composed.size)


def rim_size(task: Task, frame: ReadingFrame, fields: tuple[ShapedField, ...], above: float) -> float | None:
    """Return how large one or two words would come out along the rim, in mm; None if not above a size.

    A glance at the rim's length comes first, so that most words are never bent.
    """
    outside = rim_ground(frame)
    of = rim_band(fields[0])
    if outside is None or of is None or not has_rim(frame):
        return None
    ceiling = min(deepest_cap(of, outside), greatest_cap(frame, task.setting))
    if min(estimated_cap(of, outside, UPRIGHT_SHARE), ceiling) <= above:
        return None
    bent = largest_bend(of, outside, UPRIGHT_SHARE, True, ceiling, above)
    if bent is None or bent.cap <= above:
        return None
    ring = outside.outline.difference(outside.outline.buffer(-rim_depth(of, bent.cap)))
    return bent.cap if frame.solving.shape.buffer(CORNER_TOLERANCE).covers(ring) else None
