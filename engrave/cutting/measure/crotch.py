"""Sharp crotches: the tapering wood between two strokes that meet, as in M, N, V and W, and how far it fills.

The tip of such a wedge is thinner than any wood bears, so it fills: under a beam's mark or a groove it is cut away,
beside a bit it crumbles. That is in the nature of the letter and breaks nothing, so it is told and never holds a piece.
It fills from the tip as drawn to where what is left between the walls is as thick as this wood bears; in a wedge of
straight sides and whole angle A, wood that needs a width of g fills for g/2 cot(A/2).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from engrave.cutting import criteria
from engrave.geometry.medial_points import Flags, MedialGraph


@dataclass(frozen=True, slots=True)
class Crotch:
    """The crotch of a glyph that stays narrower than `width` for longest: for `length` from its tip, in cap heights.

    x, y: its tip (y up). axis: direction of the wedge's middle, radians from 0 to pi.
    """

    width: float
    length: float
    x: float
    y: float
    axis: float


def crotches(graph: MedialGraph, among: Flags) -> tuple[Crotch, ...]:
    """Return the longest crotch among the chosen points for each of `criteria.CROTCH_WIDTHS`, where there is one."""
    # in a wedge of straight sides this is its angle; straight across, a wedge is thicker than square to its sides
    apart = math.pi - graph.spread
    wedge = among & (apart > criteria.WEB_TILT) & (apart <= criteria.CROTCH_WIDEST)
    across = np.full(len(apart), math.inf)
    across[wedge] = graph.width[wedge] / np.cos(apart[wedge] / 2.0)
    usable = across < criteria.CROTCH_WIDTHS[-1]
    edges = graph.edges[usable[graph.edges].all(axis=1)]
    weight = across[edges].max(axis=1)
    order = np.argsort(weight, kind="stable")
    pairs = list(zip(weight[order].tolist(), *edges[order].T.tolist(), strict=True))
    nodes = np.unique(edges)
    return tuple(_grown(graph, dict(zip(nodes.tolist(), across[nodes].tolist(), strict=True)), pairs))


def _grown(graph: MedialGraph, across: dict[int, float], pairs: Sequence[tuple[float, int, int]]) -> Iterator[Crotch]:
    """Yield the longest crotch of each width while runs grow together. pairs: width let in by, and two neighbours."""
    parent = {node: node for node in across}
    tip = dict(parent)
    end = dict(parent)

    def root(node: int) -> int:
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    done, roots = 0, set[int]()
    for width in criteria.CROTCH_WIDTHS:
        while done < len(pairs) and pairs[done][0] < width:
            a, b = root(pairs[done][1]), root(pairs[done][2])
            done += 1
            if a != b:
                parent[b] = a
                tip[a] = min(tip[a], tip[b], key=across.__getitem__)
                end[a] = max(end[a], end[b], key=across.__getitem__)
                roots.discard(b)
                roots.add(a)
        sharp = [r for r in roots if across[tip[r]] <= criteria.CROTCH_TIP * width]
        found = [_crotch(graph, tip[r], end[r], width, width / across[end[r]]) for r in sharp]
        if found:
            yield max(found, key=lambda c: (c.length, c.x, c.y))


def _crotch(graph: MedialGraph, tip: int, end: int, width: float, on: float) -> Crotch:
    """Return the crotch between the point nearest its tip and the widest one, led on to the tip itself and to `width`.

    on: the width over that at the last point. Points stand a sample apart, and a wedge widens evenly.
    """
    (ax, ay), (bx, by) = graph.points[tip].tolist(), graph.points[end].tolist()
    known = math.hypot(bx - ax, by - ay)
    before = float(graph.radius[tip]) / math.sin((math.pi - float(graph.spread[tip])) / 2.0)
    x, y = (ax + (ax - bx) / known * before, ay + (ay - by) / known * before) if known else (ax, ay)
    length = (before + known) * min(on, criteria.CROTCH_ON)
    return Crotch(width, length, x, y, math.atan2(by - ay, bx - ax) % math.pi)


def filled_at(found: Sequence[Crotch], width: float) -> Crotch | None:
    """Return the crotch that fills for longest where wood needs `width`, its length read between the widths measured.

    Beyond the largest of them the length at that one is returned: it fills for at least as long.
    """
    if not found or width <= 0.0:
        return None
    above = next((k for k, c in enumerate(found) if c.width >= width), None)
    if above is None:
        return found[-1]
    here = found[above]
    low_width, low_length = (found[above - 1].width, found[above - 1].length) if above else (0.0, 0.0)
    share = (width - low_width) / (here.width - low_width)
    return Crotch(width, low_length + share * (here.length - low_length), here.x, here.y, here.axis)
