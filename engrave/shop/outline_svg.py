"""A lid's outline from an SVG drawn in any program: one closed region in mm, with its holes.

Strokes, fills and colours are ignored; only shapes count. What is drawn inside the outline is taken as a hole, which
is the safe reading: nothing will be cut there. What cannot be a lid is refused with its reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path as File

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon, STRtree, dwithin, polygonize, prepare, unary_union

from engrave.geometry.crossings import count_crossings
from engrave.geometry.flattening import chords_needed, flatten
from engrave.geometry.paths import Contour, Path, Polyline, box, polygon_path, transformed
from engrave.geometry.regions import REGION_CHORD, polygons
from engrave.limits import DRAWING_CHORDS, DRAWING_CROSSINGS, DRAWING_RINGS
from engrave.shop.drawing import Shape, path_data, shapes_of, states_size
from engrave.shop.ends import met
from engrave.shop.shapes import DrawnOutline, OutlineError

__all__ = ["DrawnOutline", "OutlineError", "read_outline", "read_path_data"]

LEAST_OUTLINE = 5.0
"""mm: a smaller outline is a slip of the unit or a stray shape; no lid that carries words is so small."""

SPECK = 0.01
"""mm2: pieces left by mending that are smaller are rounding, not wood."""

GREATEST_SIDE = 3000.0
"""mm: no lid is longer; a larger outline is a slip of the unit."""

FARTHEST_POINT = 100_000.0
"""mm: no point of a drawing lies farther from its corner; beyond, figures are damaged."""

MOST_NOTES = 12
"""Notes on one drawing told one by one; the rest is counted."""

ALIKE = 50
"""Shapes of the same area with which one is compared to see whether it was drawn twice."""

ON_EDGE = 1e-9
"""mm: a ring that begins nearer to the edge of the region is that edge, rounding apart."""

BLOCK = 2_000_000
"""Pairs of points and chords reckoned with at a time: some tens of megabytes."""

LOOP = 0.01
"""Share of a shape's area below which a part that hangs on it by a crossing is a slip of the pen and is dropped."""


@dataclass(frozen=True, slots=True)
class _Region:
    """One shape of the drawing as a region, with the contours that bound it."""

    label: str
    contours: Path
    body: Polygon


def read_outline(file: File, width: float | None = None, height: float | None = None, ident: str = "") -> DrawnOutline:
    """Return the one region that an SVG draws. width, height: size in mm it is scaled to; one alone keeps its form.

    ident: the id of the path, or of the group, that is the outline; all else in the drawing (dimensions, words) is then
    no part of it.

    Raises OutlineError when the file cannot be read or its shapes cannot be one lid's outline.
    """
    shapes = shapes_of(file, ident)
    if not shapes:
        raise OutlineError("draws no shape; draw the lid's outline as one closed path")
    drawn = _drawn(_scaled(shapes, width, height))
    if width is None and height is None and not states_size(file):
        return replace(drawn, notes=(*drawn.notes, _no_size(drawn)))
    return drawn


def _no_size(drawn: DrawnOutline) -> str:
    """Say what was taken as its size: programs disagree whether a px is a 72nd, a 90th or a 96th of an inch."""
    return (
        f"it states no size in mm or inches, so one px was taken as 1/96 in and the lid as {drawn.width:.1f} x "
        f"{drawn.height:.1f} mm. If that is wrong, give its width in the lid's table"
    )


def read_path_data(data: str) -> DrawnOutline:
    """Return the one region that SVG path data in mm draws, as "M 0 0 H 80 A 40 40 0 0 1 80 80 H 0 Z"."""
    return _drawn([Shape("the path", path_data(data), False)])


def _drawn(shapes: Sequence[Shape]) -> DrawnOutline:
    notes: list[str] = []
    _few_chords(shapes)
    closed = met(shapes, notes)
    rings = sum(len(s.contours) for s in closed)
    if DRAWING_RINGS.passed(rings):
        raise OutlineError(
            f"has more than is read: {DRAWING_RINGS.of}: {DRAWING_RINGS.told(rings)}; simplify the drawing"
        )
    regions = [r for s in closed if (r := _region(s, notes)) is not None]
    outline = _one(_without_doubles(regions, notes), notes)
    left, top, right, bottom = _box(outline)
    wide, high = right - left, bottom - top
    if max(wide, high) > GREATEST_SIDE:
        raise OutlineError(
            f"draws an outline of {wide:,.0f} x {high:,.0f} mm, and no lid is longer than {GREATEST_SIDE:,.0f} mm; give "
            "its width in the lid's table, or draw it in mm"
        )
    if min(wide, high) < LEAST_OUTLINE:
        raise OutlineError(
            f"draws an outline of only {wide:.2f} x {high:.2f} mm; give its width in the lid's table, or draw it in mm"
        )
    if len(notes) > MOST_NOTES:
        notes[MOST_NOTES:] = [f"and {len(notes) - MOST_NOTES:,} more were mended like these"]
    return DrawnOutline(transformed(outline, (1, 0, 0, 1, -left, -top)), wide, high, tuple(notes))


def _few_chords(shapes: Sequence[Shape]) -> None:
    """Refuse curves so far flung, or so many, that following them true would never end."""
    points = (p for s in shapes for c in s.contours for p in (c.start, *(q for seg in c.segments for q in seg)))
    if not all(abs(v) <= FARTHEST_POINT for p in points for v in p):
        raise OutlineError(
            f"reaches farther than {FARTHEST_POINT:,.0f} mm; give its width in the lid's table, or draw it in mm"
        )
    count = sum(chords_needed(c, REGION_CHORD) for s in shapes for c in s.contours)
    if DRAWING_CHORDS.passed(count):
        told = DRAWING_CHORDS.told(int(count) if count < 1e9 else None)
        raise OutlineError(
            f"has more than is read: {DRAWING_CHORDS.of}: {told}; simplify the drawing, or give its width"
        )


def _few_crossings(label: str, rings: Sequence[Polyline]) -> int:
    """Return how often rings cross. Raises OutlineError beyond the limit."""
    count = count_crossings(rings, DRAWING_CROSSINGS.most)
    if DRAWING_CROSSINGS.passed(count):
        told = f"{DRAWING_CROSSINGS.of}: {DRAWING_CROSSINGS.told()} (in {label})"
        raise OutlineError(f"has more than is read: {told}; is it an outline?")
    return count


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
    pairs = [(c, r) for c in shape.contours if len(r := flatten(c, REGION_CHORD)) >= 4]
    rings = [r for _, r in pairs]
    crossings = _few_crossings(shape.label, rings) if rings else 0
    parts = _filled(rings, shape.evenodd) if rings else []
    if not parts:
        return None
    body = parts[0]
    if any(p.area > LOOP * body.area for p in parts[1:]):
        raise OutlineError(f"draws {len(parts)} separate regions in {shape.label}; a lid's outline is one region")
    if len(parts) > 1 or crossings or not all(LineString(r).is_simple for r in rings):
        notes.append(f"{shape.label} crosses itself; the edge of what it encloses was taken")
        return _Region(shape.label, _polygon_contours(body), body)
    edge = body.boundary
    prepare(edge)
    kept = tuple(c for c, r in pairs if dwithin(edge, Point(r[0]), ON_EDGE))  # else a line drawn inside it
    return _Region(shape.label, _turned(kept), body)


def _filled(rings: Sequence[Polyline], evenodd: bool) -> list[Polygon]:
    """Return what lies inside rings that may cross, largest first: faces of the arrangement, by the fill rule."""
    faces = list(polygonize([unary_union([LineString(r) for r in rings])]).geoms)
    places = np.array([face.representative_point().coords[0] for face in faces]).reshape(-1, 2)
    turns = np.zeros(len(faces), dtype=np.int64)
    for ring in rings:
        low, high = ring.min(axis=0), ring.max(axis=0)
        near = np.flatnonzero(((places > low) & (places < high)).all(axis=1))
        for some in np.array_split(near, 1 + len(near) * len(ring) // BLOCK):
            turns[some] += _turns(ring, places[some])
    inside = [face for face, n in zip(faces, turns.tolist(), strict=True) if (n % 2 if evenodd else n)]
    return [p for p in polygons(unary_union(inside)) if p.area > SPECK]


def _turns(ring: Polyline, at: Polyline) -> NDArray[np.int64]:
    """Return how often a ring goes round each point (k, 2), which lie clear of it: crossings of a ray to the right."""
    x, y = at[:, :1], at[:, 1:]
    (x0, y0), (x1, y1) = ring[:-1].T, ring[1:].T
    up, down = (y0 <= y) & (y1 > y), (y1 <= y) & (y0 > y)
    side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
    return np.asarray((up & (side > 0)).sum(axis=1) - (down & (side < 0)).sum(axis=1), dtype=np.int64)


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
    p = flatten(contour, REGION_CHORD)
    return float(np.sum(p[:-1, 0] * p[1:, 1] - p[1:, 0] * p[:-1, 1]))


def _without_doubles(regions: Sequence[_Region], notes: list[str]) -> list[_Region]:
    """Drop shapes drawn twice at the same place."""
    out: list[_Region] = []
    for region in regions:
        alike = [r for r in out if abs(r.body.area - region.body.area) < SPECK][:ALIKE]
        if any(r.body.symmetric_difference(region.body).area < SPECK for r in alike):
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
    prepare(shell)
    inside = [bool(shell.contains_properly(r.body)) for r in rest]
    holes = [r for r, within in zip(rest, inside, strict=True) if within]
    over = [r for r, within in zip(rest, inside, strict=True) if not within]
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
    more = f" and {len(regions) - MOST_NOTES:,} more" if len(regions) > MOST_NOTES else ""
    return ", ".join(r.label for r in regions[:MOST_NOTES]) + more


def _nested(holes: Sequence[_Region], outer: _Region) -> bool:
    """Tell whether the holes lie clear of one another and of those the outline has, so that curves can be kept."""
    every = [Polygon(r.body.exterior) for r in holes]
    if not every:
        return True
    one, two = STRtree(every).query(every, predicate="intersects")
    body = outer.body
    prepare(body)
    return bool((one == two).all()) and all(body.contains_properly(e) for e in every)


def _united(regions: Sequence[_Region], holes: Sequence[_Region]) -> Path:
    body = unary_union([r.body for r in regions])
    body = body.difference(unary_union([Polygon(r.body.exterior) for r in holes]))
    parts = [p for p in polygons(body) if p.area > SPECK]
    if len(parts) != 1:
        raise OutlineError(f"draws {len(parts)} separate regions; a lid's outline is one region")
    return _polygon_contours(parts[0])
