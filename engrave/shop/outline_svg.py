"""A lid's outline from an SVG drawn in any program: one closed region in mm, with its holes.

Strokes, fills and colours are ignored; only shapes count. What is drawn inside the outline is taken as a hole, which
is the safe reading: nothing will be cut there. What cannot be a lid is refused with its reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path as File

import numpy as np
from shapely import LineString, Point, Polygon, polygonize, unary_union

from engrave.geometry.paths import Contour, Path, Polyline, box, flatten, polygon_path, transformed
from engrave.geometry.regions import CHORD, polygons
from engrave.shop.drawing import OutlineError, Shape, path_data, shapes_of, states_size
from engrave.shop.ends import met

__all__ = ["Drawn", "OutlineError", "read_outline", "read_path_data"]

LEAST_SIDE = 5.0
"""mm: a smaller outline is a slip of the unit or a stray shape; no lid that carries words is so small."""

SPECK = 0.01
"""mm2: pieces left by mending that are smaller are rounding, not wood."""

LOOP = 0.01
"""Share of a shape's area below which a part that hangs on it by a crossing is a slip of the pen and is dropped."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """An outline in mm with the top left of its box at (0, 0), outer ring first, and what was mended in it."""

    outline: Path
    width: float
    height: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Region:
    """One shape of the drawing as a region, with the contours that bound it."""

    label: str
    contours: Path
    body: Polygon


def read_outline(file: File, width: float | None = None, height: float | None = None) -> Drawn:
    """Return the one region that an SVG draws. width, height: size in mm it is scaled to; one alone keeps its form.

    Raises OutlineError when the file cannot be read or its shapes cannot be one lid's outline.
    """
    shapes = shapes_of(file)
    if not shapes:
        raise OutlineError("draws no shape; draw the lid's outline as one closed path")
    drawn = _drawn(_scaled(shapes, width, height))
    if width is None and height is None and not states_size(file):
        return replace(drawn, notes=(*drawn.notes, _no_size(drawn)))
    return drawn


def _no_size(drawn: Drawn) -> str:
    """Say what was taken as its size: programs disagree whether a px is a 72nd, a 90th or a 96th of an inch."""
    return (
        f"it states no size in mm or inches, so one px was taken as 1/96 in and the lid as {drawn.width:.1f} x "
        f"{drawn.height:.1f} mm; if that is wrong, give its width in the lid's table"
    )


def read_path_data(data: str) -> Drawn:
    """Return the one region that SVG path data in mm draws, as "M 0 0 H 80 A 40 40 0 0 1 80 80 H 0 Z"."""
    return _drawn([Shape("the path", path_data(data), False)])


def _drawn(shapes: Sequence[Shape]) -> Drawn:
    notes: list[str] = []
    regions = [r for s in met(shapes, notes) if (r := _region(s, notes)) is not None]
    outline = _one(_without_doubles(regions, notes), notes)
    left, top, right, bottom = _box(outline)
    wide, high = right - left, bottom - top
    if min(wide, high) < LEAST_SIDE:
        raise OutlineError(
            f"draws an outline of only {wide:.2f} x {high:.2f} mm; give its width in the lid's table, or draw it in mm"
        )
    return Drawn(transformed(outline, (1, 0, 0, 1, -left, -top)), wide, high, tuple(notes))


def _box(path: Path) -> tuple[float, float, float, float]:
    found = box(path)
    if found is None:
        raise OutlineError("draws no closed region; draw the lid's outline as one closed path")
    return found


def _scaled(shapes: Sequence[Shape], width: float | None, height: float | None) -> list[Shape]:
    if width is None and height is None:
        return list(shapes)
    left, top, right, bottom = _box(tuple(c for s in shapes for c in s.contours))
    wide, high = right - left, bottom - top
    if wide <= 0 or high <= 0:
        raise OutlineError("draws a line, not an outline: it has no width or no height")
    sx = width / wide if width is not None else (height or high) / high
    sy = height / high if height is not None else sx
    return [replace(s, contours=transformed(s.contours, (sx, 0, 0, sy, 0, 0))) for s in shapes]


def _region(shape: Shape, notes: list[str]) -> _Region | None:
    """Return a shape of closed contours as a region; None for one without any inside."""
    pairs = [(c, r) for c in shape.contours if len(r := flatten(c, CHORD)) >= 4]
    rings = [r for _, r in pairs]
    parts = _filled(rings, shape.evenodd) if rings else []
    if not parts:
        return None
    body = parts[0]
    if any(p.area > LOOP * body.area for p in parts[1:]):
        raise OutlineError(f"draws {len(parts)} separate regions in {shape.label}; a lid's outline is one region")
    if len(parts) > 1 or not _simple(rings):
        notes.append(f"{shape.label} crosses itself; the edge of what it encloses was taken")
        return _Region(shape.label, _polygon_contours(body), body)
    kept = tuple(c for c, r in pairs if _bounds(r, body))
    return _Region(shape.label, _turned(kept), body)


def _filled(rings: Sequence[Polyline], evenodd: bool) -> list[Polygon]:
    """Return what lies inside rings that may cross, largest first: faces of the arrangement, by the fill rule."""
    inside = []
    for face in polygonize([unary_union([LineString(r) for r in rings])]).geoms:
        turns = sum(_turns(r, face.representative_point()) for r in rings)
        if turns % 2 if evenodd else turns:
            inside.append(face)
    return [p for p in polygons(unary_union(inside)) if p.area > SPECK]


def _turns(ring: Polyline, at: Point) -> int:
    """Return how often a ring goes round a point: the sum of its angles seen from there, in whole turns."""
    d = ring - (at.x, at.y)
    steps = np.diff(np.arctan2(d[:, 1], d[:, 0]))
    steps = (steps + np.pi) % (2 * np.pi) - np.pi
    return round(float(steps.sum()) / (2 * np.pi))


def _simple(rings: Sequence[Polyline]) -> bool:
    """Tell whether no ring crosses itself or another."""
    lines = [LineString(r) for r in rings]
    if not all(line.is_simple for line in lines):
        return False
    return not any(a.intersects(b) for i, a in enumerate(lines) for b in lines[i + 1 :])


def _bounds(ring: Polyline, body: Polygon) -> bool:
    """Tell whether a ring is an edge of the region, not a line drawn inside it."""
    return bool(body.boundary.distance(Point(ring[0])) < 1e-9)


def _polygon_contours(body: Polygon) -> Path:
    rings = [body.exterior, *(h for h in body.interiors if Polygon(h).area > SPECK)]
    return _turned(tuple(polygon_path(list(r.coords)[:-1]) for r in rings))


def _turned(path: Path) -> Path:
    """Return the contours largest first, the outer one turning one way and its holes the other."""
    areas = [_turning(c) for c in path]
    order = sorted(range(len(path)), key=lambda i: -abs(areas[i]))
    return tuple(path[i] if (areas[i] > 0) == (place == 0) else path[i].reversed() for place, i in enumerate(order))


def _turning(contour: Contour) -> float:
    """Return twice the area inside a contour, positive where it runs clockwise as seen (y down)."""
    p = flatten(contour, CHORD)
    return float(np.sum(p[:-1, 0] * p[1:, 1] - p[1:, 0] * p[:-1, 1]))


def _without_doubles(regions: Sequence[_Region], notes: list[str]) -> list[_Region]:
    """Drop shapes drawn twice at the same place."""
    out: list[_Region] = []
    for region in regions:
        if any(r.body.symmetric_difference(region.body).area < SPECK for r in out):
            notes.append(f"{region.label} is drawn twice; one was taken")
        else:
            out.append(region)
    return out


def _one(regions: Sequence[_Region], notes: list[str]) -> Path:
    """Return one outline: the largest shape, those inside it as holes, those that overlap it united with it."""
    if not regions:
        raise OutlineError("draws no closed region; draw the lid's outline as one closed path")
    outer, *rest = sorted(regions, key=lambda r: -r.body.area)
    shell = Polygon(outer.body.exterior)
    holes = [r for r in rest if shell.contains_properly(r.body)]
    over = [r for r in rest if r not in holes]
    for r in over:
        if not shell.intersects(r.body):
            raise OutlineError(
                f"draws {r.label} apart from {outer.label}; a lid's outline is one region: delete what is no part of it"
            )
    if holes:
        notes.append(f"{_named(holes)} inside the outline: taken as a hole, nothing is cut there")
    if over:
        notes.append(f"{_named(over)} overlaps {outer.label}: they were united")
    if over or not _nested(holes, outer):
        return _united([outer, *over], holes)
    return _turned((*outer.contours, *(r.contours[0] for r in holes)))


def _named(regions: Sequence[_Region]) -> str:
    return ", ".join(r.label for r in regions)


def _nested(holes: Sequence[_Region], outer: _Region) -> bool:
    """Tell whether the holes lie clear of one another and of those the outline has, so that curves can be kept."""
    every = [Polygon(r.body.exterior) for r in holes]
    clear = not any(a.intersects(b) for i, a in enumerate(every) for b in every[i + 1 :])
    return clear and all(outer.body.contains_properly(e) for e in every)


def _united(regions: Sequence[_Region], holes: Sequence[_Region]) -> Path:
    body = unary_union([r.body for r in regions])
    body = body.difference(unary_union([Polygon(r.body.exterior) for r in holes]))
    parts = [p for p in polygons(body) if p.area > SPECK]
    if len(parts) != 1:
        raise OutlineError(f"draws {len(parts)} separate regions; a lid's outline is one region")
    return _polygon_contours(parts[0])
