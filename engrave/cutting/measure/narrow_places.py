"""All narrow places of a piece on its lid, gathered from its glyphs' measures and the gaps between neighbours."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely import STRtree, distance, points
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache
from engrave.cutting.measure.components import Component, kept_glyph_shape, relative_matrix
from engrave.cutting.measure.crotch import Crotch
from engrave.cutting.measure.glyphs import GlyphMeasure, gap_between, measure_lines, measure_region
from engrave.cutting.measure.kept import KeptMeasures
from engrave.geometry.affine import Matrix, map_point, map_shape
from engrave.geometry.narrow_strips import Narrow
from engrave.geometry.paths import Point, Polyline
from engrave.setting.lettering import Lettering

WIDTH_DECIMALS = 3
"""Decimals of a mm to which widths are compared: places that differ by less are equally narrow."""

GAP_SLACK = 1e-5
"""Cap heights by which a gap on the lid may differ from the same gap measured between rounded relative places."""


@dataclass(frozen=True, slots=True)
class NarrowPlace:
    """A narrow place on the lid: width and place in mm, y down; axis radians, None without direction.

    marks: the one mark in which it lies, or the two between which it lies. closed: a counter or loop.
    """

    width: float
    x: float
    y: float
    axis: float | None
    marks: tuple[int, ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class NarrowPlaces:
    """A piece's narrow places, each kind narrowest first. widest: the largest inscribed circle of what is cut, mm."""

    strokes: tuple[NarrowPlace, ...]
    webs: tuple[NarrowPlace, ...]
    specks: tuple[NarrowPlace, ...]
    widest: float


class PlacesMeasured:
    """The narrow places of a piece's components, measured once for all tools; which of them count is asked for each."""

    def __init__(
        self, lettering: Lettering, parts: Sequence[Component], as_lines: bool, measures: KeptMeasures
    ) -> None:
        self._lettering, self._parts, self._as_lines, self._measures = lettering, parts, as_lines, measures
        self._gaps: dict[tuple[int, int], NarrowPlace | None] = {}

    def of_tool(self, reach: float, groove: float) -> NarrowPlaces:
        """Return the places that count. reach: mm within which gaps between components are always measured. groove: mm
        that lines are wide, by which loops close."""
        inside = self._inside
        webs = [place for closes, place in inside.webs if closes <= groove]
        inner = min((w.width for w in webs), default=math.inf)
        webs += self._between(max(reach, inner))
        return NarrowPlaces(inside.strokes, _sorted(webs), inside.specks, inside.widest)

    @cached_property
    def _inside(self) -> _Inside:
        """What lies within components."""
        strokes, webs, specks = list[NarrowPlace](), list[tuple[float, NarrowPlace]](), list[NarrowPlace]()
        widest = 0.0
        for body in self._parts:
            found = measure_of(body, self._as_lines, self._measures)
            strokes += self._placed((*found.strokes, *found.parts), body)
            webs += [(-math.inf, place) for place in self._placed(found.webs, body)]
            closes = [loop.closed_by * body.cap_mm for loop in found.counters]
            webs += zip(closes, self._placed(found.counters, body, closed=True), strict=True)
            specks += self._placed(found.specks, body)
            widest = max([widest, *(p.width * body.cap_mm for p in found.parts)])
        return _Inside(_sorted(strokes), tuple(webs), _sorted(specks), widest)

    def _placed(self, found: Sequence[Narrow], body: Component, closed: bool = False) -> list[NarrowPlace]:
        return _placed(found, body, self._lettering, self._as_lines, self._measures.cache, closed)

    def _between(self, reach: float) -> list[NarrowPlace]:
        """Return the plain distances between components within `reach` mm of each other."""
        if len(self._parts) < 2:
            return []
        found = (self._gap(i, j) for i, j in _near(self._parts, self._as_lines, reach, self._measures))
        return [gap for gap in found if gap is not None]

    def _gap(self, i: int, j: int) -> NarrowPlace | None:
        if (i, j) not in self._gaps:
            self._gaps[i, j] = _gap_place(self._lettering, self._parts, i, j, self._as_lines, self._measures)
        return self._gaps[i, j]


@dataclass(frozen=True, slots=True)
class _Inside:
    """The narrow places within components. webs: each with the width in mm of the line by which it closes, if it is a loop."""

    strokes: tuple[NarrowPlace, ...]
    webs: tuple[tuple[float, NarrowPlace], ...]
    specks: tuple[NarrowPlace, ...]
    widest: float


def _sorted(sites: Iterable[NarrowPlace]) -> tuple[NarrowPlace, ...]:
    """Return places narrowest first; of equal ones (two n of a word, turned on a rim) the first that is read."""
    return tuple(sorted(sites, key=lambda s: (round(s.width, WIDTH_DECIMALS), s.marks, s.x, s.y)))


def _key(body: Component, as_lines: bool) -> str:
    return f"{body.key}|lines" if as_lines else body.key


def measure_of(body: Component, as_lines: bool, measures: KeptMeasures) -> GlyphMeasure:
    """Return a body's measure, kept or taken."""
    return measures.get(_key(body, as_lines), body.shape.bounds, lambda: _take(body, as_lines))


def _take(body: Component, as_lines: bool) -> GlyphMeasure:
    return measure_lines(_lines(body.shape)) if as_lines else measure_region(body.shape)


def _lines(shape: BaseGeometry) -> list[Polyline]:
    return [np.asarray(line.coords, dtype=np.float64) for line in getattr(shape, "geoms", [shape])]


def _placed(
    found: Sequence[Narrow],
    body: Component,
    lettering: Lettering,
    as_lines: bool,
    cache: Cache,
    closed: bool = False,
) -> list[NarrowPlace]:
    if not found:
        return []
    places = [map_point(body.matrix, (n.x, n.y)) for n in found]
    nearest = _nearest(body, places, _shapes(body, lettering, as_lines, cache))
    return [
        NarrowPlace(n.width * body.cap_mm, x, y, _turned(n.axis, body.matrix), (mark,), closed)
        for n, (x, y), mark in zip(found, places, nearest, strict=True)
    ]


def _turned(axis: float | None, m: Matrix) -> float | None:
    """Return a direction of a glyph's frame as it lies on the lid."""
    if axis is None:
        return None
    a, b, c, d, _, _ = m
    dx, dy = math.cos(axis), math.sin(axis)
    return math.atan2(b * dx + d * dy, a * dx + c * dy) % math.pi


def _shapes(body: Component, lettering: Lettering, as_lines: bool, cache: Cache) -> list[BaseGeometry]:
    """Return a body's marks on the lid, where they are several."""
    of = [lettering.marks[i] for i in body.marks] if len(body.marks) > 1 else []
    return [map_shape(kept_glyph_shape(m.glyph, as_lines, cache), m.matrix) for m in of]


def _nearest(body: Component, places: Sequence[Point], shapes: Sequence[BaseGeometry]) -> list[int]:
    """Return which of a body's marks is nearest to each place on the lid. shapes: the marks' own, if they are several."""
    if not shapes or not places:
        return [body.marks[0]] * len(places)
    drawn = np.fromiter(shapes, dtype=object, count=len(shapes))
    away = distance(points(places)[:, None], drawn)
    return [body.marks[k] for k in away.argmin(axis=1).tolist()]


def _gap_place(
    lettering: Lettering, parts: Sequence[Component], i: int, j: int, as_lines: bool, measures: KeptMeasures
) -> NarrowPlace | None:
    """Return the plain distance between two components as a place on the lid; None if it is none."""
    gap = _gap(parts[i], parts[j], as_lines, measures)
    if gap is None:
        return None
    x, y = map_point(parts[i].matrix, (gap.x, gap.y))
    marks = tuple(
        _nearest(parts[k], [(x, y)], _shapes(parts[k], lettering, as_lines, measures.cache))[0] for k in (i, j)
    )
    return NarrowPlace(gap.width * parts[i].cap_mm, x, y, _turned(gap.axis, parts[i].matrix), marks)


def _near(parts: Sequence[Component], as_lines: bool, reach: float, measures: KeptMeasures) -> list[tuple[int, int]]:
    """Return pairs of components within `reach` mm, and at least one that is as near as any."""
    near = reach if math.isfinite(reach) else min([reach, *_gaps_to_next(parts, as_lines, measures)])
    placed = [body.on_lid for body in parts]
    slack = GAP_SLACK * max(body.cap_mm for body in parts)
    pairs = STRtree(placed).query(placed, predicate="dwithin", distance=near + slack)
    return sorted({(min(a, b), max(a, b)) for a, b in pairs.T.tolist() if a != b})


def _gaps_to_next(parts: Sequence[Component], as_lines: bool, measures: KeptMeasures) -> list[float]:
    """Return the gap in mm from each component to the next, where there is one."""
    pairs = zip(parts[:-1], parts[1:], strict=True)
    return [g.width * one.cap_mm for one, two in pairs if (g := _gap(one, two, as_lines, measures))]


def _gap(one: Component, two: Component, as_lines: bool, measures: KeptMeasures) -> Narrow | None:
    """Return the gap between two components in the first one's cap heights; kept in memory by what stands where."""
    there = relative_matrix(one, two)
    return measures.gap(
        (one.key, two.key, as_lines, there), lambda: gap_between(one.shape, map_shape(two.shape, there))
    )


def crotches_of(body: Component, as_lines: bool, measures: KeptMeasures) -> tuple[Crotch, ...]:
    """Return a body's sharp crotches, in its cap heights."""
    return measure_of(body, as_lines, measures).crotches


def crotch_place(crotch: Crotch, body: Component, lettering: Lettering, as_lines: bool, cache: Cache) -> NarrowPlace:
    """Return a crotch as a place on the lid, at its tip; its width is the length for which it fills, mm."""
    (site,) = _placed([Narrow(crotch.length, crotch.x, crotch.y, crotch.axis)], body, lettering, as_lines, cache)
    return site
