"""As cut, not as drawn: the region that a tool really leaves of each body, and what it cannot reach."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shapely import GeometryCollection, MultiPolygon, STRtree, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cutting import criteria
from engrave.cutting.judge.opening import ARC, Failure, Opening, open_by
from engrave.cutting.judge.webs import Closing
from engrave.cutting.measure.components import Body
from engrave.geometry.affine import map_shape
from engrave.geometry.regions import polygons

KNOWN_OPENINGS = 4096
"""Opened glyphs kept in memory within one run: pieces of one size share them."""


@dataclass(frozen=True, slots=True)
class Left:
    """What a tool leaves, mm on the lid. lost: drawn, not cut, and no mere corner. failures: bodies that fail, how."""

    cut: BaseGeometry
    lost: BaseGeometry
    failures: tuple[tuple[Body, Failure], ...] = ()


_openings: dict[tuple[str, float], tuple[Opening, BaseGeometry]] = {}


def _opened(body: Body, ratio: float) -> tuple[Opening, BaseGeometry]:
    """Return a body's opening by a disc of `ratio` cap heights, and what is lost beyond corners, in cap heights."""
    key = (body.key, ratio)
    known = _openings.get(key)
    if known is None:
        if len(_openings) >= KNOWN_OPENINGS:
            _openings.clear()
        opening = open_by(body.shape, ratio, criteria.LOSS_FLOOR)
        known = (opening, _lost(body.shape, opening, ratio))
        _openings[key] = known
    return known


def _lost(shape: BaseGeometry, opening: Opening, ratio: float) -> BaseGeometry:
    """Return what is lost of a shape and is no rounded corner.

    A rounded corner is one piece that touches what is left along one stretch and does not reach far.
    """
    far = max(ratio, criteria.LOSS_FLOOR)
    gone = [p for p in polygons(shape.difference(opening.cut)) if p.area > (0.05 * ratio) ** 2]
    if not gone or (opening.failure is None and opening.reach < ratio / 4.0):
        return MultiPolygon()
    beyond = shape.difference(opening.cut.buffer(far, quad_segs=ARC)) if opening.failure else MultiPolygon()
    rim = opening.cut.buffer(ratio * 0.01, quad_segs=2)
    return MultiPolygon([p for p in gone if _touches_twice(p, rim) or (opening.failure and p.intersects(beyond))])


def _touches_twice(piece: BaseGeometry, rim: BaseGeometry) -> bool:
    meeting = piece.intersection(rim)
    return len(polygons(meeting)) != 1


def as_bit(parts: Sequence[Body], diameter: float) -> Left:
    """Return what a round bit of this diameter (mm) leaves of filled letters."""
    cut: list[BaseGeometry] = []
    lost: list[BaseGeometry] = []
    failures: list[tuple[Body, Failure]] = []
    for body in parts:
        opening, gone = _opened(body, round(diameter / body.cap_mm, 9))
        cut.append(map_shape(opening.cut, body.matrix))
        if not gone.is_empty:
            lost.append(map_shape(gone, body.matrix))
        if opening.failure is not None:
            failures.append((body, opening.failure))
    return Left(gathered(cut), gathered(lost), tuple(failures))


def as_grown(parts: Sequence[Body], width: Closing) -> Left:
    """Return what a cutter leaves that follows lines, or a beam that burns an outline: grown by half on every side."""
    return Left(merged([_grown(body, width) for body in parts]), GeometryCollection())


_wide: dict[tuple[object, ...], BaseGeometry] = {}


def _grown(body: Body, width: Closing) -> BaseGeometry:
    """Return a body grown by half of the width, mm on the lid; x and y apart where the mark is no circle."""
    a, b, c, d, e, f = body.matrix
    if width.x == width.y:
        by = round(width.x / body.cap_mm, 9)
        return map_shape(_known((body.key, by), lambda: body.shape.buffer(by / 2.0, quad_segs=ARC)), body.matrix)
    # an oblong mark keeps its direction on the lid, however the letter is turned: only its place is left out
    turn = (round(a / width.x, 9), round(b / width.y, 9), round(c / width.x, 9), round(d / width.y, 9), 0.0, 0.0)
    found = _known((body.key, turn), lambda: map_shape(body.shape, turn).buffer(0.5, quad_segs=ARC))
    return map_shape(found, (width.x, 0.0, 0.0, width.y, e, f))


def _known(key: tuple[object, ...], make: Callable[[], BaseGeometry]) -> BaseGeometry:
    """Return the shape kept in memory under the key, or make and keep it."""
    found = _wide.get(key)
    if found is None:
        if len(_wide) >= KNOWN_OPENINGS:
            _wide.clear()
        found = _wide[key] = make()
    return found


def merged(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return the union of shapes, most of which stand apart: only those that meet are worked on."""
    meeting = STRtree(shapes).query(shapes, predicate="intersects").T.tolist() if len(shapes) > 1 else []
    together = sorted({k for pair in meeting for k in pair if pair[0] != pair[1]})
    apart = [s for k, s in enumerate(shapes) if k not in set(together)]
    return gathered([*apart, union_all([shapes[k] for k in together])] if together else apart)


def gathered(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return separate regions as one."""
    return MultiPolygon([p for s in shapes for p in polygons(s)])
