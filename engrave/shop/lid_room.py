"""Where on a lid words may stand: its outline less edge treatment, less margin, less keep-outs with clearance.

Flattening errs on the safe side: chords of outlines are inscribed, those of keep-outs circumscribed, each within
REGION_CHORD of the curve.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from shapely import Polygon, box, unary_union
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import REGION_CHORD, is_convex, region
from engrave.shop.cutters import Cutter
from engrave.shop.lid_values import Area, KeepOut
from engrave.shop.machines import Machine

LEAST_MARGIN = 5.0
"""mm from the flat's edge (common practice, no source): nearer, a line looks as if it were falling off."""

MARGIN_SHARE = 0.08
"""Of the lid's lesser side (common practice, no source): larger lids want wider margins."""

HOLDER_GAP = 3.0
"""mm kept between a turning holder and what stands proud (common practice, no source): chips, run-out, a skewed lid."""


SHANK = 3.175
"""mm: small bits stand on a shank of 1/8 in (common practice, no source), wider than what they cut."""

SHANK_GAP = 1.0
"""mm kept between a bit's shank and what stands proud (common practice, no source)."""


def flat(area: Area) -> BaseGeometry:
    """Return the flat of an area: its outline less the round-over or chamfer. mm, y down, the area's frame."""
    return within_sides(_inset(region(area.outline, REGION_CHORD), area.edge), area)


def within_sides(body: BaseGeometry, area: Area) -> BaseGeometry:
    """Return what of a region lies within the edges that single sides of an area have. mm, the area's frame."""
    top, right, bottom, left = area.edge_sides
    if not any(area.edge_sides):
        return body
    return body.intersection(box(left, top, area.width - right, area.height - bottom))


def room(area: Area, machine: Machine, cutter: Cutter | None = None) -> BaseGeometry:
    """Return where words may stand on an area when they are cut on a machine. mm, y down, the area's frame.

    Round what stands proud of the lid, the holder's (or a beam's head's) radius and HOLDER_GAP are kept clear as
    well, unless it is known to run above it: from `cutter.reach` for a bit, `machine.head_gap` for a beam. Then the
    bit's own shank is kept clear.
    """
    return _less_keep_outs(_inset(flat(area), margin(area)), area, lambda k: _distance(k, machine, cutter))


def room_of_lid(area: Area) -> BaseGeometry:
    """Return the room of an area before it is known which machine will cut it: no holder to keep clear."""
    return _less_keep_outs(_inset(flat(area), margin(area)), area, lambda k: k.clearance)


def margin(area: Area) -> float:
    """Return the margin in mm from the flat's edge; an area without one takes our rule."""
    if area.margin is not None:
        return area.margin
    return max(LEAST_MARGIN, MARGIN_SHARE * min(area.width, area.height))


def underside(machine: Machine, cutter: Cutter | None) -> float:
    """Return how high above the lid the holder's or head's underside stays, in mm; 0 where that is not known."""
    if machine.kind == "laser":
        return machine.head_gap
    return cutter.holder_above if cutter else 0.0


def _distance(keep: KeepOut, machine: Machine, cutter: Cutter | None) -> float:
    """Return how far words stay from a keep-out: its clearance; from a proud one also what turns beside it."""
    if keep.height <= 0:
        return keep.clearance
    if underside(machine, cutter) < keep.height + HOLDER_GAP:
        return max(keep.clearance, machine.holder_radius + HOLDER_GAP)
    if machine.kind == "laser" or cutter is None:
        return keep.clearance
    return max(keep.clearance, max(cutter.body_width, SHANK) / 2 + SHANK_GAP)


def _less_keep_outs(body: BaseGeometry, area: Area, distance: Callable[[KeepOut], float]) -> BaseGeometry:
    taken = [_grown(region(k.taken, REGION_CHORD), distance(k) + REGION_CHORD) for k in area.keep_outs]
    return body.difference(unary_union(taken)) if taken else body


def _inset(body: BaseGeometry, distance: float) -> BaseGeometry:
    """Return the region at least `distance` inside. Hollow corners make arcs: these, and chords there, err inwards."""
    if distance <= 0 or body.is_empty:
        return body
    if isinstance(body, Polygon) and is_convex(body):
        return body.buffer(-distance, join_style="mitre")
    steps = _steps(distance + REGION_CHORD)
    return body.buffer(-(distance + REGION_CHORD) / math.cos(math.pi / (4 * steps)), quad_segs=steps)


def _grown(body: BaseGeometry, distance: float) -> BaseGeometry:
    """Return everything within `distance`, arcs circumscribed."""
    steps = _steps(distance)
    return body.buffer(distance / math.cos(math.pi / (4 * steps)), quad_segs=steps)


def _steps(radius: float) -> int:
    """Return the chords of a quarter circle whose sagitta r (1 - cos(a/2)) stays within REGION_CHORD."""
    if radius <= REGION_CHORD:
        return 2
    return max(2, math.ceil((math.pi / 2) / (2 * math.acos(1 - REGION_CHORD / radius))))
