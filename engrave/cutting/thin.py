"""Wood too thin to stand, as a picture: where, around each place that lacks."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import GeometryCollection, Point, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cutting.opening import ARC
from engrave.cutting.sites import Site

NEIGHBOURHOOD = 2.0
"""How far around a thin place its thin wood is looked for, in least webs: the whole of a neck, not the whole letter."""


def thin_wood(cut: BaseGeometry, places: Sequence[tuple[Site, float]]) -> BaseGeometry:
    """Return the wood near the places that no disc of its least web (mm) fits into, between the cuts."""
    found = []
    for site, least in places:
        window = Point(site.x, site.y).buffer(NEIGHBOURHOOD * least + site.width, quad_segs=ARC)
        near = cut.intersection(window.buffer(2.0 * least, quad_segs=ARC))
        closed = near.buffer(least / 2.0, quad_segs=ARC).buffer(-least / 2.0 * 0.999, quad_segs=ARC)
        found.append(closed.difference(cut).intersection(window))
    return union_all(found) if found else GeometryCollection()
