"""The cutting check's definitions measured on pixels, with none of the tool's own geometry.

Distances are SciPy's exact Euclidean distance transform (scipy.ndimage.distance_transform_edt); middle points are those
between two pixels whose nearest points of the other colour lie apart (integer medial axis, Hesselink & Roerdink 2008).
Outlines only sharpen what pixels found: the foot of a middle point is moved to the outline beside its pixel.

All lengths in cap heights.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree
from shapely import LineString, MultiLineString, MultiPolygon, Polygon, get_coordinates
from shapely.geometry.base import BaseGeometry

from engrave.geometry.arrays import Floats

Image = NDArray[np.bool_]

BORDER = 0.1
SPECK, SPECK_AREA = 0.05, 2e-4
RUN, FEATHERED = 0.05, 0.15
STROKE_ANGLE, WEB_ANGLE = 25.0, 12.0


@dataclass(frozen=True)
class Place:
    """A narrow place: its width and where it is."""

    width: float
    x: float
    y: float


@dataclass(frozen=True)
class Raster:
    """A region in pixels, `dots` to the cap height; rows upwards from y0, columns from x0."""

    ink: Image
    dots: float
    x0: float
    y0: float

    def place(self, width: float, row: float, column: float) -> Place:
        return Place(width / self.dots, (column + 0.5) / self.dots + self.x0, (row + 0.5) / self.dots + self.y0)

    def on_grid(self, outline: Floats) -> Floats:
        """Points of the plane as (row, column)."""
        at: Floats = ((outline - (self.x0, self.y0)) * self.dots - 0.5)[:, ::-1]
        return at


def polygons(shape: BaseGeometry) -> list[Polygon]:
    return [p for p in getattr(shape, "geoms", [shape]) if isinstance(p, Polygon) and not p.is_empty]


def rings(shape: BaseGeometry) -> Iterator[Floats]:
    for part in polygons(shape):
        for ring in (part.exterior, *part.interiors):
            yield get_coordinates(ring)


def raster(shape: BaseGeometry, dots: float) -> Raster:
    """Fill by counting, along each row of pixel middles, the outlines crossed."""
    left, low, right, high = shape.bounds
    size = [int((b - a + 2 * BORDER) * dots) + 1 for a, b in ((low, high), (left, right))]
    blank = Raster(np.zeros(size, dtype=bool), dots, left - BORDER, low - BORDER)
    crossed = np.zeros((size[0], size[1] + 1), dtype=np.uint8)
    for ring in rings(shape):
        a, b = (blank.on_grid(ring)[k] for k in (slice(None, -1), slice(1, None)))
        first = np.ceil(np.minimum(a[:, 0], b[:, 0])).astype(int)
        count = np.ceil(np.maximum(a[:, 0], b[:, 0])).astype(int) - first
        side = np.repeat(np.arange(len(a)), count)
        row = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[side]
        share = (row - a[side, 0]) / (b[side, 0] - a[side, 0])
        np.add.at(crossed, (row, np.ceil(a[side, 1] + share * (b[side, 1] - a[side, 1])).astype(int)), 1)
    return Raster((np.cumsum(crossed, axis=1) % 2 == 1)[:, :-1], dots, blank.x0, blank.y0)


def middle_points(among: Image, outline: Floats) -> tuple[Floats, Floats, Floats]:
    """Middle points (n, 2) of the true pixels, their widths, and the angle from opposite of their feet, in pixels."""
    away, foot = ndimage.distance_transform_edt(among, return_indices=True)
    places, ones, others = [], [], []
    for step in ((0, 1), (1, 0)):
        here = tuple(slice(0, n - k) for n, k in zip(among.shape, step, strict=True))
        there = tuple(slice(k, None) for k in step)
        apart = ((foot[:, *here] - foot[:, *there]) ** 2).sum(axis=0)
        middle = among[here] & among[there] & (apart > 6) & (apart > (0.75 * (away[here] + away[there])) ** 2)
        rows = np.argwhere(middle)
        places.append(rows + np.array(step) / 2)
        ones.append(foot[:, *here][:, middle].T)
        others.append(foot[:, *there][:, middle].T)
    at = np.concatenate(places).astype(float)
    if not len(at):
        return at, np.zeros(0), np.zeros(0)
    tree = cKDTree(outline)
    to_one, to_other = (_sharpened(at, np.concatenate(f), tree, outline) - at for f in (ones, others))
    lengths = np.hypot(*to_one.T), np.hypot(*to_other.T)
    cosine = (to_one * to_other).sum(axis=1) / (lengths[0] * lengths[1])
    return at, lengths[0] + lengths[1], 180.0 - np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))


def _sharpened(at: Floats, foot: Floats, tree: cKDTree, outline: Floats) -> Floats:
    """The point of the outline nearest to a middle point, of those beside its pixel's foot."""
    beside = outline[tree.query(foot, k=24)[1]]
    nearest = np.hypot(*np.moveaxis(beside - at[:, None], -1, 0)).argmin(axis=1)
    found: Floats = beside[np.arange(len(at)), nearest]
    return found


def thinnest_run(at: Floats, width: Floats, angle: Floats, most: float, cap: float) -> tuple[float, Floats] | None:
    """Least width up to which middle points reach over RUN (or FEATHERED, if the narrowest has under half of it)."""
    at, width = at[angle <= most], width[angle <= most]
    pairs = cKDTree(at).query_pairs(1.6, output_type="ndarray") if len(at) else np.zeros((0, 2), dtype=int)
    wider = width[pairs].max(axis=1)
    order = np.argsort(wider, kind="stable")
    group = np.arange(len(at))
    members = {k: [k] for k in range(len(at))}
    for (a, b), w in zip(pairs[order].tolist(), wider[order].tolist(), strict=True):
        one, two = sorted((int(group[a]), int(group[b])), key=lambda g: -len(members[g]))
        if one == two:
            continue
        members[one] += members.pop(two)
        group[members[one]] = one
        reach = math.hypot(*np.ptp(at[members[one]], axis=0)) / cap
        narrowest = members[one][int(width[members[one]].argmin())]
        if reach >= RUN and (reach >= FEATHERED or width[narrowest] >= w / 2):
            return w, at[narrowest]
    return None


def counts(part: Polygon) -> bool:
    low_x, low_y, high_x, high_y = part.bounds
    return max(high_x - low_x, high_y - low_y) >= SPECK and part.area >= SPECK_AREA


def inscribed(part: Polygon) -> Place:
    radius = shapely.maximum_inscribed_circle(part, tolerance=1e-4)
    x, y = radius.coords[0]
    return Place(2 * radius.length, x, y)


def thinnest(shape: BaseGeometry, dots: float = 600.0) -> tuple[Place | None, Place | None]:
    """The thinnest stroke and the thinnest web of a word."""
    parts = [p for p in polygons(shape) if counts(p)]
    holes = [h for p in parts for h in map(Polygon, p.interiors) if counts(h)]
    solid = [Polygon(p.exterior, [r for r in p.interiors if counts(Polygon(r))]) for p in parts]
    word = MultiPolygon(solid)
    image = raster(word, dots)
    outline = image.on_grid(
        get_coordinates(shapely.segmentize(MultiLineString([LineString(r) for r in rings(word)]), 0.2 / dots))
    )
    strokes, webs = [inscribed(p) for p in solid], [inscribed(h) for h in holes]
    for found, among, most in ((strokes, image.ink, STROKE_ANGLE), (webs, ~image.ink, WEB_ANGLE)):
        run = thinnest_run(*middle_points(among, outline), most, dots)
        if run is not None:
            found.append(image.place(run[0], *run[1]))
    for k, one in enumerate(solid):
        for other in solid[:k]:
            gap = shapely.shortest_line(one, other)
            if gap.length > 1e-4:
                webs.append(Place(gap.length, *get_coordinates(gap).mean(axis=0)))
    return tuple(min(found, key=lambda p: p.width, default=None) for found in (strokes, webs))  # type: ignore[return-value]


def opened(shape: BaseGeometry, diameter: float, dots: float) -> tuple[str | None, float]:
    """How a glyph fails when only what a disc covers is left (None: it holds), and the share that is lost."""
    ink = raster(shape, dots).ink
    radius = diameter / 2 * dots
    reached = ndimage.distance_transform_edt(ink) - 0.5 >= radius * (1 - 1e-6)
    if not reached.any():
        return "vanishes", 1.0
    left = (ndimage.distance_transform_edt(~reached) <= radius + 0.5) & ink
    share = 1.0 - left.sum() / ink.sum()
    corners = np.ones((3, 3))
    pieces = ndimage.label(left, corners)[0]
    drawn, many = ndimage.label(ink, corners)
    for k in range(1, many + 1):
        inside = set(np.unique(pieces[drawn == k]).tolist()) - {0}
        if len(inside) != 1:
            return "breaks" if inside else "vanishes", share
    farthest = float((ndimage.distance_transform_edt(~left) * ink).max()) / dots
    return "loses" if farthest > max(diameter, 0.05) else None, share
