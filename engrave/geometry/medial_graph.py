"""The medial graph of a region or of strokes, raw: places that lie midway between two stretches of boundary.

The boundary is sampled, triangulated (Delaunay), and the centre of each triangle's circumcircle is a point of the
graph (Amenta, Bern & Eppstein 1998, on crusts, and Brandt & Algazi 1992 give the convergence). Samples only tell
which stretches of boundary face each other; the distances are then measured to the true straight pieces, so that a
coarse sampling does not cost accuracy.

Unit: whatever the rings are given in.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.paths import Polyline

if TYPE_CHECKING:
    from scipy.spatial import Delaunay

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Complexes = NDArray[np.complex128]

FAR_RING = 3.0
"""Radius of the ring of far points, in half diagonals of the shape: far enough not to be anything's neighbour."""

FAR_POINTS = 24
"""Points on that ring: enough that open bays are closed by it and not by the hull's own huge triangles."""

PLATEAU_RISE = 1.03
"""A narrow place is one of its own only if its surroundings widen by this much; else it is the same stroke again."""


FAR_BEYOND = 3.0
"""Runs wider than this many times the narrowest are not sought: nothing that limits a cut lies beyond it."""

STIRRING = 1e-9
"""Share of the shape's size by which samples are stirred: a million times what doubles resolve,
and so little that circles through close samples hold."""

NO_RUN = 1e-6
"""Share of the asked length under which a run is none yet: two centres of one circle, apart by stirring alone."""

OPPOSED_FEET = math.radians(150.0)
"""Edges are divided where feet lie at least this far apart at one end: wider than any tilt that counts as a strip."""

MOST_SAMPLES = 100_000
"""Samples of a shape at most, some seconds: a hundred joined letters have fewer."""

FEET_SWING = math.radians(3.0)
"""Edges are divided so that feet swing by no more than this from point to point, for where they cease to be opposed."""

MOST_EDGE_PIECES = 16
"""Pieces of an edge at most, and steps that a ray into the open is followed: beyond, feet no longer face each other."""

GOLDEN_ANGLE = math.pi * (3.0 - math.sqrt(5.0))
"""The golden angle: no two samples near each other are stirred the same way."""


@dataclass(frozen=True, slots=True)
class MedialGraph:
    """Points midway between stretches of boundary, n of them.

    points (n, 2). width (n,): sum of the distances to the two most opposed feet. radius (n,): least distance to the
    boundary. spread (n,): angle between those two feet seen from the point, radians (pi: exactly opposite). axis (n,):
    direction of the strip of which the point is the middle, radians. edges (m, 2): indices of neighbouring points
    between which no boundary runs.
    """

    points: Floats
    width: Floats
    radius: Floats
    spread: Floats
    axis: Floats
    edges: Ints


@dataclass(frozen=True, slots=True)
class Narrow:
    """A narrow run: `width` is the least that holds over the asked length; (x, y) its narrowest point.

    axis: direction of the strip in radians, from 0 to pi; None where it has none (a dot, a round hole). closed_by: of a
    loop of single lines, how thick they must be for their ends to meet; 0 where they meet as drawn.
    """

    width: float
    x: float
    y: float
    axis: float | None
    closed_by: float = 0.0


@dataclass(frozen=True, slots=True)
class _Samples:
    points: Floats
    before: Ints  # index of the sample before on the same run of boundary, or its own where the run ends
    after: Ints


def sample(runs: Iterable[Polyline], step: float) -> _Samples:
    """Return points along polylines (closed ones repeat their first point), at most `step` apart, with neighbours."""
    points: list[Floats] = []
    before: list[Ints] = []
    after: list[Ints] = []
    count = 0
    for run in runs:
        closed = bool((run[0] == run[-1]).all()) and len(run) > 2
        dense = _dense(run, step)
        if closed:
            dense = dense[:-1]
        here = np.arange(count, count + len(dense))
        back, forth = np.roll(here, 1), np.roll(here, -1)
        if not closed:
            back[0], forth[-1] = here[0], here[-1]
        points.append(dense)
        before.append(back)
        after.append(forth)
        count += len(dense)
    return _Samples(np.concatenate(points), np.concatenate(before), np.concatenate(after))


def _dense(run: Polyline, step: float) -> Floats:
    """Return the polyline with points added so that no two are more than `step` apart."""
    ends = np.diff(run, axis=0)
    pieces = np.maximum(1, np.ceil(np.hypot(ends[:, 0], ends[:, 1]) / step)).astype(np.int64)
    which = np.repeat(np.arange(len(ends)), pieces)
    first = np.concatenate([[0], np.cumsum(pieces)[:-1]])
    share = (np.arange(len(which)) - first[which]) / pieces[which]
    return np.concatenate([run[which] + share[:, None] * ends[which], run[-1:]])


def medial_graph_of(runs: Sequence[Polyline], step: float, closely: bool = True) -> MedialGraph:
    """Return the medial graph of everything that the polylines `runs` do not touch, on both sides of them.

    step: distance of samples along the boundary; features finer than about twice that are not resolved. Empty when
    there are too few points to triangulate. closely: follow edges between centres too, and into the open, which tells
    how long feet stay opposed; without, only places and their neighbours are wanted.
    """
    runs = [r for r in runs if len(r) > 1]
    if not runs:
        return _nothing()
    # about the origin: far from it, squares of coordinates leave no digits for the distances
    middle = (np.min([r.min(axis=0) for r in runs], axis=0) + np.max([r.max(axis=0) for r in runs], axis=0)) / 2.0
    graph = _medial([r - middle for r in runs], step, closely)
    return replace(graph, points=graph.points + middle)


def _medial(runs: Sequence[Polyline], step: float, closely: bool) -> MedialGraph:
    long = sum(float(np.hypot(*np.diff(r, axis=0).T).sum()) for r in runs)
    from scipy.spatial import Delaunay, QhullError  # here: a fifth of the start of a command that measures nothing new

    s = sample(runs, max(step, long / MOST_SAMPLES))
    try:
        mesh = Delaunay(np.concatenate([_stirred(s.points), _far_ring(s.points)]))
    except (QhullError, ValueError):
        return _nothing()
    near = (mesh.simplices < len(s.points)).all(axis=1)
    corners = mesh.simplices[near].astype(np.int64)
    centres, good = _circumcentres(s.points[corners])
    found = _seen(s, corners, centres)
    good &= found.radius > 0.0
    found.spread[~good] = 0.0
    edges, sides = _edges(mesh, near, s, good)
    if not closely:
        return replace(found, edges=edges)
    graph, sides = _with_rays(replace(found, edges=edges), sides, mesh, near, s, good, MOST_EDGE_PIECES * step)
    return _divided(graph, sides, s, step)


def _nothing() -> MedialGraph:
    none = np.zeros(0)
    return MedialGraph(np.zeros((0, 2)), none, none, none, none, np.zeros((0, 2), dtype=np.int64))


def _seen(s: _Samples, corners: Ints, centres: Floats) -> MedialGraph:
    """Return centres (m, 2) with what they see of the boundary next to three samples each (m, 3); no edges yet."""
    feet = _feet(s, corners, _complex(centres))
    lengths = np.abs(feet)
    width, spread, axis = _opposed(feet, lengths)
    return MedialGraph(centres, width, lengths.min(axis=1), spread, axis, np.zeros((0, 2), dtype=np.int64))


def _with_rays(
    graph: MedialGraph, sides: Ints, mesh: Delaunay, near: Flags, s: _Samples, good: Flags, reach: float
) -> tuple[MedialGraph, Ints]:
    """Return the graph with the edges that leave into the open, `reach` beyond the mouth, and all edges' sides.

    The wood between the ends of two serifs is as long as they face each other, not as their last samples do.
    """
    triangle, side = np.nonzero(~near[mesh.neighbors] & near[:, None])
    here = (np.cumsum(near) - 1)[triangle]
    corner = mesh.simplices[triangle].astype(np.int64)
    rows = np.arange(len(triangle))
    apex, one, two = (corner[rows, (side + k) % 3] for k in range(3))
    keep = good[here] & (s.after[one] != two) & (s.before[one] != two)
    here, apex, one, two = here[keep], apex[keep], one[keep], two[keep]
    along = s.points[two] - s.points[one]
    out = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(along[:, 0], along[:, 1])[:, None]
    inwards = ((s.points[apex] - s.points[one]) * out).sum(axis=1) > 0.0
    out[inwards] *= -1.0
    to_middle = (((s.points[one] + s.points[two]) / 2.0 - graph.points[here]) * out).sum(axis=1)
    ends = graph.points[here] + (np.maximum(to_middle, 0.0) + reach)[:, None] * out
    pairs = np.column_stack([one, two])
    rays = np.column_stack([here, len(graph.points) + np.arange(len(here))])
    grown = _together(graph, _seen(s, pairs[:, [0, 1, 1]], ends), np.concatenate([graph.edges, rays]))
    return grown, np.concatenate([sides, pairs])


def _divided(graph: MedialGraph, sides: Ints, s: _Samples, step: float) -> MedialGraph:
    """Return the graph with edges divided that are long or along which feet swing far, as they do between two corners.

    sides (m, 2): the two samples between which each edge runs.
    """
    graph, sides = _split(graph, sides, s, *_narrowest(graph, sides, s, step))
    graph, sides = _split(graph, sides, s, *_even(graph, step))
    return _split(graph, sides, s, *_even(graph, step))[0]  # how far feet swing shows once long edges are divided


def _narrowest(graph: MedialGraph, sides: Ints, s: _Samples, step: float) -> tuple[Ints, Floats]:
    """Return the long edges that pass between their two samples, and at which share: there feet are opposite.

    Between two ends that face each other (the mouth of a c) no end of an edge need see that.
    """
    a, b = graph.edges.T
    hop = graph.points[b] - graph.points[a]
    square = (hop * hop).sum(axis=1)
    middle = (s.points[sides[:, 0]] + s.points[sides[:, 1]]) / 2.0
    share = ((middle - graph.points[a]) * hop).sum(axis=1) / np.where(square > 0.0, square, 1.0)
    which = np.flatnonzero((square > step * step) & (share > 0.01) & (share < 0.99))
    return which, share[which]


def _even(graph: MedialGraph, step: float) -> tuple[Ints, Floats]:
    """Return edges to be divided evenly, each as often as it is to be, and the shares at which."""
    a, b = graph.edges.T
    hop = graph.points[b] - graph.points[a]
    swing = np.abs(graph.spread[b] - graph.spread[a])
    wanted = np.maximum(np.hypot(hop[:, 0], hop[:, 1]) / step, np.minimum(swing / FEET_SWING, MOST_EDGE_PIECES / 2))
    wanted[np.maximum(graph.spread[a], graph.spread[b]) <= OPPOSED_FEET] = 1.0
    cuts = np.maximum(np.minimum(np.ceil(wanted), MOST_EDGE_PIECES).astype(np.int64) - 1, 0)
    which = np.repeat(np.arange(len(cuts)), cuts)
    part = np.arange(len(which)) - np.repeat(np.cumsum(cuts) - cuts, cuts) + 1
    return which, part / (cuts[which] + 1)


def _split(graph: MedialGraph, sides: Ints, s: _Samples, which: Ints, share: Floats) -> tuple[MedialGraph, Ints]:
    """Return the graph and its sides with points put into edges: `which` in order, at rising shares of each."""
    if not len(which):
        return graph, sides
    a, b = graph.edges.T
    places = graph.points[a[which]] + share[:, None] * (graph.points[b] - graph.points[a])[which]
    new = len(graph.points) + np.arange(len(which))
    changes = which[1:] != which[:-1]
    first, last = np.concatenate([[True], changes]), np.concatenate([changes, [True]])
    before = np.where(first, a[which], new - 1)
    whole = np.ones(len(a), dtype=bool)
    whole[which] = False
    chain = [graph.edges[whole], np.column_stack([before, new]), np.column_stack([new[last], b[which[last]]])]
    finer = _together(graph, _seen(s, sides[which][:, [0, 1, 1]], places), np.concatenate(chain))
    return finer, np.concatenate([sides[whole], sides[which], sides[which[last]]])


def _together(one: MedialGraph, two: MedialGraph, edges: Ints) -> MedialGraph:
    """Return the points of both, and these edges."""
    return MedialGraph(
        np.concatenate([one.points, two.points]),
        np.concatenate([one.width, two.width]),
        np.concatenate([one.radius, two.radius]),
        np.concatenate([one.spread, two.spread]),
        np.concatenate([one.axis, two.axis]),
        edges,
    )


def _stirred(points: Floats) -> Floats:
    """Return the points moved by a hair, each its own way, for the triangulation alone.

    Evenly sampled parallel sides put four points on one circle everywhere, which Qhull untangles at twice the time.
    """
    turn = np.arange(len(points)) * GOLDEN_ANGLE
    hair = STIRRING * float(np.ptp(points, axis=0).max())
    return np.asarray(points + hair * np.column_stack([np.cos(turn), np.sin(turn)]))


def _far_ring(points: Floats) -> Floats:
    low, high = points.min(axis=0), points.max(axis=0)
    middle = (low + high) / 2.0
    reach = FAR_RING * (float(np.hypot(*(high - low))) / 2.0 + 1e-9)
    turn = np.arange(FAR_POINTS) * (2.0 * math.pi / FAR_POINTS)
    return np.asarray(middle + reach * np.column_stack([np.cos(turn), np.sin(turn)]))


def _circumcentres(t: Floats) -> tuple[Floats, Flags]:
    """Return the circumcentres of triangles (m, 3, 2), and which of them are no slivers."""
    b, c = t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]
    cross = 2.0 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    bb, cc = b[:, 0] ** 2 + b[:, 1] ** 2, c[:, 0] ** 2 + c[:, 1] ** 2
    good = np.abs(cross) > 1e-12 * (bb + cc)
    safe = np.where(good, cross, 1.0)
    x = (c[:, 1] * bb - b[:, 1] * cc) / safe
    y = (b[:, 0] * cc - c[:, 0] * bb) / safe
    return t[:, 0] + np.where(good[:, None], np.column_stack([x, y]), 0.0), good


def _feet(s: _Samples, corners: Ints, centres: Complexes) -> Complexes:
    """Return the way from each centre to the nearest points on the boundary pieces next to its three samples, (m, 3)."""
    boundary = _complex(s.points)
    here = boundary[corners]
    best = here - centres[:, None]
    least = _square(best)
    to = best
    for beside in (s.before, s.after):
        along = boundary[beside[corners]] - here
        norm = _square(along)
        share = np.clip(-_dot(to, along) / np.where(norm > 0.0, norm, 1.0), 0.0, 1.0)
        foot = to + share * along
        distance = _square(foot)
        nearer = distance < least
        best, least = np.where(nearer, foot, best), np.where(nearer, distance, least)
    return np.asarray(best)


def _opposed(feet: Complexes, lengths: Floats) -> tuple[Floats, Floats, Floats]:
    """Return width, spread and axis by the two of the three feet that lie most opposite each other."""
    unit = feet / np.where(lengths > 0.0, lengths, 1.0)
    turned = np.roll(unit, -1, axis=1)
    cosines = _dot(unit, turned)
    best = cosines.argmin(axis=1)
    rows = np.arange(len(best))
    other = (best + 1) % 3
    spread = np.arccos(np.clip(cosines[rows, best], -1.0, 1.0))
    across = unit[rows, best] - unit[rows, other]
    return lengths[rows, best] + lengths[rows, other], spread, np.arctan2(across.real, -across.imag)  # a quarter turn


def _complex(points: Floats) -> Complexes:
    """Return points (n, 2) as complex numbers: numpy works on those several times faster than on pairs."""
    return np.asarray(np.ascontiguousarray(points).view(np.complex128)[:, 0])


def _square(z: Complexes) -> Floats:
    return np.asarray(z.real * z.real + z.imag * z.imag)


def _dot(a: Complexes, b: Complexes) -> Floats:
    return np.asarray(a.real * b.real + a.imag * b.imag)


def _edges(mesh: Delaunay, near: Flags, s: _Samples, good: Flags) -> tuple[Ints, Ints]:
    """Return pairs of neighbouring centres whose common side is no piece of the boundary, and the ends of that side."""
    number = np.where(near, np.cumsum(near) - 1, -1)
    triangle, side = np.nonzero(mesh.neighbors >= 0)
    other = mesh.neighbors[triangle, side]
    keep = near[triangle] & near[other] & (triangle < other)
    triangle, side, other = triangle[keep], side[keep], other[keep]
    keep = good[number[triangle]] & good[number[other]]
    triangle, side, other = triangle[keep], side[keep], other[keep]
    one = mesh.simplices[triangle, (side + 1) % 3]
    two = mesh.simplices[triangle, (side + 2) % 3]
    wall = (s.after[one] == two) | (s.before[one] == two)
    pairs = np.column_stack([number[triangle], number[other]])[~wall]
    return np.asarray(pairs, dtype=np.int64), np.column_stack([one, two])[~wall].astype(np.int64)


def narrow_runs(
    graph: MedialGraph, among: Flags, tilt: float, least: float, feathered: float, floor: float = 0.0
) -> tuple[Narrow, ...]:
    """Return the narrow runs among the chosen points, narrowest first.

    A run's width is the smallest w at which the points of width at most w, and whose feet lie at least pi - tilt
    (radians) apart, hang together over a length of `least`; or of `feathered`, where the narrowest of them has under
    half of w, so that a stroke that feathers out to nothing is not called as thin as its tip. floor: points narrower
    than this do not count. Runs wider than FAR_BEYOND times the narrowest are left out.
    """
    strip = _strip(graph, among, math.pi - tilt, floor)
    weight = strip.width[strip.edges].mean(axis=1)  # half of an edge lies below its middle: no bias by the sampling
    order = np.argsort(weight, kind="stable")
    growing = _Growing(strip.width, least, feathered)
    for (a, b), w, hop_length in zip(
        strip.edges[order].tolist(), weight[order].tolist(), strip.length[order].tolist(), strict=True
    ):
        if growing.first is not None and w > FAR_BEYOND * growing.first:
            break
        growing.join(a, b, w, hop_length)
    found = [(w, int(strip.node[k])) for w, k in growing.found if w > 0.0]
    return tuple(_narrow(graph, w, node) for w, node in sorted(found))


@dataclass(frozen=True, slots=True)
class _Strip:
    """The part of a graph with opposed feet, cut off where they cease to be. node: the graph's node of each of its."""

    width: Floats
    node: Ints
    edges: Ints
    length: Floats


def _strip(graph: MedialGraph, among: Flags, least_spread: float, floor: float) -> _Strip:
    """Return the edges along which the spread is enough; an edge that leaves is cut where it leaves.

    Without the ends a run would come out short by about one step of the sampling.
    """
    wide = among & (graph.width > floor)
    edges = graph.edges[wide[graph.edges].all(axis=1)] if len(graph.edges) else graph.edges
    spread, width = graph.spread, graph.width
    edges = np.where((spread[edges[:, 0]] >= spread[edges[:, 1]])[:, None], edges, edges[:, ::-1])
    edges = edges[spread[edges[:, 0]] >= least_spread]
    a, b = edges.T
    hop = graph.points[a] - graph.points[b]
    length = np.hypot(hop[:, 0], hop[:, 1])
    leaves = spread[b] < least_spread
    share = (spread[a] - least_spread)[leaves] / (spread[a] - spread[b])[leaves]
    length[leaves] *= share
    ends = width[a[leaves]] + share * (width[b[leaves]] - width[a[leaves]])
    edges = edges.copy()
    edges[leaves, 1] = len(width) + np.arange(len(ends))
    return _Strip(np.concatenate([width, ends]), np.concatenate([np.arange(len(width)), a[leaves]]), edges, length)


def _narrow(graph: MedialGraph, width: float, node: int) -> Narrow:
    x, y = graph.points[node]
    return Narrow(float(width), float(x), float(y), float(graph.axis[node]) % math.pi)


class _Growing:
    """Runs as they grow while the allowed width rises: a union-find that notes when a run first is long enough."""

    def __init__(self, width: Floats, least: float, feathered: float) -> None:
        self._width: list[float] = width.tolist()
        self._least, self._feathered = least, feathered
        self._parent = list(range(len(width)))
        self._length = [0.0] * len(width)
        self._thinnest = list(range(len(width)))
        self._event: dict[int, int] = {}
        self._found: list[tuple[float, int] | None] = []
        self.first: float | None = None

    @property
    def found(self) -> list[tuple[float, int]]:
        """Width and narrowest node of each run that stands for itself."""
        return [event for event in self._found if event is not None]

    def _root(self, node: int) -> int:
        parent = self._parent
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    def join(self, a: int, b: int, w: float, length: float) -> None:
        """Let an edge of the given length in, at width w, and note a run that has become long enough by it."""
        one, two = self._root(a), self._root(b)
        before = (self._length[one], self._length[two])
        if one != two:
            self._merge(one, two, w)
        self._length[one] += length
        if one not in self._event and self._is_run(one, w):
            if one != two and min(before) > NO_RUN * self._least:  # it joins two: both of its ends are needed
                w = max(self._width[a], self._width[b])
            else:  # the edge lengthens one run: long enough somewhere along it
                asked = self._least if self._width[self._thinnest[one]] >= w / 2.0 else self._feathered
                share = min(1.0, max(0.0, (asked - max(before)) / length)) if length > 0.0 else 1.0
                low, high = sorted((self._width[a], self._width[b]))
                w = low + share * (high - low)
            self._event[one] = len(self._found)
            self.first = w if self.first is None else self.first
            self._found.append((w, self._thinnest[one]))

    def _is_run(self, root: int, w: float) -> bool:
        if self._length[root] < self._least:
            return False
        return self._length[root] >= self._feathered or self._width[self._thinnest[root]] >= w / 2.0

    def _merge(self, a: int, b: int, w: float) -> None:
        self._parent[b] = a
        self._length[a] += self._length[b]
        if self._width[self._thinnest[b]] < self._width[self._thinnest[a]]:
            self._thinnest[a] = self._thinnest[b]
        if b in self._event:
            if a in self._event:
                self._event[a] = self._older(self._event[a], self._event[b], w)
            else:
                self._event[a] = self._event[b]

    def _older(self, one: int, two: int, w: float) -> int:
        """Let two known runs meet: the wider is forgotten unless something wider lies between them."""
        keep, drop = (one, two) if one < two else (two, one)  # events are noted narrowest first
        dropped = self._found[drop]
        if dropped is not None and w <= PLATEAU_RISE * dropped[0]:
            self._found[drop] = None
        return keep
