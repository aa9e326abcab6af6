"""The last word on whether lettering is inside its room: real outlines or strokes, not silhouettes."""

from __future__ import annotations

import numpy as np
import shapely

from engrave.geometry.affine import inverse_matrix, map_points, matrix_product
from engrave.geometry.arrays import Floats
from engrave.geometry.regions import polygons, region
from engrave.setting.lettering import Lettering, Mark
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.glyph_shapes import glyph_shape


def is_inside(lettering: Lettering, frame: ReadingFrame) -> bool:
    """Tell whether every outline (or stroke, at the width of its groove) lies in the room."""
    lines = [line for mark in lettering.marks for line in ink_of(mark, frame)]
    if not lines:
        return True
    index = np.repeat(np.arange(len(lines)), [len(r) for r in lines])
    drawn = shapely.linestrings(np.concatenate(lines), indices=index)
    shapely.prepare(frame.room)
    return bool(shapely.covers(frame.room, drawn).all()) and not _covers_a_hole(lettering, frame)


def ink_of(mark: Mark, frame: ReadingFrame) -> list[Floats]:
    """Return a mark's contours in the reader's frame, as points in mm."""
    m = glyph_shape(mark.glyph)
    if m is None:
        return []
    onto = matrix_product(inverse_matrix(frame.to_area), mark.matrix)
    return [map_points(onto, outline) for outline in m.outlines]


def _covers_a_hole(lettering: Lettering, frame: ReadingFrame) -> bool:
    """Tell whether a whole keep-out lies under some letter's ink, which no contour would show."""
    if lettering.kind == "single-line":
        return False
    points = [np.asarray(hole.coords)[0] for part in polygons(frame.room) for hole in part.interiors]
    if not points:
        return False
    for mark in lettering.marks:
        rings = ink_of(mark, frame)
        low, high = (np.min if k == 0 else np.max for k in (0, 1))
        whole = np.concatenate(rings) if rings else np.empty((0, 2))
        for p in points if len(whole) else ():
            if (low(whole, axis=0) <= p).all() and (p <= high(whole, axis=0)).all():
                to_reader = matrix_product(inverse_matrix(frame.to_area), mark.matrix)
                body = region(tuple(c.transformed(to_reader) for c in mark.glyph.path))
                if body.contains(shapely.Point(p)):
                    return True
    return False
