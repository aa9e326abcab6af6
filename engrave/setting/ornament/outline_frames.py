"""A frame that follows the lid's outline: the edge of the room, with the words in the room that it leaves.

A double frame has a second line inside the first, which gives way to a sprig in each corner, or to a lozenge on each
axis where the lid has no corners.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, MultiLineString, Point, Polygon, line_merge, unary_union
from shapely import box as rectangle
from shapely.geometry.base import BaseGeometry

from engrave.cache import CacheKind
from engrave.geometry.affine import Matrix
from engrave.geometry.affine import matrix_product as after
from engrave.geometry.paths import Contour, Path, polygon_path
from engrave.geometry.regions import polygons
from engrave.setting.compose.containment import ink_of
from engrave.setting.lettering import NO_LINE, Mark
from engrave.setting.ornament.inking import CORNERS, Inker
from engrave.setting.reading_frame import ReadingFrame, part_of
from engrave.typefaces import Glyph
from engrave.typefaces.contours.refit import refitted
from engrave.typefaces.letter_form import FormBox, LetterForm

UNIT = 10.0
"""mm that count as one cap height of a frame: it is measured as letters of that size are."""

SLACK = 0.06
"""mm that a frame keeps from the edge of the room: more than its curves are off (0.02 mm at this unit), so it is inside."""

LEAST_NECK = 0.05
"""Share of the lid's lesser side below which a neck of the room is not followed: lines would run side by side in it."""

LINE = 0.007
"""Thickness of a frame with a body, over the lid's lesser side (our eye, no source)."""

AIR = 0.045
"""Wood between a frame and the words' room, over the lid's lesser side (our eye, no source)."""

GAP, GAP_LINES = 0.026, 4.0
"""Wood between two frame lines over the lid's lesser side, and over their own thickness; the larger counts."""

CORNER = 0.17
"""Side of a corner's sprig over the lid's lesser side (our eye, no source)."""

CORNER_NEAR = 0.4
"""Share of a sprig's side that a frame's corner may be rounded and still hold one."""

CORNER_STEP, CORNER_STEPS = 0.06, 8
"""Share of its side by which a sprig is moved out of a corner until it lies within, and how often: rounds are no corners."""

OVER_LINE = 0.3
"""Share of the gap by which a sprig may stand over the line that gives way to it."""

LOZENGE = 1.0
"""Height of a lozenge over the gap of the two lines on whose inner one it stands."""

WEBS = 3.2
"""Gap of two lines over the least web of the wood: a lozenge takes half of it, and what is left is not at its limit."""


@dataclass(frozen=True, slots=True, eq=False)
class Framed:
    """A frame as marks, and the place that it leaves for the words."""

    inner: ReadingFrame
    marks: tuple[Mark, ...]


FRAMED: CacheKind[Framed | None] = CacheKind("framed", 128)
"""As many as lines of a week on one lid."""


def framed(frame: ReadingFrame, style: str, inker: Inker, groove: float, least: float, web: float) -> Framed | None:
    """Return a place's frame; None if the room is too small for one.

    style: 'single' or 'double'. groove: mm of a followed line. least: mm of the thinnest line with a body. web: mm of
    the thinnest wood that stands.
    """
    key = (style, inker, groove, least, web)
    return frame.kept.get(FRAMED, key, lambda: _framed(frame, *key))


def _framed(frame: ReadingFrame, style: str, inker: Inker, groove: float, least: float, web: float) -> Framed | None:
    lesser = min(frame.width, frame.height)
    thick = groove if inker.kind == "single-line" else max(LINE * lesser, least)
    outer = _ring(frame, (0.0 if inker.kind == "single-line" else thick / 2) + SLACK, LEAST_NECK * lesser)
    if outer is None:
        return None
    marks = [_line(frame, inker, [LineString(outer.exterior)], thick)]
    last, taken = outer, []
    if style == "double":
        gap = max(GAP * lesser, GAP_LINES * thick, WEBS * web + thick)
        found = _within(outer, gap)
        if found is None:
            return None
        last = found
        ornaments = list(_ornaments(frame, inker, last, gap, lesser))
        taken = [shape for _, shape in ornaments]
        rest = LineString(last.exterior).difference(unary_union(taken)) if taken else LineString(last.exterior)
        marks.append(_line(frame, inker, _runs(rest), thick))
        marks += [mark for mark, _ in ornaments]
    clear = (thick if inker.kind == "single-line" else thick / 2) + AIR * lesser
    inner = frame.room.intersection(last.buffer(-clear))
    if taken:
        inner = inner.difference(unary_union(taken).buffer(AIR * lesser / 2))
    left = part_of(frame, inner)
    return None if left is None else Framed(left, tuple(marks))


def _ring(frame: ReadingFrame, inset: float, neck: float) -> Polygon | None:
    """Return the outside of the room, without necks, as the middle of a line that lies in it."""
    parts = polygons(frame.room)
    if not parts:
        return None
    whole = Polygon(parts[0].exterior)
    wide = whole.buffer(-neck).buffer(neck, join_style="mitre", mitre_limit=3.0).intersection(whole)
    return _within(Polygon(polygons(wide)[0].exterior), inset) if polygons(wide) else None


def _within(ring: Polygon, by: float) -> Polygon | None:
    parts = polygons(ring.buffer(-by, quad_segs=24))
    return Polygon(parts[0].exterior) if parts else None


def _runs(lines: BaseGeometry) -> list[LineString]:
    merged = line_merge(lines) if isinstance(lines, MultiLineString) else lines
    return [line for line in getattr(merged, "geoms", [merged]) if line.length > UNIT / 5]


def _line(frame: ReadingFrame, inker: Inker, lines: Sequence[LineString], thick: float) -> Mark:
    """Return lines as one mark, their rounds as curves."""
    path: Path = tuple(_curved(line) for line in lines)
    drawn = inker.line(path, "frame~", thick / UNIT)
    return Mark(drawn, after(frame.to_area, (UNIT, 0.0, 0.0, UNIT, 0.0, 0.0)), "the frame", NO_LINE)


def _curved(line: LineString) -> Contour:
    points = np.asarray(line.coords) / UNIT
    closed = bool((points[0] == points[-1]).all())
    return refitted(polygon_path([(float(x), float(y)) for x, y in (points[:-1] if closed else points)], closed))


def _ornaments(
    frame: ReadingFrame, inker: Inker, ring: Polygon, gap: float, lesser: float
) -> Iterator[tuple[Mark, BaseGeometry]]:
    """Yield sprigs for a ring's corners, or lozenges for its axes, each with the place that the line leaves to it."""
    low, bottom, high, top = ring.bounds
    side, clear = CORNER * lesser, ring.buffer(gap * OVER_LINE)
    corners = [(low, bottom, 1, 1), (high, bottom, -1, 1), (low, top, 1, -1), (high, top, -1, -1)]
    near = [ring.exterior.distance(Point(x, y)) <= CORNER_NEAR * side for x, y, _, _ in corners]
    if near[0] == near[1] and near[2] == near[3] and any(near):
        for (x, y, right, up), sign, there in zip(corners, CORNERS, near, strict=True):
            drawn = inker.sign(sign, "corner") if there else None
            if drawn is None:
                continue
            for step in range(CORNER_STEPS):
                a, b = x + right * side * step * CORNER_STEP, y + up * side * step * CORNER_STEP
                found = _fitted(frame, drawn, (a, b, a + right * side, b + up * side), "the corner's sprig", gap)
                if all(clear.covers(LineString(line)) for line in ink_of(found[0], frame)):
                    yield found
                    break
        return
    drawn = inker.ornament("lozenge")
    if drawn is None:
        return
    for x, y in _on_axes(ring):
        half = LOZENGE * gap / 2
        yield _fitted(frame, drawn, (x - half, y - half, x + half, y + half), "the lozenge", gap)


def _on_axes(ring: Polygon) -> Iterator[tuple[float, float]]:
    """Yield where the lines through a ring's middle, upright and level, cross it."""
    low, bottom, high, top = ring.bounds
    x, y = (low + high) / 2, ring.centroid.y
    for line in (LineString([(x, bottom - 1), (x, top + 1)]), LineString([(low - 1, y), (high + 1, y)])):
        ends = line.intersection(ring).bounds
        yield ends[0], ends[1]
        yield ends[2], ends[3]


def _fitted(
    frame: ReadingFrame, drawn: Glyph, into: tuple[float, float, float, float], says: str, gap: float
) -> tuple[Mark, BaseGeometry]:
    """Return a sign scaled into a box, in its middle, and the box grown by half a gap."""
    x0, x1 = sorted((into[0], into[2]))
    y0, y1 = sorted((into[1], into[3]))
    a, b, c, d = _box(drawn)
    scale = min((x1 - x0) / (c - a), (y1 - y0) / (d - b))
    matrix: Matrix = (scale, 0.0, 0.0, scale, (x0 + x1 - scale * (a + c)) / 2, (y0 + y1 - scale * (b + d)) / 2)
    return Mark(drawn, after(frame.to_area, matrix), says, NO_LINE), rectangle(x0, y0, x1, y1).buffer(gap / 2)


def _box(drawn: Glyph) -> FormBox:
    found = LetterForm(drawn.path, 0.0).box
    assert found is not None  # every ornament draws something
    return found
