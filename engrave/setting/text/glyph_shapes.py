"""What setting needs to know of a glyph: outlines, hull, silhouette and the middle of its ink, in cap heights."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from engrave.geometry.arrays import Floats
from engrave.geometry.flattening import flatten_all
from engrave.setting.text.silhouettes import Feet, letter_slices
from engrave.typefaces import Glyph, Placed

OUTLINE_CHORD = 0.0001
"""Cap heights that chords may stand off a letter's curve when it is placed: 1 micrometre on a letter of 10 mm."""

GAP_CHORD = 0.002
"""Cap heights likewise for gaps between lines, where a fiftieth of a millimetre decides nothing."""

CHORD_CORNERS = np.array(
    [(-GAP_CHORD, -GAP_CHORD), (-GAP_CHORD, GAP_CHORD), (GAP_CHORD, -GAP_CHORD), (GAP_CHORD, GAP_CHORD)]
)
"""Corners of a square that, moved along chords within GAP_CHORD of a curve, covers it."""

GLYPHS_KEPT = 2000
"""Glyphs whose measures are kept: every letter of a shelf of typefaces that a week uses."""


@dataclass(frozen=True, slots=True, eq=False)
class GlyphShape:
    """What setting needs of a glyph, in caps. outlines: contours, (n, 2) each. hull: (n, 2) corners; rough: fewer corners around them.

    slices: tops and bottoms (see `silhouettes`).
    """

    outlines: tuple[Floats, ...]
    hull: Floats
    rough: Floats
    slices: Floats


_measures: OrderedDict[str, GlyphShape] = OrderedDict()


def glyph_shape(glyph: Glyph) -> GlyphShape | None:
    """Return a glyph's measures, kept by its key; None if it draws nothing."""
    if not glyph.path:
        return None
    found = _measures.get(glyph.key)
    if found is None:
        found = _measures[glyph.key] = _measured(glyph)
        if len(_measures) > GLYPHS_KEPT:
            _measures.popitem(last=False)
    return found


def _measured(glyph: Glyph) -> GlyphShape:
    outlines = tuple(o if len(o) > 1 else np.repeat(o, 2, axis=0) for o in flatten_all(glyph.path, OUTLINE_CHORD))
    rough = flatten_all(glyph.path, GAP_CHORD)
    hull = hull_corners(np.concatenate(outlines))
    around = hull_corners(np.concatenate([np.concatenate(rough) + corner for corner in CHORD_CORNERS]))
    return GlyphShape(
        outlines,
        hull,
        around,
        letter_slices([r if len(r) > 1 else np.repeat(r, 2, axis=0) for r in rough]),
    )


def hull_corners(points: Floats) -> Floats:
    """Return the corners of the convex hull, turning left from the leftmost."""
    hull = shapely.convex_hull(shapely.linestrings(np.concatenate([points, points[:1]])))
    if hull.geom_type != "Polygon":
        ends = np.asarray(hull.coords)
        return ends[np.lexsort((ends[:, 1], ends[:, 0]))]
    ring = np.asarray(hull.exterior.coords)[:-1]
    if not hull.exterior.is_ccw:
        ring = ring[::-1]
    return np.roll(ring, -int(np.lexsort((ring[:, 1], ring[:, 0]))[0]), axis=0)


def hull_of(placed: Sequence[Placed], rough: bool = False) -> Floats | None:
    """Return the hull corners of placed glyphs together, in caps; None if they draw nothing."""
    measures = [(p, m) for p in placed if (m := glyph_shape(p.glyph))]
    points = [(m.rough if rough else m.hull) * p.scale + (p.x, p.y) for p, m in measures]
    return hull_corners(np.concatenate(points)) if points else None


def ink_middle(glyphs: Sequence[Placed]) -> float:
    """Return the middle of placed glyphs' ink, in caps."""
    hull = hull_of(glyphs)
    return float(hull[:, 0].min() + hull[:, 0].max()) / 2 if hull is not None else 0.0


def feet_of(placed: Sequence[Placed]) -> Feet:
    """Return the feet of placed glyphs that draw something."""
    measures = [(p, m.hull) for p in placed if (m := glyph_shape(p.glyph))]
    return tuple(
        (float(np.ptp(hull[:, 0])) * p.scale, -float(hull[:, 1].min()) * p.scale - p.y) for p, hull in measures
    )
