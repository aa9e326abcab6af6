"""As cut, not as drawn: the region that a tool really leaves of each part, and what it cannot reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely import GeometryCollection, MultiPolygon, STRtree, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache, CacheKind
from engrave.cutting import criteria
from engrave.cutting.effect.closing import Closing
from engrave.cutting.effect.opening import BIT_ARC_CHORDS, Failure, Opening, open_by
from engrave.cutting.measure.components import Component
from engrave.geometry.affine import map_shape
from engrave.geometry.regions import polygons

OPENINGS: CacheKind[tuple[Opening, BaseGeometry]] = CacheKind("openings", 4096)
GROWN_SHAPES: CacheKind[BaseGeometry] = CacheKind("grown shapes", 4096)
"""Opened and grown glyphs: pieces of one size share them."""


@dataclass(frozen=True, slots=True)
class AsCut:
    """What a tool leaves, mm on the lid. lost: drawn, not cut, and no mere corner. failures: parts that fail, how."""

    cut: BaseGeometry
    lost: BaseGeometry
    failures: tuple[tuple[Component, Failure], ...] = ()


def _opened(part: Component, ratio: float, cache: Cache) -> tuple[Opening, BaseGeometry]:
    """Return a part's opening by a disc of `ratio` cap heights, and what is lost beyond corners, in cap heights."""

    def opened() -> tuple[Opening, BaseGeometry]:
        opening = open_by(part.shape, ratio, criteria.LOSS_FLOOR)
        return opening, _lost(part.shape, opening, ratio)

    return cache.get(OPENINGS, (part.key, ratio), opened)


def _lost(shape: BaseGeometry, opening: Opening, ratio: float) -> BaseGeometry:
    """Return what is lost of a shape and is no rounded corner.

    A rounded corner is one piece that touches what is left along one stretch and does not reach far.
    """
    far = max(ratio, criteria.LOSS_FLOOR)
    gone = [p for p in polygons(shape.difference(opening.cut)) if p.area > (0.05 * ratio) ** 2]
    if not gone or (opening.failure is None and opening.reach < ratio / 4.0):
        return MultiPolygon()
    beyond = shape.difference(opening.cut.buffer(far, quad_segs=BIT_ARC_CHORDS)) if opening.failure else MultiPolygon()
    rim = opening.cut.buffer(ratio * 0.01, quad_segs=2)
    return MultiPolygon([p for p in gone if _touches_twice(p, rim) or (opening.failure and p.intersects(beyond))])


def _touches_twice(piece: BaseGeometry, rim: BaseGeometry) -> bool:
    meeting = piece.intersection(rim)
    return len(polygons(meeting)) != 1


def as_opened(parts: Sequence[Component], diameter: float, cache: Cache) -> AsCut:
    """Return what a round bit of this diameter (mm) leaves of filled letters."""
    cut: list[BaseGeometry] = []
    lost: list[BaseGeometry] = []
    failures: list[tuple[Component, Failure]] = []
    for part in parts:
        opening, gone = _opened(part, round(diameter / part.cap_mm, 9), cache)
        cut.append(map_shape(opening.cut, part.matrix))
        if not gone.is_empty:
            lost.append(map_shape(gone, part.matrix))
        if opening.failure is not None:
            failures.append((part, opening.failure))
    return AsCut(gathered_shapes(cut), gathered_shapes(lost), tuple(failures))


def as_grown(parts: Sequence[Component], width: Closing, cache: Cache) -> AsCut:
    """Return what a cutter leaves that follows lines, or a beam that burns an outline: grown by half on every side."""
    return AsCut(united_shapes([_grown(part, width, cache) for part in parts]), GeometryCollection())


def _grown(part: Component, width: Closing, cache: Cache) -> BaseGeometry:
    """Return a part grown by half of the width, mm on the lid; x and y apart where the mark is no circle."""
    a, b, c, d, e, f = part.matrix
    if width.x == width.y:
        by = round(width.x / part.cap_mm, 9)
        return map_shape(
            cache.get(GROWN_SHAPES, (part.key, by), lambda: part.shape.buffer(by / 2.0, quad_segs=BIT_ARC_CHORDS)),
            part.matrix,
        )
    # an oblong mark keeps its direction on the lid, however the letter is turned: only its place is left out
    turn = (round(a / width.x, 9), round(b / width.y, 9), round(c / width.x, 9), round(d / width.y, 9), 0.0, 0.0)
    found = cache.get(
        GROWN_SHAPES, (part.key, turn), lambda: map_shape(part.shape, turn).buffer(0.5, quad_segs=BIT_ARC_CHORDS)
    )
    return map_shape(found, (width.x, 0.0, 0.0, width.y, e, f))


def united_shapes(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return the union of shapes, most of which stand apart: only those that meet are worked on."""
    meeting = STRtree(shapes).query(shapes, predicate="intersects").T.tolist() if len(shapes) > 1 else []
    together = sorted({k for pair in meeting for k in pair if pair[0] != pair[1]})
    apart = [s for k, s in enumerate(shapes) if k not in set(together)]
    return gathered_shapes([*apart, union_all([shapes[k] for k in together])] if together else apart)


def gathered_shapes(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return separate regions as one."""
    return MultiPolygon([p for s in shapes for p in polygons(s)])
