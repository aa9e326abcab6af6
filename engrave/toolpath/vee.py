"""The path of a V-bit down the middle of each stroke: depth follows the width, corners run up to the surface."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from shapely import get_coordinates

from engrave.cutting.judge.cupping import floor_step, vee_depth, widest_vee
from engrave.cutting.measure.components import KNOWN_SHAPES, Body, bodies
from engrave.geometry.medial_axis import middle_lines
from engrave.geometry.regions import polygons
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool

Floats = NDArray[np.float64]

NUDGE = 1e-3
"""mm that a bit moves in a round dot, where there is no line to follow: it goes down and comes up again."""

ARC = 8
"""Chords a quarter circle where a round turns a corner: 0.5 % of its radius off at most."""

FLOOR = 0.003
"""mm that rounds on a flat floor may stand off their course: a twentieth of what lies between two of them."""

_known: dict[str, tuple[Floats, ...]] = {}


def vee(lettering: Lettering, tool: Tool) -> tuple[Floats, ...]:
    """Return the tip's paths, each of shape (n, 3): x, y in the area's mm, z in mm below the face (negative).

    At a place midway in a stroke of half-width r the tip (flat `t`, point angle `a`) goes down by (r - t/2)/tan(a/2),
    at most to the tool's depth. Wider parts get a flat floor at that depth, cleared in rounds from the wall inwards
    (see `cupping.floor_step`). Strokes narrower than the tip are skipped.
    """
    half = math.tan(math.radians((tool.cutter.angle or 60.0) / 2))
    tip = (tool.cutter.tip or 0.0) / 2
    widest = widest_vee(tool)
    depth = min(tool.depth, vee_depth(tool.cutter, widest))  # above its cone a bit cuts no wider
    paths: list[Floats] = []
    for body in bodies(lettering, False):
        lines = _middle(body)
        for line in lines:
            z = -np.clip((line[:, 2] * body.cap_mm - tip) / half, 0.0, depth)
            if (z < 0.0).any():
                placed = _placed(line[:, :2], body)
                paths.append(np.column_stack([placed, np.resize(z, len(placed))]))
        if any((line[:, 2] * body.cap_mm > widest / 2).any() for line in lines):
            paths += _floor(body, widest / 2, floor_step(tool.cutter), depth)
    return tuple(paths)


def _middle(body: Body) -> tuple[Floats, ...]:
    """Return a body's middle lines in cap heights, kept by its key: they hold at every size."""
    found = _known.get(body.key)
    if found is None:
        if len(_known) >= KNOWN_SHAPES:
            _known.clear()
        found = _known[body.key] = tuple(line for part in polygons(body.shape) for line in middle_lines(part))
    return found


def _placed(points: Floats, body: Body) -> Floats:
    a, b, c, d, e, f = body.matrix
    placed: Floats = points @ np.array([[a, b], [c, d]]) + (e, f)
    return placed if len(placed) > 1 else np.concatenate([placed, placed + (NUDGE, 0.0)])


def _floor(body: Body, wall: float, step: float, depth: float) -> Iterator[Floats]:
    """Yield the rounds that clear what is farther than `wall` mm from the outline, at full depth."""
    inner = body.on_lid.simplify(FLOOR).buffer(-wall, quad_segs=ARC)
    while not inner.is_empty:
        for part in polygons(inner):
            for ring in (part.exterior, *part.interiors):
                points = get_coordinates(ring)
                yield np.column_stack([points, np.full(len(points), -depth)])
        inner = inner.buffer(-step, quad_segs=ARC).simplify(FLOOR)
