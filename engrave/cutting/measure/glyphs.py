"""What is measured on one glyph, in cap heights: its narrow strokes, webs, parts and counters, each with its place.

Nothing here knows of cutters or woods: whatever the size and the tool, these figures only scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from shapely import (
    LineString,
    MultiLineString,
    Point,
    Polygon,
    STRtree,
    contains_xy,
    distance,
    get_coordinates,
    points,
    polygonize,
    prepare,
    shortest_line,
    unary_union,
)
from shapely.geometry.base import BaseGeometry

from engrave.cutting import criteria
from engrave.cutting.measure.crotch import Crotch, crotches
from engrave.geometry.arrays import Floats
from engrave.geometry.medial_graph import medial_graph_of
from engrave.geometry.medial_points import Flags, MedialGraph
from engrave.geometry.narrow_strips import Narrow, narrow_runs
from engrave.geometry.paths import Polyline
from engrave.geometry.regions import polygons

Indices = NDArray[np.intp]
"""Points of a graph, by their numbers."""


@dataclass(frozen=True, slots=True)
class GlyphMeasure:
    """Narrow places of one glyph, narrowest first, in cap heights (y up, the glyph's own frame).

    strokes: narrow runs of what is cut; parts: each separate part, by its largest inscribed circle. webs: narrow runs
    of the wood between (and distances of separate parts); counters: closed islands of wood, by their largest inscribed
    circle. specks: parts and holes too small to matter. Single lines have no strokes and parts: the groove is theirs;
    their webs are corridors between centre lines, their counters loops. crotches: see `crotch`.
    """

    strokes: tuple[Narrow, ...] = ()
    parts: tuple[Narrow, ...] = ()
    webs: tuple[Narrow, ...] = ()
    counters: tuple[Narrow, ...] = ()
    specks: tuple[Narrow, ...] = ()
    crotches: tuple[Crotch, ...] = ()

    @property
    def stroke(self) -> float | None:
        """Thinnest stroke, parts included."""
        return min((n.width for n in (*self.strokes, *self.parts)), default=None)

    @property
    def web(self) -> float | None:
        """Thinnest web, counters included."""
        return min((n.width for n in (*self.webs, *self.counters)), default=None)


def measure_region(shape: BaseGeometry) -> GlyphMeasure:
    """Measure filled letters given as a region in cap heights."""
    parts, specks = _sorted_out(polygons(shape))
    if not parts:
        return GlyphMeasure(specks=tuple(specks))
    holes: list[Polygon] = []
    solid: list[Polygon] = []
    for part in parts:
        whole, dust = _sorted_out([Polygon(ring) for ring in part.interiors])
        holes += whole
        specks += dust
        solid.append(Polygon(part.exterior, [h.exterior for h in whole]))
    graph = medial_graph_of(
        [get_coordinates(r) for p in solid for r in (p.exterior, *p.interiors)], criteria.SAMPLE_STEP
    )
    within = [_points_within(graph, shape) for shape in solid]
    inside = _any_of(graph, within)
    strokes = narrow_runs(graph, inside, criteria.STROKE_TILT, criteria.LEAST_RUN, criteria.FEATHERED_RUN)
    webs = narrow_runs(graph, ~inside, criteria.WEB_TILT, criteria.LEAST_RUN, criteria.FEATHERED_RUN)
    return GlyphMeasure(
        _kept(strokes),
        _kept(_largest_circles(graph, solid, within)),
        _kept([*webs, *_distances(solid)]),
        _kept(_largest_circles(graph, holes, [_points_within(graph, hole) for hole in holes])),
        tuple(specks),
        crotches(graph, ~inside),
    )


def measure_lines(lines: Sequence[Polyline]) -> GlyphMeasure:
    """Measure single lines, shape (n, 2) each, in cap heights: corridors between them and loops closed by them.

    A loop is what the lines enclose as a groove draws them: ends that miss each other by less than its width meet.
    """
    drawn = [LineString(line) for line in lines if len(line) > 1]
    noded = unary_union(MultiLineString(drawn))
    runs = [get_coordinates(part) for part in getattr(noded, "geoms", [noded])]
    graph = medial_graph_of(runs, criteria.SAMPLE_STEP)
    parts = [LineString(r) for r in runs if len(r) > 1]
    tree = STRtree(parts)
    dots = [ring for ring in polygons(polygonize(parts)) if _is_dot(ring, tree)]
    wood = ~_any_of(graph, [_points_within(graph, dot) for dot in dots])
    webs = narrow_runs(
        graph, wood, criteria.WEB_TILT, criteria.LEAST_RUN, criteria.FEATHERED_RUN, criteria.RETRACED_DISTANCE
    )
    loops = [loop for loop in closed_loops(noded, graph, wood) if loop.width > criteria.RETRACED_DISTANCE]
    clear = [(one, two) for one, two in combinations(_apart(parts), 2) if not one.envelope.intersects(two.envelope)]
    apart = [gap for one, two in clear if (gap := gap_between(one, two)) is not None]
    return GlyphMeasure(webs=_kept([*webs, *apart]), counters=_kept(loops), crotches=crotches(graph, wood))


def _apart(lines: Sequence[LineString]) -> list[BaseGeometry]:
    """Return lines parted into what hangs together, or is meant as one: a stem, and the dot over it.

    Of those, only what stands clear of the others by its whole box counts: a bar that misses its stem is not meant to.
    """
    near = polygons(MultiLineString(lines).buffer(criteria.RETRACED_DISTANCE / 2.0, quad_segs=criteria.LINE_ARC_CHORDS))
    groups = [[line for line in lines if whole.contains(line)] for whole in near]
    return [MultiLineString(group) for group in groups if group]


def _is_dot(ring: Polygon, lines: STRtree) -> bool:
    """Tell whether a closed line is a dot: small, and touched by no other line. Only the lines about it are asked."""
    low_x, low_y, high_x, high_y = ring.bounds
    if max(high_x - low_x, high_y - low_y) > criteria.DOT_SIDE or ring.interiors:
        return False
    around = lines.query(ring, predicate="dwithin", distance=3.0 * criteria.TOUCHING_DISTANCE)
    beyond = MultiLineString(list(lines.geometries[around])).difference(
        ring.exterior.buffer(criteria.TOUCHING_DISTANCE)
    )
    return beyond.is_empty or bool(beyond.distance(ring) > 2.0 * criteria.TOUCHING_DISTANCE)


def closed_loops(lines: BaseGeometry, graph: MedialGraph, among: Flags) -> list[Narrow]:
    """Return the loops of lines as they are drawn by ever wider grooves: each with the width of line that closes it.

    Each is as wide as the largest circle that the lines leave in it, from centre line to centre line.
    """
    prepare(lines)
    clear = 2.0 * np.asarray(distance(lines, points(graph.points)))
    clear[~among] = 0.0
    found: dict[int, float] = {}
    open_at = 0.0
    for width in criteria.CLOSED_BY:
        for hole in _holes(lines, width):
            if contains_xy(hole, graph.points[list(found)]).any():
                continue  # known; where a groove parts a loop in two, the lesser part is a loop of its own
            middle = _widest_in(graph, clear, hole)
            if middle is not None:
                found[middle] = _closing(lines, graph, middle, open_at, width)
        open_at = width
    spots = graph.points
    return [Narrow(float(clear[k]), float(spots[k, 0]), float(spots[k, 1]), None, by) for k, by in found.items()]


def _holes(lines: BaseGeometry, width: float) -> list[Polygon]:
    """Return the wood that lines of a width enclose."""
    drawn = lines.buffer(width / 2.0, quad_segs=criteria.LINE_ARC_CHORDS)
    return [Polygon(ring) for part in polygons(drawn) for ring in part.interiors]


def _widest_in(graph: MedialGraph, clear: Floats, hole: Polygon) -> int | None:
    """Return the point of the graph at which a hole is widest; None if it is too small to hold one."""
    low_x, low_y, high_x, high_y = hole.bounds
    x, y = graph.points.T
    near = np.flatnonzero((x > low_x) & (x < high_x) & (y > low_y) & (y < high_y))
    inside = near[contains_xy(hole, x[near], y[near])]
    return int(inside[clear[inside].argmax()]) if len(inside) else None


def _closing(lines: BaseGeometry, graph: MedialGraph, middle: int, low: float, high: float) -> float:
    """Return the least width of line, between two, that encloses a place; 0 if the lines as drawn do."""
    if low == 0.0:
        return 0.0
    place = Point(graph.points[middle])
    for _ in range(criteria.CLOSING_HALVINGS):
        width = (low + high) / 2.0
        if any(hole.contains(place) for hole in _holes(lines, width)):
            high = width
        else:
            low = width
    return high


def _kept(found: Iterable[Narrow]) -> tuple[Narrow, ...]:
    return tuple(sorted(found, key=lambda n: (n.width, n.x, n.y))[: criteria.PLACES_KEPT])


def _sorted_out(shapes: Iterable[Polygon]) -> tuple[list[Polygon], list[Narrow]]:
    """Part the shapes that count from the specks."""
    whole: list[Polygon] = []
    specks: list[Narrow] = []
    for shape in shapes:
        low_x, low_y, high_x, high_y = shape.bounds
        sides = (high_x - low_x, high_y - low_y)
        # by the longer side: the l or the dash of a light typeface is narrow, and no speck
        if max(sides) < criteria.SPECK_LENGTH or shape.area < criteria.SPECK_AREA:
            middle = shape.representative_point()
            specks.append(Narrow(min(sides), middle.x, middle.y, None))
        else:
            whole.append(shape)
    return whole, specks


def _any_of(graph: MedialGraph, points: Iterable[Indices]) -> Flags:
    """Return which of the graph's points are among any of these."""
    inside = np.zeros(len(graph.points), dtype=bool)
    for some in points:
        inside[some] = True
    return inside


def _points_within(graph: MedialGraph, shape: Polygon) -> Indices:
    """Return the graph's points inside a shape; only those in its bounds are asked, as a letter may have a thousand loops."""
    x, y = graph.points[:, 0], graph.points[:, 1]
    low_x, low_y, high_x, high_y = shape.bounds
    near = np.flatnonzero((x >= low_x) & (x <= high_x) & (y >= low_y) & (y <= high_y))
    prepare(shape)
    inside: Indices = near[contains_xy(shape, x[near], y[near])]
    return inside


def _largest_circles(graph: MedialGraph, shapes: Iterable[Polygon], within: Iterable[Indices]) -> list[Narrow]:
    """Return the largest inscribed circle of each shape, as its diameter and centre. within: the points inside each."""
    found = []
    for shape, inside in zip(shapes, within, strict=True):
        if len(inside):
            best = int(inside[graph.radius[inside].argmax()])
            x, y = graph.points[best]
            clear = shape.boundary.distance(Point(x, y))  # from the shape itself: three samples alone may flatter
            found.append(Narrow(2.0 * float(clear), float(x), float(y), None))
    return found


def _distances(parts: Sequence[Polygon]) -> list[Narrow]:
    return [gap for one, two in combinations(parts, 2) if (gap := gap_between(one, two)) is not None]


def gap_between(one: BaseGeometry, two: BaseGeometry) -> Narrow | None:
    """Return the plain distance of two shapes, in the middle of the shortest line between them; None if they touch."""
    (ax, ay), (bx, by) = get_coordinates(shortest_line(one, two)).tolist()
    width = math.hypot(bx - ax, by - ay)
    if width <= criteria.TOUCHING_DISTANCE:
        return None
    return Narrow(width, (ax + bx) / 2.0, (ay + by) / 2.0, (math.atan2(by - ay, bx - ax) + math.pi / 2.0) % math.pi)
