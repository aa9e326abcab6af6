"""As cut, not as drawn: the region that a tool really leaves of each part, and what it cannot reach."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

from shapely import GeometryCollection, MultiPolygon, STRtree, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache, CacheKind
from engrave.cutting import criteria
from engrave.cutting.effect.closing import Closing
from engrave.cutting.effect.opening import BIT_ARC_CHORDS, CORNER, Failure, Opening, open_by
from engrave.cutting.measure.components import Component
from engrave.geometry.affine import map_shape
from engrave.geometry.regions import polygons

OPENINGS: CacheKind[Opening] = CacheKind("openings", 4096)
LOST_SHAPES: CacheKind[BaseGeometry] = CacheKind("lost shapes", 4096)
GROWN_SHAPES: CacheKind[BaseGeometry] = CacheKind("grown shapes", 4096)
"""Opened and grown glyphs, and what is lost of them: pieces of one size share them."""


@dataclass(frozen=True)
class AsCut:
    """What a tool leaves, mm on the lid. lost: drawn, not cut, and no mere corner. failures: parts that fail, how.

    draw_cut, draw_lost: make the regions when somebody looks, as most pieces that are tried are not seen.
    """

    draw_cut: Callable[[], BaseGeometry]
    draw_lost: Callable[[], BaseGeometry]
    failures: tuple[tuple[Component, Failure], ...] = ()

    def __repr__(self) -> str:
        """Return what is cut and lost, drawn: two that say the same are the same."""
        return f"AsCut(cut={self.cut!r}, lost={self.lost!r}, failures={self.failures!r})"

    @cached_property
    def cut(self) -> BaseGeometry:
        """The region that is cut."""
        return self.draw_cut()

    @cached_property
    def lost(self) -> BaseGeometry:
        """The region that is drawn and not cut."""
        return self.draw_lost()


NOTHING_CUT = AsCut(GeometryCollection, GeometryCollection)


def _opening_of(part: Component, ratio: float, cache: Cache) -> Opening:
    """Return a part's opening by a disc of `ratio` cap heights."""
    return cache.get(OPENINGS, (part.key, ratio), lambda: open_by(part.shape, ratio, criteria.LOSS_FLOOR))


def _lost_of(part: Component, ratio: float, cache: Cache) -> BaseGeometry:
    """Return what is lost of a part beyond corners, in cap heights."""
    opening = _opening_of(part, ratio, cache)
    return cache.get(LOST_SHAPES, (part.key, ratio), lambda: _lost(part.shape, opening, ratio))


def _lost(shape: BaseGeometry, opening: Opening, ratio: float) -> BaseGeometry:
    """Return what is lost of a shape and is no rounded corner.

    A rounded corner is one piece that touches what is left along one stretch and does not reach far.
    """
    if opening.failure is None and opening.reach < CORNER * ratio:
        return MultiPolygon()
    lost = opening.lost if opening.lost is not None else shape.difference(opening.cut)
    gone = [p for p in polygons(lost) if p.area > (0.05 * ratio) ** 2]
    if not gone:
        return MultiPolygon()
    far = max(ratio, criteria.LOSS_FLOOR)
    beyond = shape.difference(opening.cut.buffer(far, quad_segs=BIT_ARC_CHORDS)) if opening.failure else MultiPolygon()
    rim = opening.cut.buffer(ratio * 0.01, quad_segs=2)
    return MultiPolygon([p for p in gone if _touches_twice(p, rim) or (opening.failure and p.intersects(beyond))])


def _touches_twice(piece: BaseGeometry, rim: BaseGeometry) -> bool:
    meeting = piece.intersection(rim)
    return len(polygons(meeting)) != 1


def as_opened(parts: Sequence[Component], diameter: float, cache: Cache) -> AsCut:
    """Return what a round bit of this diameter (mm) leaves of filled letters."""
    opened = [(part, round(diameter / part.cap_mm, 9)) for part in parts]
    found = [(part, _opening_of(part, ratio, cache)) for part, ratio in opened]
    failures = tuple((part, opening.failure) for part, opening in found if opening.failure is not None)

    def lost() -> BaseGeometry:
        gone = [(part, _lost_of(part, ratio, cache)) for part, ratio in opened]
        return gathered_shapes([map_shape(shape, part.matrix) for part, shape in gone if not shape.is_empty])

    return AsCut(
        lambda: gathered_shapes([map_shape(opening.cut, part.matrix) for part, opening in found]), lost, failures
    )


def as_grown(parts: Sequence[Component], width: Closing, cache: Cache) -> AsCut:
    """Return what a cutter leaves that follows lines, or a beam that burns an outline: grown by half on every side."""
    return AsCut(lambda: united_shapes([_grown(part, width, cache) for part in parts]), GeometryCollection)


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
