"""The plan of a V-bit worked out by other means: Voronoi cells of the sampled outline, and a postman's walk over them.

Nothing of the program's own medial axis, linking or ordering is used. Middle lines are ridges of the Voronoi diagram of
samples of the outline (Ogniewicz & Kuebler 1995, 'Hierarchic Voronoi skeletons': a ridge is kept by how much longer the way
along the outline between its two samples is than the straight one). The walk is that of a postman who may also lift
(Edmonds & Johnson 1973, 'Matching, Euler tours and the Chinese postman'): odd places are paired so that running over a cut
line again and lifting take the least time together. What letters take then hangs on no choice of ours.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import networkx as nx
import numpy as np
from scipy.spatial import Voronoi
from shapely import LineString, Polygon, contains_xy, get_coordinates, prepare, segmentize, union_all

from engrave.geometry.arrays import Floats
from engrave.geometry.regions import polygons, region
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.toolpath.moves import Course, bit_course, bit_of

SAMPLE = 0.03
"""mm between samples of an outline."""

ROUNDABOUT = 1.15
"""Times that the way along the outline is longer than the straight one: 1 / sin of half a corner's angle, so 120 degrees."""

FINE = 0.003
"""mm that a middle line may be straightened by: less than a router's step over its slack."""


def course_of(lettering: Lettering, tool: Tool) -> Course:
    """Return the course of the V-bit by this plan."""
    shape = union_all([region(mark.path(), 0.002) for mark in lettering.marks])
    walks = [walk for part in polygons(shape) for walk in _walks(_graph(part, tool), tool)]
    deepest = max(float(-walk[:, 2].min()) for walk in walks)
    count = max(1, math.ceil(deepest / tool.recipe.pass_depth - 1e-6)) if tool.recipe.pass_depth else 1
    depths = [deepest * (k + 1) / count for k in range(count)]
    box = np.concatenate(walks)
    start = (float(box[:, 0].min()), float(box[:, 1].max()))
    walks = _nearest_first(walks, start)
    if tool.recipe.by == "pass":
        chains = [[_down_to(walk, depth)] for depth in depths for walk in walks]
    else:
        chains = [_again_and_again(walk, depths) for walk in walks]
    return bit_course(chains, bit_of(tool), start, tool.machine.return_home)


def _graph(part: Polygon, tool: Tool) -> nx.MultiGraph:
    """Return a letter's middle lines: places where they end or meet, and the lines between, (n, 3) each."""
    rings = [get_coordinates(segmentize(ring, SAMPLE))[:-1] for ring in (part.exterior, *part.interiors)]
    samples = np.concatenate(rings)
    ring_of = np.repeat(np.arange(len(rings)), [len(r) for r in rings])
    along = np.concatenate([np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(r, axis=0).T))]) for r in rings])
    whole = np.array([along[ring_of == k].max() + math.dist(r[0], r[-1]) for k, r in enumerate(rings)])
    cells = Voronoi(samples)
    ends = np.array(cells.ridge_vertices)
    a, b = cells.ridge_points.T
    way = np.abs(along[a] - along[b])
    way = np.where(ring_of[a] == ring_of[b], np.minimum(way, whole[ring_of[a]] - way), np.inf)
    apart = np.hypot(*(samples[a] - samples[b]).T)
    prepare(part)
    inside = contains_xy(part, cells.vertices[:, 0], cells.vertices[:, 1])
    kept = (ends >= 0).all(axis=1) & (way > ROUNDABOUT * apart) & (way > 3 * SAMPLE)
    kept &= inside[ends].all(axis=1)
    away = np.hypot(*(cells.vertices[ends[kept]] - samples[a[kept]][:, None]).transpose(2, 0, 1))
    radius = dict(zip(ends[kept].ravel().tolist(), away.ravel().tolist(), strict=True))
    half, tip = math.tan(math.radians(tool.cutter.angle or 60.0) / 2.0), (tool.cutter.tip or 0.0) / 2.0
    where = {n: (*cells.vertices[n], -min(tool.depth, max(0.0, (r - tip) / half))) for n, r in radius.items()}
    fine = nx.Graph(ends[kept].tolist())
    # the middle lines of one part hang together (Lieutier 2004); what is left over at blunt corners comes from sampling
    return _lines(fine.subgraph(max(nx.connected_components(fine), key=len)), where)


def _lines(fine: nx.Graph, where: dict[int, tuple[float, float, float]]) -> nx.MultiGraph:
    graph = nx.MultiGraph()
    stops = {n for n in fine if fine.degree(n) != 2}
    for piece in nx.connected_components(fine):
        if not piece & stops:
            stops.add(min(piece))
    used: set[frozenset[int]] = set()
    for stop in sorted(stops):
        for first in sorted(fine[stop]):
            if frozenset((stop, first)) in used:
                continue
            walk = [stop, first]
            while walk[-1] not in stops:
                walk.append(next(n for n in fine[walk[-1]] if n != walk[-2]))
            used |= {frozenset(pair) for pair in zip(walk[:-1], walk[1:], strict=True)}
            line = _straightened(np.array([where[n] for n in walk]))
            long = float(np.sqrt((np.diff(line, axis=0) ** 2).sum(axis=1)).sum())
            if (line[:, 2] < 0.0).any():  # what is finer than the tip is not cut
                graph.add_edge(walk[0], walk[-1], line=line, long=long, first=walk[0])
    return graph


def _straightened(line: Floats) -> Floats:
    """Drop points that stand off their chord by less than `FINE`, in plan or in depth."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line[:, :2], axis=0).T))])
    number = np.arange(len(line))
    plan = LineString(np.column_stack([line[:, :2], number])).simplify(FINE, preserve_topology=False)
    side = LineString(np.column_stack([along, line[:, 2], number])).simplify(FINE, preserve_topology=False)
    kept = {int(n) for one in (plan, side) for n in get_coordinates(one, include_z=True)[:, 2]}
    return line[sorted(kept | {0, len(line) - 1})]


def _walks(graph: nx.MultiGraph, tool: Tool) -> Iterator[Floats]:
    """Yield the walks of the postman over each piece: between two of them the bit is lifted."""
    machine, recipe = tool.machine, tool.recipe
    down = machine.approach if machine.approach is not None else machine.retract
    lift = 2.0 * machine.retract / machine.vmax[2] + down / recipe.plunge
    for nodes in nx.connected_components(graph):
        piece = graph.subgraph(nodes).copy()
        odd = [n for n in piece if piece.degree(n) % 2]
        ways = dict(nx.all_pairs_dijkstra(piece, weight="long")) if len(odd) > 2 else {}
        pairs = nx.Graph()
        for i, u in enumerate(odd):
            for v in odd[:i]:
                back = ways[u][0][v] / recipe.feed if ways else 0.0
                pairs.add_edge(u, v, weight=min(back, lift))
        matched = sorted(nx.min_weight_matching(pairs), key=lambda p: pairs.edges[p]["weight"])
        for u, v in matched[:-1]:  # of all that are lifted over, the dearest pair is where it begins and ends
            if ways and ways[u][0][v] / recipe.feed < lift:
                way = ways[u][1][v]
                for p, q in zip(way[:-1], way[1:], strict=True):
                    best = min(piece[p][q].values(), key=lambda e: e["long"])
                    piece.add_edge(p, q, **best)
            else:
                piece.add_edge(u, v, line=None, long=0.0, first=u)
        begin = matched[-1][0] if matched else min(piece)
        yield from _euler(piece, begin)


def _euler(piece: nx.MultiGraph, begin: int) -> Iterator[Floats]:
    walk: list[Floats] = []
    for u, v, key in nx.eulerian_path(piece, source=begin, keys=True):
        line, first = piece.edges[u, v, key]["line"], piece.edges[u, v, key]["first"]
        if line is not None:
            walk.append(line if first == u else line[::-1])
        elif walk:
            yield np.concatenate(walk)
            walk = []
    if walk:
        yield np.concatenate(walk)


def _nearest_first(walks: Sequence[Floats], start: tuple[float, float]) -> list[Floats]:
    rest, done, at = list(walks), [], np.array(start)
    while rest:
        away = [min(math.dist(at, w[0, :2]), math.dist(at, w[-1, :2])) for w in rest]
        one = rest.pop(int(np.argmin(away)))
        if math.dist(at, one[-1, :2]) < math.dist(at, one[0, :2]):
            one = one[::-1]
        done.append(one)
        at = one[-1, :2]
    return done


def _down_to(walk: Floats, depth: float) -> Floats:
    return np.column_stack([walk[:, :2], np.maximum(walk[:, 2], -depth)])


def _again_and_again(walk: Floats, depths: Sequence[float]) -> list[Floats]:
    """Return a walk at each depth, there and back, or round and round where it ends where it began."""
    closed = math.dist(walk[0, :2], walk[-1, :2]) < 1e-6
    return [_down_to(walk if closed or k % 2 == 0 else walk[::-1], depth) for k, depth in enumerate(depths)]
