"""What a round bit really leaves of a shape (its opening), and whether that still is the shape.

Opening: everything that a disc of the cutter's diameter covers without leaving the shape (Serra, Image Analysis and
Mathematical Morphology, 1982): erode by the radius, dilate by the radius.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shapely import (
    MultiLineString,
    MultiPolygon,
    covers,
    distance,
    get_coordinates,
    points,
    prepare,
    segmentize,
    shortest_line,
)
from shapely.geometry.base import BaseGeometry

from engrave.cutting import criteria
from engrave.geometry.regions import polygons

CORNER = 0.25
"""Share of the diameter: what is lost no farther than this from what is left is the corner of a stroke, and is rounded. At a
right angle it is 0.21."""

SURE, NEAR_ARC_CHORDS = 0.96, 4
"""Share of that within which all of a shape must lie to be passed over without a look at what is lost; and chords a quarter
circle of it, which lie within the arc."""

Failure = Literal["vanishes", "breaks", "loses"]

BIT_ARC_CHORDS = 8
"""Chords a quarter circle of a rounded corner: 0.5 % of the radius off at most, below what a shop can see."""

LOST_SPACING = 0.05
"""Places of lost parts that are tried, in limits apart: the farthest is missed by half of that at most."""

OPENING_DUST = 1e-3
"""Lost parts under this share of the diameter squared are rounding, and are not drawn."""


@dataclass(frozen=True, slots=True)
class Opening:
    """A shape as a bit leaves it. failure: how it fails, None if only corners round. at: where (x, y), None if not.

    reach: how far the farthest lost point lies from what is left; 0 where that is a corner's (`CORNER`) or dust. lost: what of
    the shape is not cut, where it was looked for. All in the shape's own unit.
    """

    cut: BaseGeometry
    failure: Failure | None
    at: tuple[float, float] | None
    reach: float
    lost: BaseGeometry | None = None


def open_by(shape: BaseGeometry, diameter: float, floor: float) -> Opening:
    """Open a shape by a disc; `floor`: loss that is allowed however fine the disc (see `criteria.LOSS_FLOOR`).

    It fails when a part vanishes or breaks in two, or when a point of it lies farther than max(diameter, floor) from
    what is left. A part exactly as wide as the disc passes.
    """
    # a hair less than the disc, so that an equal width passes in spite of chords
    radius = diameter / 2.0 * (1.0 - criteria.EQUAL_STROKE)
    cut = shape.buffer(-radius, quad_segs=BIT_ARC_CHORDS).buffer(radius, quad_segs=BIT_ARC_CHORDS)
    pieces = [p for p in polygons(cut) if p.area > OPENING_DUST * diameter * diameter]
    parts = polygons(shape)
    judged = [p for p in parts if not _is_speck(p, floor)]
    for part in judged:
        # judged part by part: what is lost of one letter is not made up for by its neighbour
        left = pieces if len(parts) == 1 else [p for p in pieces if part.intersects(p.representative_point())]
        if not left:
            middle = part.representative_point()
            return Opening(cut, "vanishes", (middle.x, middle.y), math.inf)
        if len(left) > 1:
            return Opening(cut, "breaks", _break(left), math.inf)
    drawn = shape if len(judged) == len(parts) else MultiPolygon(judged)
    limit = max(diameter, floor)
    if drawn.area - cut.area < OPENING_DUST * limit * limit or _only_corners_round(drawn, cut, diameter):
        return Opening(cut, None, None, 0.0)
    lost = drawn.difference(cut)
    reach, at = _farthest(lost, cut, limit)
    failure: Failure | None = "loses" if reach > limit else None
    return Opening(cut, failure, at, reach, lost if drawn is shape else None)


def _is_speck(part: BaseGeometry, floor: float) -> bool:
    """Return whether a part is too small to decide anything; `floor` is in the same ratio to a cap height as SPECK_LENGTH."""
    low_x, low_y, high_x, high_y = part.bounds
    unit = floor / criteria.LOSS_FLOOR
    small = max(high_x - low_x, high_y - low_y) < criteria.SPECK_LENGTH * unit
    return small or float(part.area) < criteria.SPECK_AREA * unit * unit


def _break(left: Sequence[BaseGeometry]) -> tuple[float, float]:
    """Return a place between the largest of the pieces of a broken part and the piece nearest to it."""
    largest = left[0]
    nearest = min(left[1:], key=lambda piece: float(distance(largest, piece)))
    ends = get_coordinates(shortest_line(largest, nearest))
    return (float(ends[:, 0].mean()), float(ends[:, 1].mean()))


def _only_corners_round(shape: BaseGeometry, cut: BaseGeometry, diameter: float) -> bool:
    """Tell whether all of a shape surely lies so near what is left of it that only corners are lost."""
    near = cut.buffer(SURE * CORNER * diameter, quad_segs=NEAR_ARC_CHORDS)
    prepare(near)
    return bool(covers(near, shape))


def _farthest(gone: BaseGeometry, cut: BaseGeometry, limit: float) -> tuple[float, tuple[float, float] | None]:
    """Return how far lost points lie from what is left at most, and where."""
    lost = [p for p in polygons(gone) if p.area > OPENING_DUST * limit * limit]
    if not lost:
        return 0.0, None
    prepare(cut)
    # as lines: a lost part may touch itself, and of such polygons segmentize drops pieces
    spots = get_coordinates(segmentize(MultiLineString([p.exterior for p in lost]), limit * LOST_SPACING))
    away = distance(cut, points(spots))
    worst = int(away.argmax())
    return float(away[worst]), (float(spots[worst, 0]), float(spots[worst, 1]))
