"""The last word on whether lettering is inside its room: real outlines or strokes, not silhouettes."""

from __future__ import annotations

import numpy as np
import shapely

from engrave.geometry.paths import compose
from engrave.geometry.regions import polygons, region
from engrave.setting.frames import Place
from engrave.setting.lettering import Lettering, Mark
from engrave.setting.shapes import Floats
from engrave.setting.voices import measure


def is_inside(lettering: Lettering, where: Place) -> bool:
    """Tell whether every outline (or stroke, at the width of its groove) lies in the room."""
    lines = [line for mark in lettering.marks for line in ink(mark, where)]
    if not lines:
        return True
    index = np.repeat(np.arange(len(lines)), [len(r) for r in lines])
    drawn = shapely.linestrings(np.concatenate(lines), indices=index)
    shapely.prepare(where.room)
    return bool(shapely.covers(where.room, drawn).all()) and not _covers_a_hole(lettering, where)


def ink(mark: Mark, where: Place) -> list[Floats]:
    """Return a mark's contours in the reader's frame, as points in mm."""
    m = measure(mark.glyph)
    if m is None:
        return []
    a, b, c, d, e, f = compose(_inverse(where), mark.matrix)
    turned = np.array([[a, b], [c, d]])
    return [o @ turned + (e, f) for o in m.outlines]


def _inverse(where: Place) -> tuple[float, float, float, float, float, float]:
    a, b, c, d, e, f = where.to_area
    det = a * d - b * c
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


def _covers_a_hole(lettering: Lettering, where: Place) -> bool:
    """Tell whether a whole keep-out lies under some letter's ink, which no contour would show."""
    if lettering.kind == "single-line":
        return False
    points = [np.asarray(hole.coords)[0] for part in polygons(where.room) for hole in part.interiors]
    if not points:
        return False
    for mark in lettering.marks:
        rings = ink(mark, where)
        low, high = (np.min if k == 0 else np.max for k in (0, 1))
        whole = np.concatenate(rings) if rings else np.empty((0, 2))
        for p in points if len(whole) else ():
            if (low(whole, axis=0) <= p).all() and (p <= high(whole, axis=0)).all():
                to_reader = compose(_inverse(where), mark.matrix)
                body = region(tuple(c.transformed(to_reader) for c in mark.glyph.path))
                if body.contains(shapely.Point(p)):
                    return True
    return False
