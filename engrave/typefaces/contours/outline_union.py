"""Outlines made one: contours that overlap are united with their curves kept."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import pathops
from shapely import LinearRing, Polygon

from engrave.geometry.flattening import flatten_all
from engrave.geometry.paths import Path, Polyline, transformed
from engrave.typefaces.contours.path_pen import PathPen, draw

_FLAT = 0.004
"""Cap heights: chords for seeing whether contours meet. Overlaps in fonts are a stroke wide, ten times as much."""
_UNITS = 1024.0
"""pathops works in single floats and treats points nearer than about 1/4096 as one: it is given fonts' usual size."""

_MITER = 3.0
"""Corners run out to a point up to this many times as far as sides move, as in a heavier weight; sharper are cut off."""


def united(path: Path) -> Path:
    """Return closed contours with overlaps removed (nonzero rule); a path without overlaps comes back as it is."""
    closed = tuple(c for c in path if c.closed)
    return unite(closed) if overlaps(closed) else closed


def unite(path: Path) -> Path:
    """Return the union of closed contours, curves kept, outer and inner rings turning opposite ways."""
    one = _given(path)
    one.simplify(fix_winding=True, keep_starting_points=False)
    return _taken(one)


def together(paths: Sequence[Path]) -> Path:
    """Return the union of paths that may turn either way, each united in itself, all turning alike afterwards."""
    whole = pathops.Path()
    for path in paths:
        one = _given(path)
        one.simplify(fix_winding=True, keep_starting_points=False)
        whole = pathops.op(whole, one, pathops.PathOp.UNION, fix_winding=True, keep_starting_points=False)
    return _taken(whole)


def layered(layers: Sequence[tuple[Path, bool, bool]]) -> Path:
    """Return closed contours laid over each other: (path, by the even-odd rule, adds); what does not add takes away."""
    whole = pathops.Path()
    for path, evenodd, adds in layers:
        one = _given(path)
        one.fillType = pathops.FillType.EVEN_ODD if evenodd else pathops.FillType.WINDING
        one.simplify(fix_winding=True, keep_starting_points=False)
        how = pathops.PathOp.UNION if adds else pathops.PathOp.DIFFERENCE
        whole = pathops.op(whole, one, how, fix_winding=True, keep_starting_points=False)
    return _taken(whole)


def stroked(path: Path, width: float) -> Path:
    """Return the outline of a round pen of the given width along a path, united."""
    one = _given(path)
    one.stroke(width * _UNITS, pathops.LineCap.ROUND_CAP, pathops.LineJoin.ROUND_JOIN, 4.0)
    one.convertConicsToQuads()
    one.simplify(fix_winding=True, keep_starting_points=False)
    return _taken(one)


def grown(path: Path, by: float) -> Path:
    """Return closed contours moved outwards by `by` all around, curves kept and corners as sharp as drawn."""
    if not path:
        return path
    whole, pen = _given(path), _given(path)
    pen.stroke(2.0 * by * _UNITS, pathops.LineCap.BUTT_CAP, pathops.LineJoin.MITER_JOIN, _MITER)
    pen.convertConicsToQuads()
    return _taken(pathops.op(whole, pen, pathops.PathOp.UNION, fix_winding=True, keep_starting_points=False))


def _given(path: Path) -> pathops.Path:
    one = pathops.Path()
    draw(transformed(path, (_UNITS, 0.0, 0.0, _UNITS, 0.0, 0.0)), one.getPen(allow_open_paths=True))
    return one


def _taken(one: pathops.Path) -> Path:
    pen = PathPen(1.0 / _UNITS)
    one.draw(pen)
    return tuple(c for c in pen.path if c.closed)


def overlaps(path: Path) -> bool:
    """Tell whether contours cross themselves or each other, or lie in one another turning the same way."""
    rings = [r for r in flatten_all(path, _FLAT) if len(r) > 3]
    if any(not LinearRing(r).is_simple for r in rings):
        return True
    return any(_meet(a, b) for a, b in itertools.combinations(rings, 2))


def _meet(a: Polyline, b: Polyline) -> bool:
    if (a.max(0) < b.min(0)).any() or (b.max(0) < a.min(0)).any():
        return False
    one, two = Polygon(a), Polygon(b)
    if one.exterior.intersects(two.exterior):
        return True
    same_turn = one.exterior.is_ccw == two.exterior.is_ccw
    return bool(same_turn and (one.contains(two) or two.contains(one)))
