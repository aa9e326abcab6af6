"""The middle lines of a letter as a graph of places and radii, freed from spurs and cut into lines.

A branch is kept if the letter shows it: if without it some of the letter would stay uncut. The largest circle at a
branch's end sticks out of the one where it begins by d + r_end - r_begin; what sticks out by nothing to speak of comes
from sampling the outline, as every bump of a boundary sprouts a branch of its own (Attali & Montanvert 1996, on
pruning by how far the discs reach).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon, contains_xy, distance, get_coordinates, points, prepare
from shapely.geometry.base import BaseGeometry

from engrave.geometry.arrays import Floats
from engrave.geometry.medial_graph import GOLDEN_ANGLE, medial_graph_of

AXIS_STEP = 0.015
"""Cap heights between samples of the outline: follows serifs, at some milliseconds a letter."""

SHOWN_REACH = 0.004
"""Cap heights by which a branch must reach further than where it begins: 0.04 mm on a letter of 10 mm is not missed."""

STRAY = 2.0 * AXIS_STEP
"""Cap heights: a piece of a middle line that hangs on nothing and is shorter may come from sampling."""

STRAY_REACH = 0.5 * AXIS_STEP
"""Cap heights by which its circles may reach out of the others': what is drawn finer, no sample tells from a crumb."""

AXIS_CHORD = 0.0004
"""Cap heights by which the outline may be straightened first: roundings finer than a hair of a cutter are corners."""

HAIR = 2e-5
"""Cap heights by which points of an outline are told apart: a twentieth of AXIS_CHORD, and over the 0.05 micrometres by
which a file rounds on letters of 2.5 mm and more."""

CORNER_TURN = math.radians(30.0)
"""Turn of the outline from which it is a corner: chords of curves turn by less, the bluntest drawn corners by more."""

SLANTING = np.array([math.cos(0.35), math.sin(0.35)])
"""Direction in which inner rings are begun, in the outer one's frame: 20 degrees, in which no letter has sides."""

WITH_THE_NEXT = 0.5
"""Share with which the point after a corner counts beside it where a ring is begun (a choice)."""

CORNER_DISTANCE = 3.0
"""Samples' distances within which a middle line that ends belongs to a corner: at 160 degrees it ends 2.9 away."""

CHORD_HALVINGS = 3
"""Times that a chord is halved at most where it would cut outside: chords are a few samples long, so an eighth is fine."""

AXIS_DEVIATION = 0.001
"""Cap heights that points dropped from a line may have stood off it, sideways or in radius."""


@dataclass(slots=True)
class _Tree:
    """Places (x, y, radius) in cap heights and which of them are neighbours."""

    places: Floats
    beside: dict[int, set[int]]

    def leaves(self) -> list[int]:
        return sorted(n for n, others in self.beside.items() if len(others) == 1)

    def branch(self, leaf: int) -> list[int]:
        """Return the places from a leaf to the first fork, the fork included; or to the other end."""
        walk = [leaf]
        before, here = -1, leaf
        while True:
            further = [n for n in self.beside[here] if n != before]
            if here != leaf and len(self.beside[here]) != 2:
                return walk
            before, here = here, further[0]
            walk.append(here)

    def drop(self, node: int) -> None:
        for other in self.beside.pop(node):
            self.beside[other].discard(node)

    def reach(self, walk: Sequence[int], base: int) -> float:
        """Return how far the circles of a branch stick out of the one at its base."""
        p, q = self.places[list(walk)], self.places[base]
        return float((np.hypot(p[:, 0] - q[0], p[:, 1] - q[1]) + p[:, 2] - q[2]).max())


def axis_lines(part: Polygon) -> tuple[Floats, ...]:
    """Return the middle lines of a part in cap heights, (n, 3) each: x, y and distance to the outline.

    Lines run from end or fork to end or fork; those into corners end in the corner, with radius 0. A round dot gives
    one place.

    They are the same however the part is told: moved, turned, its rings begun elsewhere or rounded. Read back from its file,
    which begins rings where the cut does, a letter shall have the middle lines that it was cut along.
    """
    outer, *inner = _rings(part)
    middle = outer.mean(axis=0)
    outer = _begun(outer, _outlying(outer))
    ahead = (outer[0] - middle) / max(float(np.hypot(*(outer[0] - middle))), 1e-12)
    turned = np.array([[ahead[0], -ahead[1]], [ahead[1], ahead[0]]])
    within = [(ring - middle) @ turned for ring in inner]
    own = _told_alike([(outer - middle) @ turned, *(_begun(ring, ring @ SLANTING) for ring in within)])
    return tuple(_in_place(line, middle, ahead) for line in _own_lines(own))


def _rings(part: Polygon) -> list[Floats]:
    """Return a part's rings, (n, 2) each, the outer one first: it turns one way, inner ones the other."""
    normal = part.normalize()
    return [get_coordinates(ring)[:-1] for ring in (normal.exterior, *normal.interiors)]


def _own_lines(part: Polygon) -> tuple[Floats, ...]:
    """Return the middle lines of a part that is told in its own frame."""
    tree = _tree(part)
    if not tree.beside:
        return ()
    _prune(tree)
    _drop_strays(tree)
    _bridge(tree)
    _measure(tree, part)
    widest = max(tree.beside, key=lambda n: (tree.places[n, 2], -n))
    if tree.reach(sorted(tree.beside), widest) < SHOWN_REACH:
        return (tree.places[[widest]],)
    return tuple(_held_within(_thinned(tree.places[walk]), part.boundary) for walk in _lines(tree))


def _told_alike(rings: Sequence[Floats]) -> Polygon:
    """Return the part of these rings with roundings straightened, inner rings in an order of their own."""
    outer, *inner = [_straightened(ring) for ring in rings]
    told = Polygon(outer, sorted(inner, key=lambda ring: float(ring[0, 0])))
    return told if told.is_valid else Polygon(rings[0], rings[1:]).simplify(AXIS_CHORD)


def _outlying(ring: Floats) -> Floats:
    """Return how far out each point of a ring lies, with the one after it: of two that mirror each other one lies farther."""
    out: Floats = np.hypot(*(ring - ring.mean(axis=0)).T)
    return out + WITH_THE_NEXT * np.roll(out, -1)


def _begun(ring: Floats, far: Floats) -> Floats:
    """Return a ring's points (n, 2) begun at the corner that is farthest, or at the farthest point where it has none."""
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
    corners = np.abs(turn) > CORNER_TURN
    return np.roll(ring, -int(np.where(corners, far, -math.inf).argmax() if corners.any() else far.argmax()), axis=0)


def _in_place(line: Floats, middle: Floats, ahead: Floats) -> Floats:
    """Return a line found in a letter's own frame as it lies in the part's."""
    across = np.array([-ahead[1], ahead[0]])
    return np.column_stack([middle + line[:, :1] * ahead + line[:, 1:2] * across, line[:, 2]])


def _straightened(ring: Floats) -> Floats:
    """Return a ring's points (n, 2), the first again at the end, without those that stand off by less than AXIS_CHORD.

    Letters are drawn evenly, so that two points of a curve often stand off alike: each is held a hair farther off than
    the one before it or less far, lest the last digit decide which of them stays.
    """
    closed = np.concatenate([ring, ring[:1]])
    turned = GOLDEN_ANGLE * np.arange(len(closed))
    hair = HAIR * np.column_stack([np.cos(turned), np.sin(turned)])
    hair[[0, -1]] = 0.0
    kept = closed[_standing_off(closed + hair, AXIS_CHORD)]
    return kept if len(kept) > 3 else closed


def _standing_off(points: Floats, distance: float) -> NDArray[np.int64]:
    """Return which points of a line (n, 2) stand off its chords by more than a distance (Douglas & Peucker 1973)."""
    numbered = LineString(np.column_stack([points, np.arange(len(points))]))
    kept = get_coordinates(numbered.simplify(distance, preserve_topology=False), include_z=True)
    return np.asarray(kept[:, 2], dtype=np.int64)


def _tree(part: Polygon) -> _Tree:
    rings = [get_coordinates(r) for r in (part.exterior, *part.interiors)]
    graph = medial_graph_of(rings, AXIS_STEP, closely=False)
    prepare(part)
    inside = contains_xy(part, graph.points[:, 0], graph.points[:, 1]) if len(graph.points) else np.zeros(0, bool)
    edges = graph.edges[inside[graph.edges].all(axis=1)] if len(graph.edges) else graph.edges
    beside: dict[int, set[int]] = {node: set() for node in np.unique(edges).tolist()}
    for a, b in edges.tolist():
        beside[a].add(b)
        beside[b].add(a)
    places = np.column_stack([graph.points, graph.radius])
    if not beside and inside.any():  # so round that one circle touches it all around
        beside[int(np.flatnonzero(inside)[graph.radius[inside].argmax()])] = set()
    return _into_corners(_Tree(places, beside), part)


def _measure(tree: _Tree, part: Polygon) -> None:
    """Set each place's radius to its distance from the whole outline: three samples alone may flatter where lines meet."""
    nodes = sorted(tree.beside)
    boundary = part.boundary
    prepare(boundary)
    tree.places[nodes, 2] = distance(boundary, points(tree.places[nodes, :2]))


def _into_corners(tree: _Tree, part: Polygon) -> _Tree:
    """Lead each middle line that ends beside a corner of the outline into it."""
    corners = _corners(part)
    leaves = tree.leaves()
    if not len(corners) or not leaves:
        return tree
    away = np.hypot(*(tree.places[leaves][:, None, :2] - corners[None]).transpose(2, 0, 1))
    added = [tree.places]
    count = len(tree.places)
    for k, corner in enumerate(corners):
        nearest = int(away[:, k].argmin())
        if away[nearest, k] <= CORNER_DISTANCE * AXIS_STEP and int(away[nearest].argmin()) == k:
            leaf = leaves[nearest]
            tree.beside[leaf].add(count)
            tree.beside[count] = {leaf}
            added.append(np.array([[*corner, 0.0]]))
            count += 1
    return _Tree(np.concatenate(added), tree.beside)


def _corners(part: Polygon) -> Floats:
    """Return the corners that point outwards from the part, (n, 2)."""
    found = []
    normal = part.normalize()  # outer ring clockwise, inner ones the other way: the part lies to the right
    for ring in (normal.exterior, *normal.interiors):
        turns = get_coordinates(ring)[:-1]
        before, after = turns - np.roll(turns, 1, axis=0), np.roll(turns, -1, axis=0) - turns
        cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        found.append(turns[np.arctan2(cross, (before * after).sum(axis=1)) < -CORNER_TURN])
    return np.concatenate(found)


def _prune(tree: _Tree) -> None:
    """Take off branches that do not show, those that reach least first, until every one shows."""
    while True:
        spurs: dict[int, list[tuple[float, list[int]]]] = {}
        for leaf in tree.leaves():
            walk = tree.branch(leaf)
            fork = walk[-1]
            if len(tree.beside[fork]) > 2 and (reach := tree.reach(walk, fork)) < SHOWN_REACH:
                spurs.setdefault(fork, []).append((reach, walk))
        if not spurs:
            return
        for fork, found in sorted(spurs.items()):
            found.sort(key=lambda f: f[0])
            for _, walk in found[: len(tree.beside[fork]) - 1]:  # whatever else, one way on is left
                for node in walk[:-1]:
                    tree.drop(node)


def _drop_strays(tree: _Tree) -> None:
    """Take off short pieces that hang on nothing and whose circles the other lines' cover.

    The middle lines of one part hang together (A. Lieutier, 'Any open bounded subset of R^n has the same homotopy type as
    its medial axis', Computer-Aided Design 36, 2004); at blunt corners sampling leaves crumbs, each a plunge of its own.
    """
    pieces = _pieces(tree)
    for piece in sorted(pieces, key=lambda p: (len(p), p[0]))[:-1]:
        own = tree.places[piece]
        if math.hypot(*np.ptp(own[:, :2], axis=0)) > STRAY:
            continue
        rest = tree.places[sorted(set(tree.beside) - set(piece))]
        apart = np.hypot(*(own[:, None, :2] - rest[None, :, :2]).transpose(2, 0, 1))
        if ((apart + own[:, None, 2] - rest[None, :, 2]).min(axis=1) < STRAY_REACH).all():
            for node in piece:
                tree.drop(node)


def _bridge(tree: _Tree) -> None:
    """Join pieces that come as near as samples lie: in a neck as thin as that the places between were lost."""
    pieces = sorted(_pieces(tree), key=lambda p: (len(p), p[0]))
    for k, piece in enumerate(pieces[:-1]):
        rest = [node for other in pieces[k + 1 :] for node in other]
        own, others = tree.places[piece, :2], tree.places[rest, :2]
        apart = np.hypot(*(own[:, None] - others[None]).transpose(2, 0, 1))
        i, j = np.unravel_index(int(apart.argmin()), apart.shape)
        if apart[i, j] <= AXIS_STEP:
            tree.beside[piece[i]].add(rest[j])
            tree.beside[rest[j]].add(piece[i])


def _pieces(tree: _Tree) -> list[list[int]]:
    """Return the places of each connected piece."""
    found: list[list[int]] = []
    rest = set(tree.beside)
    while rest:
        piece, edge = set[int](), [min(rest)]
        while edge:
            node = edge.pop()
            if node not in piece:
                piece.add(node)
                edge += tree.beside[node]
        rest -= piece
        found.append(sorted(piece))
    return found


def _lines(tree: _Tree) -> Iterator[list[int]]:
    """Yield walks between ends and forks, each edge once; then rings that have neither."""
    used: set[tuple[int, int]] = set()
    starts = sorted(n for n, others in tree.beside.items() if len(others) != 2)
    for start in [*starts, *sorted(tree.beside)]:
        for first in sorted(tree.beside[start]):
            if (start, first) not in used:
                yield _walk(tree, start, first, used)


def _walk(tree: _Tree, start: int, first: int, used: set[tuple[int, int]]) -> list[int]:
    walk = [start, first]
    used |= {(start, first), (first, start)}
    while len(tree.beside[walk[-1]]) == 2 and walk[-1] != start:
        here = walk[-1]
        (onward,) = tree.beside[here] - {walk[-2]}
        used |= {(here, onward), (onward, here)}
        walk.append(onward)
    return walk


def _thinned(line: Floats) -> Floats:
    """Drop points that lie on a straight run in place and change evenly in radius."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line[:, :2], axis=0).T))])
    deep = np.column_stack([along, line[:, 2]])
    keep = np.union1d(_standing_off(line[:, :2], AXIS_DEVIATION), _standing_off(deep, AXIS_DEVIATION))
    thin: Floats = line[keep]
    return thin


def _held_within(line: Floats, boundary: BaseGeometry) -> Floats:
    """Return the line with places added where, between two, a radius in proportion would reach beyond the outline."""
    for _ in range(CHORD_HALVINGS):
        middles = (line[1:] + line[:-1]) / 2.0
        true = distance(boundary, points(middles[:, :2]))
        over = middles[:, 2] - true > AXIS_DEVIATION
        if not over.any():
            break
        middles[:, 2] = true
        line = np.insert(line, np.flatnonzero(over) + 1, middles[over], axis=0)
    return line
