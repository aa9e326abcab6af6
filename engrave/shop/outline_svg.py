"""A lid's outline from an SVG drawn in any program: one closed region in mm, with its holes.

Strokes, fills and colours are ignored; only shapes count. What is drawn inside the outline is taken as a hole, which
is the safe reading: nothing will be cut there. What cannot be a lid is refused with its reason.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path as File
from typing import Any
from xml.etree.ElementTree import ParseError

import numpy as np
import svgelements as sv
from shapely import LineString, Point, Polygon, polygonize, unary_union
from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import Contour, Path, Segment, box, flatten, polygon_path, transformed
from engrave.geometry.regions import CHORD, polygons
from engrave.units import MM_PER_INCH

PX_PER_INCH = 96.0
"""A user unit without a size in the file is 1/96 in (CSS Values and Units, absolute lengths)."""

GAP = 0.05
"""mm: an outline whose ends lie no farther apart is closed; drawing programs leave such hairs. Wider is refused."""

LEAST_SIDE = 5.0
"""mm: a smaller outline is a slip of the unit or a stray shape; no lid that carries words is so small."""

SPECK = 0.01
"""mm2: pieces left by mending that are smaller are rounding, not wood."""


class OutlineError(ValueError):
    """The drawing cannot be a lid's outline; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """An outline in mm with the top left of its box at (0, 0), outer ring first, and what was mended in it."""

    outline: Path
    width: float
    height: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Shape:
    """One shape of the drawing: its contours, the region inside, and whether its curves could be kept."""

    label: str
    contours: Path
    body: Polygon
    curves: bool


def read_outline(file: File, width: float | None = None, height: float | None = None) -> Drawn:
    """Return the one region that an SVG draws. width, height: size in mm it is scaled to; one alone keeps its form.

    Raises OutlineError when the file cannot be read or its shapes cannot be one lid's outline.
    """
    drawn = _shapes_of(file)
    if not drawn:
        raise OutlineError("draws no shape; draw the lid's outline as one closed path")
    scaled = _scaled(drawn, width, height)
    notes: list[str] = []
    shapes = [_shape(label, path, rule, notes) for label, path, rule in scaled]
    outline = _one(_without_doubles([s for s in shapes if s is not None], notes), notes)
    found = box(outline)
    assert found is not None  # _one refuses a drawing without a region
    wide, high = found[2] - found[0], found[3] - found[1]
    if min(wide, high) < LEAST_SIDE:
        raise OutlineError(
            f"draws an outline of only {wide:.2f} x {high:.2f} mm; give its width in the lid's table, or draw it in mm"
        )
    return Drawn(transformed(outline, (1, 0, 0, 1, -found[0], -found[1])), wide, high, tuple(notes))


def read_path_data(data: str) -> Drawn:
    """Return the one region that SVG path data in mm draws, as "M 0 0 H 80 A 40 40 0 0 1 80 80 H 0 Z"."""
    try:
        path = _contours(sv.Path(data))
    except (ValueError, IndexError, TypeError, AttributeError) as error:
        raise OutlineError("is not path data as SVG writes it: M, L, H, V, C, Q, A and Z with their figures") from error
    notes: list[str] = []
    shape = _shape("path", path, "nonzero", notes)
    if shape is None:
        raise OutlineError("draws no closed region")
    outline = _one([shape], notes)
    found = box(outline)
    assert found is not None
    wide, high = found[2] - found[0], found[3] - found[1]
    if min(wide, high) < LEAST_SIDE:
        raise OutlineError(f"draws an outline of only {wide:.2f} x {high:.2f} mm")
    return Drawn(transformed(outline, (1, 0, 0, 1, -found[0], -found[1])), wide, high, tuple(notes))


def _shapes_of(file: File) -> list[tuple[str, Path, str]]:
    """Return (label, contours in mm, fill rule) of every shape that would be seen."""
    try:
        svg = sv.SVG.parse(str(file), reify=True, ppi=PX_PER_INCH)
    except OSError as error:
        raise OutlineError(f"cannot be opened: {error.strerror}") from error
    except (ParseError, ValueError, TypeError, AttributeError) as error:
        raise OutlineError(f"cannot be read as SVG: {error}") from error
    mm = MM_PER_INCH / PX_PER_INCH
    out = []
    for shape in _seen(svg):
        path = transformed(_contours(sv.Path(shape)), (mm, 0, 0, mm, 0, 0))
        if path:
            label = shape.id or f"a {type(shape).__name__.lower()}"
            out.append((str(label), path, str(shape.values.get("fill-rule") or "nonzero")))
    return out


def _seen(group: Any) -> list[Any]:
    """Return the shapes that are drawn, leaving out hidden ones and those of clips, masks, markers and patterns."""
    out: list[Any] = []
    for item in group:
        if _hidden(item):
            continue
        if isinstance(item, sv.Shape):
            out.append(item)
        elif isinstance(item, sv.Use | sv.Group | sv.SVG):
            out.extend(_seen(item))
    return out


def _hidden(item: Any) -> bool:
    values = getattr(item, "values", None) or {}
    return values.get("display") == "none" or values.get("visibility") in ("hidden", "collapse")


def _contours(path: Any) -> Path:
    """Return our contours of a path of the reader's: arcs become cubics, one run from each 'move'."""
    out: list[Contour] = []
    for sub in path.as_subpaths():
        contour = _contour(sub)
        if contour is not None:
            out.append(contour)
    return tuple(out)


def _contour(sub: Any) -> Contour | None:
    segments: list[Segment] = []
    start: tuple[float, float] | None = None
    closed = False
    for part in sub:
        if isinstance(part, sv.Move):
            start = _point(part.end)
        elif isinstance(part, sv.Close):
            closed = True
        elif isinstance(part, sv.Arc):
            segments.extend(_cubic(c) for c in part.as_cubic_curves(max(4, math.ceil(abs(part.sweep) / (math.pi / 4)))))
        elif isinstance(part, sv.CubicBezier):
            segments.append(_cubic(part))
        elif isinstance(part, sv.QuadraticBezier):
            segments.append((_point(part.control), _point(part.end)))
        else:
            segments.append((_point(part.end),))
    if start is None or not segments:
        return None
    if closed and math.dist(segments[-1][-1], start) > 0:
        segments.append((start,))
    return Contour(start, tuple(segments), closed)


def _cubic(c: Any) -> Segment:
    return (_point(c.control1), _point(c.control2), _point(c.end))


def _point(p: Any) -> tuple[float, float]:
    return (float(p.x), float(p.y))


def _scaled(
    drawn: list[tuple[str, Path, str]], width: float | None, height: float | None
) -> list[tuple[str, Path, str]]:
    if width is None and height is None:
        return drawn
    found = box(c for _, path, _ in drawn for c in path)
    assert found is not None
    wide, high = found[2] - found[0], found[3] - found[1]
    if wide <= 0 or high <= 0:
        raise OutlineError("draws a line, not an outline: it has no width or no height")
    sx = width / wide if width is not None else height / high if height is not None else 1.0
    sy = height / high if height is not None else sx
    return [(label, transformed(path, (sx, 0, 0, sy, 0, 0)), rule) for label, path, rule in drawn]


def _shape(label: str, path: Path, rule: str, notes: list[str]) -> _Shape | None:
    """Return a shape with its region, ends closed where they all but meet; None for what has no inside at all."""
    closed = tuple(_ends_met(label, c, notes) for c in path)
    rings = [flatten(c, CHORD) for c in closed]
    rings = [r for r in rings if len(r) >= 4]
    if not rings:
        return None
    body = _filled(rings, rule)
    parts = [p for p in polygons(body) if p.area > SPECK]
    if not parts:
        return None
    if len(parts) > 1:
        raise OutlineError(f"draws {len(parts)} separate regions in {label}; a lid's outline is one region")
    curves = _simple(rings)
    if not curves:
        notes.append(f"{label} crosses itself; its outer edge was taken")
        return _Shape(label, _polygon_contours(parts[0]), parts[0], False)
    kept = tuple(c for c, r in zip(closed, rings, strict=False) if _bounds_it(r, parts[0]))
    return _Shape(label, _turned(kept), parts[0], True)


def _ends_met(label: str, contour: Contour, notes: list[str]) -> Contour:
    """Return the contour closed; a gap up to GAP is bridged and said, a wider one refused."""
    if contour.closed:
        return contour
    gap = math.dist(contour.start, contour.end)
    if gap > GAP:
        x, y = contour.end
        raise OutlineError(
            f"{label} is open by {gap:.2f} mm (it ends at {x:.1f}, {y:.1f} mm on the drawing); close it, or delete it "
            "if it is no outline"
        )
    if gap == 0:
        return replace(contour, closed=True)
    notes.append(f"{label} was open by {gap:.3f} mm and was closed")
    return Contour(contour.start, (*contour.segments, (contour.start,)), True)


def _filled(rings: list[np.ndarray[Any, np.dtype[np.float64]]], rule: str) -> BaseGeometry:
    """Return the region inside rings that may cross: faces of the arrangement, by how often the rings go round them."""
    faces = polygonize([unary_union([LineString(r) for r in rings])]).geoms
    inside = []
    for face in faces:
        turns = sum(_turns(r, face.representative_point()) for r in rings)
        if turns % 2 if rule == "evenodd" else turns:
            inside.append(face)
    return unary_union(inside)


def _turns(ring: np.ndarray[Any, np.dtype[np.float64]], at: Point) -> int:
    """Return how often a ring goes round a point: the sum of its angles seen from there, in whole turns."""
    d = ring - (at.x, at.y)
    angles = np.arctan2(d[:, 1], d[:, 0])
    steps = np.diff(angles)
    steps = (steps + np.pi) % (2 * np.pi) - np.pi
    return round(float(steps.sum()) / (2 * np.pi))


def _simple(rings: list[np.ndarray[Any, np.dtype[np.float64]]]) -> bool:
    """Tell whether no ring crosses itself or another."""
    lines = [LineString(r) for r in rings]
    if not all(line.is_simple for line in lines):
        return False
    return not any(a.intersects(b) for i, a in enumerate(lines) for b in lines[i + 1 :])


def _bounds_it(ring: np.ndarray[Any, np.dtype[np.float64]], body: Polygon) -> bool:
    """Tell whether a ring is an edge of the region, not a line drawn inside it."""
    return bool(body.boundary.distance(Point(ring[0])) < 1e-9)


def _polygon_contours(body: Polygon) -> Path:
    rings = [body.exterior, *(h for h in body.interiors if Polygon(h).area > SPECK)]
    return _turned(tuple(polygon_path(list(r.coords)[:-1]) for r in rings))


def _turned(path: Path) -> Path:
    """Return the contours largest first, the outer one turning one way and its holes the other."""
    areas = [Polygon(flatten(c, CHORD)).area for c in path]
    order = sorted(range(len(path)), key=lambda i: -areas[i])
    out = []
    for place, i in enumerate(order):
        clockwise = _runs_clockwise(path[i])
        out.append(path[i] if clockwise == (place == 0) else path[i].reversed())
    return tuple(out)


def _runs_clockwise(contour: Contour) -> bool:
    p = flatten(contour, CHORD)
    return bool(np.sum(p[:-1, 0] * p[1:, 1] - p[1:, 0] * p[:-1, 1]) > 0)


def _without_doubles(shapes: list[_Shape], notes: list[str]) -> list[_Shape]:
    """Drop shapes drawn twice at the same place."""
    out: list[_Shape] = []
    for shape in shapes:
        if any(s.body.symmetric_difference(shape.body).area < SPECK for s in out):
            notes.append(f"{shape.label} is drawn twice; one was taken")
        else:
            out.append(shape)
    return out


def _one(shapes: list[_Shape], notes: list[str]) -> Path:
    """Return one outline: the largest shape, those inside it as holes, those that overlap it united with it."""
    if not shapes:
        raise OutlineError("draws no closed region; draw the lid's outline as one closed path")
    shapes = sorted(shapes, key=lambda s: -s.body.area)
    outer, rest = shapes[0], shapes[1:]
    shell = Polygon(outer.body.exterior)
    holes = [s for s in rest if shell.contains_properly(s.body)]
    apart = [s for s in rest if s not in holes]
    for s in apart:
        if not shell.intersects(s.body):
            raise OutlineError(
                f"draws {s.label} apart from {outer.label}; a lid's outline is one region, so delete what is no part of it"
            )
    if not apart and not holes:
        return outer.contours
    if holes:
        notes.append(f"{', '.join(s.label for s in holes)} inside the outline: taken as a hole, nothing is cut there")
    if apart:
        return _united(outer, apart, holes, notes)
    if _nested(holes, outer):
        return _turned((*outer.contours, *(s.contours[0] for s in holes)))
    return _united(outer, [], holes, notes)


def _nested(holes: list[_Shape], outer: _Shape) -> bool:
    """Tell whether the holes lie clear of one another and of the holes the outline has, so that curves can be kept."""
    every = [Polygon(s.body.exterior) for s in holes]
    clear = not any(a.intersects(b) for i, a in enumerate(every) for b in every[i + 1 :])
    return clear and all(outer.body.contains_properly(e) for e in every)


def _united(outer: _Shape, more: list[_Shape], holes: list[_Shape], notes: list[str]) -> Path:
    if more:
        notes.append(f"{', '.join(s.label for s in more)} overlaps {outer.label}: they were united")
    body = unary_union([outer.body, *(s.body for s in more)])
    body = body.difference(unary_union([Polygon(s.body.exterior) for s in holes])) if holes else body
    parts = [p for p in polygons(body) if p.area > SPECK]
    if len(parts) != 1:
        raise OutlineError(f"draws {len(parts)} separate regions; a lid's outline is one region")
    return _polygon_contours(parts[0])
