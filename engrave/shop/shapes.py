"""Outlines from a few figures: circle, ellipse, rectangle, polygon, regular polygon. Closed, true curves, mm.

All are drawn with the top left of their bounding box at (0, 0), x right, y down, and run the same way round.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from engrave.geometry.paths import Contour, Path, Point, Segment, box, polygon_path, transformed


class OutlineError(ValueError):
    """The drawing cannot be a lid's outline; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class DrawnOutline:
    """An outline in mm with the top left of its box at (0, 0), outer ring first, and what was mended in it."""

    outline: Path
    width: float
    height: float
    notes: tuple[str, ...]


ARC_STEP = math.pi / 4
"""Greatest angle of one cubic. At 45 degrees a cubic stands off a circle by 4e-6 of its radius (at 90 degrees it is
2.7e-4), so a lid of 150 mm is drawn true to 0.3 micrometres."""


def arc(centre: Point, rx: float, ry: float, start: float, end: float) -> tuple[Segment, ...]:
    """Return cubic segments along an ellipse from angle `start` to `end` (radians, clockwise as y runs down).

    Control points lie at 4/3 tan(step/4) of the radius along the tangents, which meets the circle at both ends and
    in the middle (Goldapp 1991; Riskus 2006 for the error).
    """
    n = max(1, math.ceil(abs(end - start) / ARC_STEP - 1e-9))
    step = (end - start) / n
    k = 4.0 / 3.0 * math.tan(step / 4.0)
    angles = [start + i * step for i in range(n + 1)]
    out: list[Segment] = []
    for a, b in pairwise(angles):
        ca, sa, cb, sb = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
        out.append(
            (
                (centre[0] + rx * (ca - k * sa), centre[1] + ry * (sa + k * ca)),
                (centre[0] + rx * (cb + k * sb), centre[1] + ry * (sb - k * cb)),
                (centre[0] + rx * cb, centre[1] + ry * sb),
            )
        )
    return tuple(out)


def ellipse(width: float, height: float) -> Path:
    """Return an ellipse by its full axes."""
    rx, ry = width / 2, height / 2
    segments = arc((rx, ry), rx, ry, 0.0, 2 * math.pi)
    return (_closed((width, ry), segments),)


def circle(diameter: float) -> Path:
    """Return a circle by its diameter."""
    return ellipse(diameter, diameter)


def rectangle(width: float, height: float, corner: float = 0.0) -> Path:
    """Return a rectangle; corner: radius of its rounded corners, at most half the lesser side."""
    if corner <= 0:
        return (polygon_path([(0, 0), (width, 0), (width, height), (0, height)]),)
    r, q = corner, math.pi / 2
    centres = ((width - r, r), (width - r, height - r), (r, height - r), (r, r))
    segments: list[Segment] = []
    at: Point = (r, 0.0)
    for i, centre in enumerate(centres):
        turn = arc(centre, r, r, (i - 1) * q, i * q)
        begin = (centre[0] + r * math.cos((i - 1) * q), centre[1] + r * math.sin((i - 1) * q))
        if math.dist(at, begin) > 1e-9:  # no side is left between corners that meet
            segments.append((begin,))
        segments.extend(turn)
        at = turn[-1][-1]
    if math.dist(at, (r, 0.0)) > 1e-9:
        segments.append(((r, 0.0),))
    return (_closed((r, 0.0), tuple(segments)),)


def polygon(points: Sequence[Point]) -> Path:
    """Return the polygon through the points, moved so that its box begins at (0, 0)."""
    return at_origin((polygon_path(points),))


def regular(sides: int, across: float) -> Path:
    """Return a regular polygon standing on a flat side; across: distance of a side from the one opposite.

    With an odd number of sides, from a side to the corner opposite.
    """
    turn = math.pi / sides
    inner = across / 2 if sides % 2 == 0 else across / (1 + 1 / math.cos(turn))
    radius = inner / math.cos(turn)
    angles = [math.pi / 2 - turn + 2 * turn * i for i in range(sides)]
    return polygon([(radius * math.cos(a), radius * math.sin(a)) for a in angles])


def at_origin(path: Path) -> Path:
    """Return the path moved so that the top left of its bounding box is (0, 0)."""
    found = box(path)
    return path if found is None else transformed(path, (1, 0, 0, 1, -found[0], -found[1]))


def centred_at(path: Path, centre: Point) -> Path:
    """Return the path moved so that the middle of its bounding box is at `centre`."""
    found = box(path)
    if found is None:
        return path
    dx, dy = centre[0] - (found[0] + found[2]) / 2, centre[1] - (found[1] + found[3]) / 2
    return transformed(path, (1, 0, 0, 1, dx, dy))


def mirrored(path: Path, width: float) -> Path:
    """Return the path seen from behind: left and right change places within a box of that width."""
    return transformed(path, (-1, 0, 0, 1, width, 0))


def _closed(start: Point, segments: tuple[Segment, ...]) -> Contour:
    """Close a contour exactly: rounding must not leave a gap of a billionth of a mm."""
    return Contour(start, (*segments[:-1], (*segments[-1][:-1], start)), True)
