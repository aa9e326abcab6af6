"""Points of a medial graph, and what each of them sees of the boundary: its two most opposed feet, how wide, how far.

Samples only tell which stretches of boundary face each other; the distances are measured to the true straight pieces,
so that a coarse sampling does not cost accuracy.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.arrays import Floats, Ints
from engrave.geometry.paths import Polyline

Flags = NDArray[np.bool_]

Complexes = NDArray[np.complex128]


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
class Samples:
    """Points along a boundary (n, 2), each with its neighbours on the same run of it."""

    points: Floats
    before: Ints  # index of the sample before on the same run of boundary, or its own where the run ends
    after: Ints


def sample(runs: Iterable[Polyline], step: float) -> Samples:
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
    return Samples(np.concatenate(points), np.concatenate(before), np.concatenate(after))


def _dense(run: Polyline, step: float) -> Floats:
    """Return the polyline with points added so that no two are more than `step` apart."""
    ends = np.diff(run, axis=0)
    pieces = np.maximum(1, np.ceil(np.hypot(ends[:, 0], ends[:, 1]) / step)).astype(np.int64)
    which = np.repeat(np.arange(len(ends)), pieces)
    first = np.concatenate([[0], np.cumsum(pieces)[:-1]])
    share = (np.arange(len(which)) - first[which]) / pieces[which]
    return np.concatenate([run[which] + share[:, None] * ends[which], run[-1:]])


def seen_from(s: Samples, corners: Ints, centres: Floats) -> MedialGraph:
    """Return centres (m, 2) with what they see of the boundary next to three samples each (m, 3); no edges yet."""
    feet = _feet(s, corners, _complex(centres))
    lengths = np.abs(feet)
    width, spread, axis = _opposed(feet, lengths)
    return MedialGraph(centres, width, lengths.min(axis=1), spread, axis, np.zeros((0, 2), dtype=np.int64))


def together(one: MedialGraph, two: MedialGraph, edges: Ints) -> MedialGraph:
    """Return the points of both, and these edges."""
    return MedialGraph(
        np.concatenate([one.points, two.points]),
        np.concatenate([one.width, two.width]),
        np.concatenate([one.radius, two.radius]),
        np.concatenate([one.spread, two.spread]),
        np.concatenate([one.axis, two.axis]),
        edges,
    )


def _feet(s: Samples, corners: Ints, centres: Complexes) -> Complexes:
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
