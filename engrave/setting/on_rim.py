"""A piece set along the rim: who stands where, at which size, and what of the words goes into the middle."""

from __future__ import annotations

from dataclasses import replace

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import compose as after
from engrave.setting.bending import bent_glyph
from engrave.setting.composing import Composed, compose
from engrave.setting.frames import COARSE, Place
from engrave.setting.inside import is_inside
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.setting.rim import (
    ALONE,
    AROUND,
    TOGETHER,
    Band,
    Bent,
    band,
    deepest,
    depth,
    estimate,
    ground,
    has_rim,
    joined,
    largest_bend,
)
from engrave.setting.spaces import space
from engrave.setting.taste import greatest_cap, least_cap
from engrave.setting.voices import Voice
from engrave.tasks import Task

SLACK = 0.6
"""Share of its ratio to the name to which a long message may sink before it makes the name smaller as well."""

NEARLY = 0.9
"""Share of a size at which a smaller bend is taken as well."""

SMALLER = 0.94
"""Sizes tried where something stands in the rim's way, one after the other."""

TRIES = 14
"""Times that is tried: down to four tenths."""

BETWEEN = 0.6
"""Caps of the rim's letters kept free between them and what stands in the middle."""

SEARCHED = 0.35
"""Share of the least cap height down to which sizes are searched."""


def parts(where: str, spoken: tuple[Voice, ...]) -> tuple[list[tuple[Voice, float, bool]], list[Voice]]:
    """Return who goes along the rim (voice, share of the way round, heads outwards), and who into the middle."""
    first, rest = spoken[0], list(spoken[1:])
    if where == "around":
        if not rest:
            return [(first, ALONE, True)], []
        return [(rest[0], AROUND, True)], [first, *rest[1:]]
    if where == "both" and rest:
        return [(first, TOGETHER, True), (rest[0], TOGETHER, False)], rest[1:]
    return [(first, ALONE, where != "bottom")], rest


def along_rim(
    task: Task, place: Place, spoken: tuple[Voice, ...], empty: Lettering, cap: float | None
) -> Lettering | None:
    """Return the words set along the rim as large as they go, or at just `cap` mm for the first; None if they do not."""
    outside = ground(place)
    if outside is None or not has_rim(place):
        return None
    rim, middle = parts(task.setting.rim_where, spoken)
    bands = [(b, share, up) for voice, share, up in rim if (b := band(voice)) is not None]
    if len(bands) < len(rim):
        return None
    size = cap or min(greatest_cap(place, task.setting), *(deepest(b, outside) / b.voice.ratio for b, _, _ in bands))
    for _ in range(1 if cap else TRIES):
        laid = _laid(task, place, bands, middle, outside, size, empty, exact=cap is not None)
        if laid is not None:
            return laid
        size *= SMALLER
    return None


def _laid(
    task: Task, place: Place, bands: list[tuple[Band, float, bool]], middle: list[Voice], outside: Polygon, size: float,
    empty: Lettering, exact: bool,
) -> Lettering | None:  # fmt: skip
    bent = _bent(task, bands, outside, size, exact)
    if bent is None:
        return None
    inner = _middle(task, place, bent, middle, outside)
    if middle and inner is None:
        return None
    laid = replace(empty, marks=(), lines=())
    order = {v.field: k for k, v in enumerate([b.band.voice for b in bent] + middle)}
    pieces = [_of_bent(place, b) for b in bent] + ([_of_middle(place, inner)] if inner else [])
    lines = [(line, marks) for piece in pieces for line, marks in piece]
    lines.sort(key=lambda p: (("name", "message", "foot").index(p[0].field), order[p[0].field]))
    marks = tuple(replace(m, line=k) for k, (_, ms) in enumerate(lines) for m in ms)
    laid = replace(laid, marks=marks, lines=tuple(line for line, _ in lines))
    return laid if is_inside(laid, place) else None


def _bent(
    task: Task, bands: list[tuple[Band, float, bool]], outside: Polygon, size: float, exact: bool
) -> list[Bent] | None:
    """Bend all bands. A long message makes the name smaller only once it is much smaller than its ratio asks."""
    out: list[Bent] = []
    for b, share, up in bands:
        ceiling = size * b.voice.ratio
        least = ceiling if exact else SEARCHED * least_cap(task, b.voice.field, b.voice.typeface)
        found = largest_bend(b, outside, share, up, ceiling, min(least, ceiling))
        if found is None:
            return None
        out.append(found)
    first = min(out[0].cap / bands[0][0].voice.ratio, *(b.cap / (b.band.voice.ratio * SLACK) for b in out))
    caps = [min(b.cap, first * b.band.voice.ratio) for b in out]
    return [
        b if b.cap <= cap * (1 + 1e-9) else _again(b, one, outside, cap)
        for b, one, cap in zip(out, bands, caps, strict=True)
    ]


def _again(larger: Bent, one: tuple[Band, float, bool], outside: Polygon, cap: float) -> Bent:
    """Return a band bent smaller, at the others' size."""
    of, share, up = one
    return largest_bend(of, outside, share, up, cap, cap * NEARLY) or larger


def _middle(task: Task, place: Place, bent: list[Bent], middle: list[Voice], outside: Polygon) -> Composed | None:
    """Compose what goes into the middle, in the room that the rim leaves."""
    if not middle:
        return None
    taken = max(depth(b.band, b.cap) + BETWEEN * b.cap for b in bent)
    assert place.solving is not None
    inner: BaseGeometry = place.solving.shape.intersection(outside.buffer(-taken))
    if inner.is_empty:
        return None
    ratio = middle[0].ratio
    voices = tuple(replace(v, ratio=v.ratio / ratio) for v in middle)
    room = replace(place, solving=space(inner))
    least = SEARCHED * least_cap(task, middle[0].field, middle[0].typeface)
    ceiling = _ceiling(task, place, bent, middle[0])
    return compose(room, voices, replace(task.setting, align="centre"), ceiling, min(least, ceiling), task.area.border)


def _ceiling(task: Task, place: Place, bent: list[Bent], first: Voice) -> float:
    """Return the greatest cap in the middle: the name's own limit, or its ratio to the name on the rim."""
    on_rim = {b.band.voice.field: b.cap / b.band.voice.ratio for b in bent}
    return on_rim["name"] * first.ratio if "name" in on_rim else greatest_cap(place, task.setting) * first.ratio


def _of_bent(place: Place, bent: Bent) -> list[tuple[Line, list[Mark]]]:
    voice = bent.band.voice
    line = Line(bent.band.text, voice.field, bent.cap, bent.cap * voice.typeface.x_height, 0.0)
    joins = joined(voice)
    marks = [
        Mark(
            bent_glyph(p, body.middle, at, bent.track, bent.cap, m) if joins else p.glyph,
            after(place.to_area, after(m, (p.scale, 0.0, 0.0, p.scale, p.x, p.y))),
            p.text,
            0,
        )
        for body, m, at in zip(bent.band.bodies, bent.maps, bent.at, strict=True)
        for p in body.placed
    ]
    return [(line, marks)]


def _of_middle(place: Place, composed: Composed) -> list[tuple[Line, list[Mark]]]:
    from engrave.setting.laying import lines_of

    return lines_of(place, composed, composed.size)


def rim_size(task: Task, place: Place, spoken: tuple[Voice, ...], above: float) -> float | None:
    """Return how large one or two words would come out along the rim, in mm; None if not above a size.

    A glance at the rim's length comes first, so that most words are never bent.
    """
    outside = ground(place)
    of = band(spoken[0])
    if outside is None or of is None or not has_rim(place):
        return None
    ceiling = min(deepest(of, outside), greatest_cap(place, task.setting))
    if min(estimate(of, outside, ALONE), ceiling) <= above:
        return None
    bent = largest_bend(of, outside, ALONE, True, ceiling, above)
    if bent is None or bent.cap <= above:
        return None
    ring = outside.difference(outside.buffer(-depth(of, bent.cap)))
    assert place.solving is not None
    return bent.cap if place.solving.shape.buffer(COARSE).covers(ring) else None
