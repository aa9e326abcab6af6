"""Narrow runs of a medial graph: stretches along which two sides of the boundary stay close and face each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engrave.geometry.arrays import Floats, Ints
from engrave.geometry.medial_points import Flags, MedialGraph

PLATEAU_RISE = 1.03
"""A narrow place is one of its own only if its surroundings widen by this much; else it is the same stroke again."""

FAR_BEYOND = 3.0
"""Runs wider than this many times the narrowest are not sought: nothing that limits a cut lies beyond it."""

NO_RUN = 1e-6
"""Share of the asked length under which a run is none yet: two centres of one circle, apart by stirring alone."""


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
    ends, others = strip.edges[order].T.tolist()
    growing = _Growing(strip.width, least, feathered)
    growing.let_in(ends, others, weight[order].tolist(), strip.length[order].tolist())
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
        self._widest = math.inf

    @property
    def found(self) -> list[tuple[float, int]]:
        """Width and narrowest node of each run that stands for itself."""
        return [event for event in self._found if event is not None]

    def let_in(
        self, ends: Sequence[int], others: Sequence[int], widths: Sequence[float], lengths: Sequence[float]
    ) -> None:
        """Let edges in by rising width, each between two nodes, and note the runs that become long enough by them.

        It ends where nothing wider is sought. Half a letter's edges pass here, so roots are found and joined on the spot.
        """
        parent, length, thinnest, width, event = self._parent, self._length, self._thinnest, self._width, self._event
        for a, b, w, hop in zip(ends, others, widths, lengths, strict=True):
            if w > self._widest:
                return
            one, two = a, b
            while parent[one] != one:
                parent[one] = one = parent[parent[one]]
            while parent[two] != two:
                parent[two] = two = parent[parent[two]]
            before = (length[one], length[two])
            if one != two:
                parent[two] = one
                length[one] += length[two]
                if width[thinnest[two]] < width[thinnest[one]]:
                    thinnest[one] = thinnest[two]
                if two in event:
                    event[one] = self._older(event[one], event[two], w) if one in event else event[two]
            length[one] += hop
            if length[one] >= self._least and one not in event and self._is_run(one, w):
                joins = one != two and min(before) > NO_RUN * self._least
                low, high = sorted((width[a], width[b]))
                # it joins two: both of its ends are needed; or it lengthens one run: long enough somewhere along it
                self._note(one, high if joins else low + self._share(one, w, hop, max(before)) * (high - low))

    def _is_run(self, root: int, w: float) -> bool:
        return self._length[root] >= self._feathered or self._width[self._thinnest[root]] >= w / 2.0

    def _share(self, root: int, w: float, hop: float, before: float) -> float:
        """Return after which share of an edge of length `hop` a run is long enough that was so long before it."""
        asked = self._least if self._width[self._thinnest[root]] >= w / 2.0 else self._feathered
        return min(1.0, max(0.0, (asked - before) / hop)) if hop > 0.0 else 1.0

    def _note(self, root: int, w: float) -> None:
        """Note a run that is long enough from a width on."""
        self._event[root] = len(self._found)
        if not self._found:
            self._widest = FAR_BEYOND * w
        self._found.append((w, self._thinnest[root]))

    def _older(self, one: int, two: int, w: float) -> int:
        """Let two known runs meet: the wider is forgotten unless something wider lies between them."""
        keep, drop = (one, two) if one < two else (two, one)  # events are noted narrowest first
        dropped = self._found[drop]
        if dropped is not None and w <= PLATEAU_RISE * dropped[0]:
            self._found[drop] = None
        return keep
