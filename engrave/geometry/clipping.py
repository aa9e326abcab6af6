"""Closed paths cut off at the edge of another, their curves kept."""

from __future__ import annotations

import pathops

from engrave.geometry.affine import Matrix
from engrave.geometry.paths import Contour, Path, Point, Segment, transformed

PER_MM = 1024.0
"""Units of the library's single floats to a mm: on 100 mm they hold a place to a thousandth of a mm, as any file needs."""


def clipped(path: Path, edge: Path) -> Path:
    """Return the part of closed contours that lies inside others (nonzero rule both), curves kept. Unit: mm."""
    inside = pathops.op(
        _given(path), _given(edge), pathops.PathOp.INTERSECTION, fix_winding=True, keep_starting_points=False
    )
    back: Matrix = (1 / PER_MM, 0.0, 0.0, 1 / PER_MM, 0.0, 0.0)
    return transformed(_taken(inside), back)


def _given(path: Path) -> pathops.Path:
    one = pathops.Path()
    for contour in transformed(path, (PER_MM, 0.0, 0.0, PER_MM, 0.0, 0.0)):
        one.moveTo(*contour.start)
        for segment in contour.segments:
            flat = [v for p in segment for v in p]
            (one.lineTo, one.quadTo, one.cubicTo)[len(segment) - 1](*flat)
        one.close()
    return one


def _taken(one: pathops.Path) -> Path:
    found: list[Contour] = []
    start: Point | None = None
    segments: list[Segment] = []
    for verb, points in one:
        if verb == pathops.PathVerb.MOVE:
            start, segments = points[0], []
        elif verb == pathops.PathVerb.CLOSE:
            if start is not None and segments:
                closing: list[Segment] = [] if segments[-1][-1] == start else [(start,)]
                found.append(Contour(start, (*segments, *closing), True))
            start, segments = None, []
        else:
            segments.append(tuple(points))
    return tuple(found)
