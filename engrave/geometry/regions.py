"""Regions of the plane: shapely polygons made from paths, always by the nonzero rule, never snapped to a grid."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from shapely import LineString, MultiLineString, MultiPolygon, Polygon, make_valid, unary_union
from shapely.geometry.base import BaseGeometry

from engrave.geometry.flattening import flatten_all
from engrave.geometry.paths import Contour

REGION_CHORD = 0.005
"""mm: how far chords may stand off a curve when a region is made. A tenth of the finest beam's mark."""


SAME_AREA = 1e-9
"""Share of a region's area by which another may differ and be the same: a million times what doubles resolve."""


def signed_area(points: np.ndarray) -> float:
    """Return the area of a ring that repeats its first point: positive for rings that turn from +x to +y."""
    x, y = points[:, 0], points[:, 1]
    return float(0.5 * np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))


def region(path: Iterable[Contour], tolerance: float = REGION_CHORD) -> BaseGeometry:
    """Return the area inside closed contours whose outer and inner rings turn opposite ways (nonzero rule).

    Contours must not cross each other or themselves (glyphs are united when they are loaded); holes are the rings
    that turn against their surroundings.
    """
    rings = flatten_all([c for c in path if c.closed], tolerance)
    rings = [r for r in rings if len(r) >= 4]
    if not rings:
        return Polygon()
    areas = [signed_area(r) for r in rings]
    outward = 1.0 if areas[int(np.argmax(np.abs(areas)))] > 0 else -1.0
    solids = [Polygon(r) for r, a in zip(rings, areas, strict=True) if a * outward > 0]
    holes = [Polygon(r) for r, a in zip(rings, areas, strict=True) if a * outward < 0]
    body = unary_union([s if s.is_valid else make_valid(s) for s in solids])
    if holes:
        body = body.difference(unary_union([h if h.is_valid else make_valid(h) for h in holes]))
    return body


def centre_lines(path: Iterable[Contour], tolerance: float = REGION_CHORD) -> MultiLineString:
    """Return the strokes of a path as lines, for buffering into grooves."""
    lines = []
    for points in flatten_all(tuple(path), tolerance):
        if len(points) == 1 or (points == points[0]).all():
            points = np.array([points[0], points[0] + (1e-6, 0.0)])  # a dot still leaves a groove
        lines.append(LineString(points))
    return MultiLineString(lines)


def is_convex(shape: BaseGeometry) -> bool:
    """Tell whether a region is its own convex hull, but for rounding; one with a hole is not."""
    return bool(shape.convex_hull.area - shape.area <= SAME_AREA * shape.area)


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons of any geometry, largest first, leaving out lines and points."""
    if isinstance(shape, Polygon):
        found = [] if shape.is_empty else [shape]
    elif isinstance(shape, MultiPolygon):
        found = [p for p in shape.geoms if not p.is_empty]
    elif hasattr(shape, "geoms"):
        found = [p for part in shape.geoms for p in polygons(part)]
    else:
        found = []
    return sorted(found, key=lambda p: -p.area)
