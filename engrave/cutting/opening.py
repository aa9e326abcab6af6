"""What a round bit really leaves of a shape (its opening), and whether that still is the shape.

Opening: everything that a disc of the cutter's diameter covers without leaving the shape (Serra, Image Analysis and
Mathematical Morphology, 1982): erode by the radius, dilate by the radius.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shapely import MultiPolygon, distance, get_coordinates, points, prepare, segmentize, shortest_line
from shapely.geometry.base import BaseGeometry

from engrave.cutting import limits
from engrave.geometry.regions import polygons

Failure = Literal["vanishes", "breaks", "loses"]

HAIR = 0.001
"""Share of the diameter by which the dilation exceeds the erosion, so that nothing is lost to rounding alone."""

ARC = 8
"""Chords a quarter circle of a rounded corner: 0.5 % of the radius off at most, below what a shop can see."""

DUST = 1e-3
"""Lost parts under this share of the diameter squared are rounding, and are not drawn."""


@dataclass(frozen=True, slots=True)
class Opening:
    """A shape as a bit leaves it. failure: how it fails, None if only corners round. at: where (x, y), None if not.

    reach: how far the farthest lost point lies from what is left. All in the shape's own unit.
    """

    cut: BaseGeometry
    failure: Failure | None
    at: tuple[float, float] | None
    reach: float


def open_by(shape: BaseGeometry, diameter: float, floor: float) -> Opening:
    """Open a shape by a disc; `floor`: loss that is allowed however fine the disc (see `limits.LOSS_FLOOR`).

    It fails when a part vanishes or breaks in two, or when a point of it lies farther than max(diameter, floor) from
    what is left. A part exactly as wide as the disc passes.
    """
    radius = diameter / 2.0
    core = shape.buffer(-radius * (1.0 - limits.EQUAL), quad_segs=ARC)
    cut = core.buffer(radius * (1.0 - limits.EQUAL + 2.0 * HAIR), quad_segs=ARC).intersection(shape)
    for part in polygons(shape):
        # judged part by part: what is lost of one letter is not made up for by its neighbour
        left = [p for p in polygons(cut.intersection(part)) if p.area > DUST * diameter * diameter]
        if not left:
            middle = part.representative_point()
            return Opening(cut, "vanishes", (middle.x, middle.y), float("inf"))
        if len(left) > 1:
            return Opening(cut, "breaks", _break(left), float("inf"))
    reach, at = _farthest(shape, cut, max(diameter, floor))
    return Opening(cut, "loses" if reach > max(diameter, floor) else None, at, reach)


def _break(left: Sequence[BaseGeometry]) -> tuple[float, float]:
    """Return a place between the largest of the pieces of a broken part and the piece nearest to it."""
    largest = left[0]
    nearest = min(left[1:], key=lambda piece: float(distance(largest, piece)))
    ends = get_coordinates(shortest_line(largest, nearest))
    return (float(ends[:, 0].mean()), float(ends[:, 1].mean()))


def _farthest(shape: BaseGeometry, cut: BaseGeometry, limit: float) -> tuple[float, tuple[float, float] | None]:
    """Return how far lost points lie from what is left at most, and where."""
    lost = [p for p in polygons(shape.difference(cut)) if p.area > DUST * limit * limit]
    if not lost:
        return 0.0, None
    prepare(cut)
    spots = get_coordinates(segmentize(MultiPolygon(lost), limit / 2.0))
    away = distance(cut, points(spots))
    worst = int(away.argmax())
    return float(away[worst]), (float(spots[worst, 0]), float(spots[worst, 1]))
