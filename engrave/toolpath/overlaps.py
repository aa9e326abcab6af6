"""Outlines of letters that overlap made one, as joined scripts need: what is filled must not overlap."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from shapely import STRtree, box, union_all
from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import Contour, Path
from engrave.geometry.regions import REGION_CHORD, polygons, region, signed_area
from engrave.typefaces.contours.outline_union import together

LEAST_OVERLAP = 1e-4
"""mm2: less is rounding where two letters just touch: a hair of a hundredth of a millimetre."""

UNION_DEVIATION = 0.02
"""mm: by how much the union of curves may differ from that of their chords, along all of its outline: four chords'
accuracy. More means that it went wrong, and then the chords are taken."""


def united_outlines(paths: tuple[Path, ...]) -> Path:
    """Return the contours of letters one after the other, those that overlap as one outline at the first one's place.

    paths: closed contours of each letter, mm. Letters that stand clear come back as they are, curves are kept.
    """
    groups, shapes = _overlapping(paths)
    return tuple(
        c
        for group in groups
        for c in (paths[group[0]] if len(group) == 1 else _one([paths[k] for k in group], [shapes[k] for k in group]))
    )


def _overlapping(paths: Sequence[Path]) -> tuple[list[list[int]], dict[int, BaseGeometry]]:
    """Return groups of indices of letters that overlap, each group and the groups themselves in order; their regions."""
    boxes = [_box(p) for p in paths]
    filled = [k for k, b in enumerate(boxes) if b is not None]
    there = np.array([boxes[k] for k in filled], dtype=object)
    near = STRtree(there).query(there, predicate="intersects").T
    pairs = [(filled[a], filled[b]) for a, b in near.tolist() if a < b]
    shapes = {k: region(paths[k]) for pair in pairs for k in pair}
    leader = list(range(len(paths)))
    for a, b in sorted(pairs):
        if shapes[a].intersects(shapes[b]) and shapes[a].intersection(shapes[b]).area > LEAST_OVERLAP:
            one, other = sorted((_root(leader, a), _root(leader, b)))
            leader[other] = one
    groups: dict[int, list[int]] = {}
    for k in range(len(paths)):
        groups.setdefault(_root(leader, k), []).append(k)
    return list(groups.values()), shapes


def _root(leader: Sequence[int], k: int) -> int:
    while leader[k] != k:
        k = leader[k]
    return k


def _box(path: Path) -> BaseGeometry | None:
    """Return the box of a path's points and control points; None for one that draws nothing."""
    points = [p for c in path for p in c.points]
    if not points:
        return None
    xs, ys = zip(*points, strict=True)
    return box(min(xs), min(ys), max(xs), max(ys))


def _one(paths: Sequence[Path], shapes: Sequence[BaseGeometry]) -> Path:
    whole = union_all(shapes)
    found = together(paths)
    if region(found).symmetric_difference(whole).area > UNION_DEVIATION * whole.length:
        found = _chords(whole)
    return found if _outward(found) == _outward(paths[0]) else tuple(c.reversed() for c in found)


def _outward(path: Path) -> bool:
    """Tell which way a letter's outer rings turn: all of a lettering must turn alike."""
    areas = [signed_area(np.array([c.start, *(s[-1] for s in c.segments), c.start])) for c in path]
    return max(areas, key=abs, default=0.0) > 0


def _chords(shape: BaseGeometry) -> Path:
    """Return a region's rings as straight-sided contours."""
    rings = [r for p in polygons(shape.simplify(REGION_CHORD / 2)) for r in (p.exterior, *p.interiors)]
    out = []
    for ring in rings:
        points = [(float(x), float(y)) for x, y in ring.coords]
        out.append(Contour(points[0], tuple((q,) for _, q in pairwise(points)), True))
    return tuple(out)
