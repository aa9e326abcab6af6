"""The path of a V-bit down the middle of each stroke: depth follows the width, corners run up to the surface."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Voronoi
from shapely import (
    LineString,
    Polygon,
    contains_xy,
    distance,
    line_merge,
    linestrings,
    maximum_inscribed_circle,
    multilinestrings,
    unary_union,
)
from shapely import points as points_of
from shapely.geometry import MultiLineString

from engrave.geometry.regions import polygons, region
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool

STEP_CAPS = 0.02
"""Cap heights between points sampled on the outline: a fiftieth follows serifs, and costs some milliseconds a letter."""

SPUR = 0.8
"""Branches shorter than this share of the radius where they begin, and ending in no corner, are the sampling's own."""


def vee(lettering: Lettering, tool: Tool) -> tuple[NDArray[np.float64], ...]:
    """Return the tip's paths, each of shape (n, 3): x, y in the area's mm, z in mm below the face (negative).

    At a place midway in a stroke of half-width r the tip (flat `t`, point angle `a`) goes down by (r - t/2)/tan(a/2),
    at most to the tool's depth; there wide parts are left to a flat floor. Strokes narrower than the tip are skipped.
    """
    half = math.tan(math.radians((tool.cutter.angle or 60.0) / 2))
    tip = (tool.cutter.tip or 0.0) / 2
    step = max(0.05, STEP_CAPS * lettering.cap_mm)
    paths: list[NDArray[np.float64]] = []
    letters = unary_union([region(m.path()) for m in lettering.marks])
    for part in polygons(letters):
        found = _middle_lines(part, step) or [_middle_point(part)]  # a round dot has a middle point only
        for line, radius in found:
            z = -np.clip((radius - tip) / half, 0.0, tool.depth)
            if len(line) > 1 and (z < 0).any():
                paths.append(np.column_stack([line, z]))
    return tuple(paths)


def _middle_lines(part: Polygon, step: float) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Return the part's middle lines with the distance to the outline at each of their points."""
    boundary = part.boundary
    dense = part.segmentize(step).boundary
    rings = dense.geoms if hasattr(dense, "geoms") else [dense]
    samples = np.concatenate([np.asarray(r.coords)[:-1] for r in rings])
    if len(samples) < 4:
        return []
    mesh = Voronoi(samples)
    inside = contains_xy(part, mesh.vertices[:, 0], mesh.vertices[:, 1])
    _, place = np.unique(samples.round(9), axis=0, return_inverse=True)
    corner = np.isin(place.ravel(), place.ravel()[_sharp(rings)])
    ends = np.asarray(mesh.ridge_vertices)
    within = (ends >= 0).all(axis=1) & inside[ends].all(axis=1)
    of = mesh.ridge_points
    rib = (np.abs(of[:, 0] - of[:, 1]) == 1) & ~corner[of].any(axis=1)  # between neighbours on a smooth outline
    lines = linestrings(mesh.vertices[ends[within & ~rib]])
    merged = line_merge(multilinestrings(lines)) if len(lines) else MultiLineString()
    found = []
    for line in merged.geoms if hasattr(merged, "geoms") else [merged]:
        points = np.asarray(line.simplify(0.01).coords)
        if len(points) > 1:
            radius = distance(boundary, points_of(points))
            if line.length > SPUR * 0.5 * float(radius.max()):
                found.append((points, radius))
    return found


def _middle_point(part: Polygon) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the centre of the largest circle inside, as a path of no length worth naming, and its radius."""
    radius_line = maximum_inscribed_circle(part)
    x, y = radius_line.coords[0]
    return np.array([[x, y], [x + 1e-3, y]]), np.full(2, radius_line.length)


def _sharp(rings: Iterable[LineString]) -> NDArray[np.bool_]:
    """Return which samples are corners: where the outline turns by more than 30 degrees."""
    marks = []
    for ring in rings:
        points = np.asarray(ring.coords)[:-1]
        before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        turn = np.abs(np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1)))
        marks.append(turn > math.radians(30))
    return np.concatenate(marks)
