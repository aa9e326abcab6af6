"""Wood too thin to stand, as a picture: where, around each place that lacks."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import GeometryCollection, MultiPolygon, Point, STRtree, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cutting.effect.opening import BIT_ARC_CHORDS
from engrave.cutting.measure.narrow_places import NarrowPlace
from engrave.geometry.regions import polygons

Web = tuple[NarrowPlace, float, float]
"""A narrow place of the wood, what is left of it, and the least that it needs, in mm."""

THIN_NEIGHBOURHOOD = 2.0
"""How far around a thin place its thin wood is looked for, in least webs: the whole of a neck, not the whole letter."""

THIN_DUST = 1e-3
"""Slivers under this share of the least web squared come of rounding, and are not drawn."""

THIN_WOOD_CHORD = 0.003
"""Least webs by which the picture's outlines may stand off the true ones: 0.003 mm of 1 mm, a tenth of a pixel."""


def thin_regions(cut: BaseGeometry, places: Sequence[Web]) -> BaseGeometry:
    """Return the wood near the places that no disc of its least web fits into, between the cuts, and what fills up.

    places: site, wood left there and the least it needs, mm. The place itself is always in it: between two corners
    that come near each other larger discs reach in from both sides. Where nothing is left, it is the gap as drawn.
    """
    if not places:
        return GeometryCollection()
    found = []
    parts = polygons(cut)
    tree = STRtree(parts)
    for least in sorted({least for _, _, least in places}):
        around = [Point(s.x, s.y).buffer(THIN_NEIGHBOURHOOD * least + s.width, quad_segs=BIT_ARC_CHORDS)
                  for s, _, limit in places if limit == least]  # fmt: skip
        found += _thin_within(cut, union_all(around), least)
    spots = [
        _uncut(parts, tree, Point(s.x, s.y).buffer(left / 2.0, quad_segs=BIT_ARC_CHORDS))
        for s, left, _ in places
        if left > 0.0
    ]
    gone = [Point(s.x, s.y).buffer(s.width / 2.0, quad_segs=BIT_ARC_CHORDS) for s, left, _ in places if left <= 0.0]
    return union_all([*found, *spots, *gone])


def _uncut(parts: Sequence[BaseGeometry], tree: STRtree, shape: BaseGeometry) -> BaseGeometry:
    """Return what of a small shape is no part of the cut."""
    return shape.difference(union_all([parts[k] for k in tree.query(shape)]))


def _thin_within(cut: BaseGeometry, window: BaseGeometry, least: float) -> list[BaseGeometry]:
    """Return the thin wood inside a window: what closing the cuts by a disc would add to them."""
    beyond = window.buffer(2.0 * least, quad_segs=BIT_ARC_CHORDS)
    whole = MultiPolygon([p.simplify(THIN_WOOD_CHORD * least) for p in polygons(cut) if p.intersects(beyond)])
    near = whole.intersection(beyond)
    closed = near.buffer(least / 2.0, quad_segs=BIT_ARC_CHORDS).buffer(-least / 2.0, quad_segs=BIT_ARC_CHORDS)
    added = closed.intersection(window).difference(near)
    return [p for p in polygons(added) if p.area > THIN_DUST * least * least]
