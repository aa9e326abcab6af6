"""Words along the edge: each letter turned by itself on a curve inside the outline, spaced by arc length.

The curve runs through the letters a little below half their height. Spacing is kept there, so that feet draw together
where letters stand on the outside of a bend and heads where they stand inside; where two neighbours come nearer than
most of the gap they have in a straight line, they are set apart again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from engrave.geometry.arrays import Floats
from engrave.geometry.linear_program import solve
from engrave.geometry.regions import polygons
from engrave.setting.fit.prepared_room import edges
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.fields import ShapedField
from engrave.setting.text.glyph_shapes import glyph_shape
from engrave.typefaces import Placed
from engrave.typefaces.characters import JOINING, script_of

SPACING_HEIGHT = 0.4
"""Caps above the baseline where spacing is kept: at the feet heads would gape, at the heads feet would touch."""


DEEPEST_SHARE = 0.55
"""Share of the room's inner radius that a rim's letters may take: deeper, they stand like spokes."""

RIM_ROUNDNESS = 0.97
"""Share of its hull that an outline must fill to have a rim: a heart's cusp would throw letters about."""

ALONE_SHARE, TOGETHER_SHARE, AROUND_SHARE = 0.62, 0.42, 0.94
"""Shares of the way round that words take at most: alone they still read as standing upright, two keep apart from each
other, a message round a name may all but close (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class RimLetter:
    """Letters that turn together (a letter and its marks). middle: x of its cell's middle, in caps."""

    placed: tuple[Placed, ...]
    middle: float
    points: Floats


@dataclass(frozen=True, slots=True)
class RimBand:
    """A field's words in one line, ready for the rim. width: of the ink; top, bottom: how far it reaches, in caps."""

    shaped: ShapedField
    text: str
    letters: tuple[RimLetter, ...]
    width: float
    top: float
    bottom: float
    gaps: tuple[float, ...]


def has_rim(frame: ReadingFrame) -> bool:
    """Tell whether an area is round enough for words along its edge."""
    return bool(frame.outline.area >= RIM_ROUNDNESS * frame.outline.convex_hull.area)


@dataclass(frozen=True, eq=False)  # without slots: its radius is kept with it
class RimGround:
    """The room without regard to what lies inside it: its convex outline, outside of the rim's words."""

    outline: Polygon

    @cached_property
    def radius(self) -> float:
        """Radius of the largest circle inside the outline, in mm."""
        normals, offsets = edges(self.outline)
        found = solve(np.column_stack([normals, np.ones(len(normals))]), offsets)
        return float(found[2]) if found is not None else 0.0


def rim_ground(frame: ReadingFrame) -> RimGround | None:
    """Return the outside of the rim's words. None if there is none."""
    parts = polygons(frame.solving.shape)
    return RimGround(Polygon(parts[0].exterior).convex_hull) if parts else None


def rim_band(shaped: ShapedField) -> RimBand | None:
    """Return a field's words as one line for the rim; None if they leave no ink."""
    text = " ".join(shaped.text.split("\n"))
    run = shaped.typeface.shape(text, shaped.tracking)
    groups = [tuple(g) for _, g in groupby(run.placed, key=lambda p: p.start)]
    letters: list[RimLetter] = []
    for group in groups:
        shapes = [(p, m) for p in group if (m := glyph_shape(p.glyph))]
        if shapes:
            points = np.concatenate([m.hull * p.scale + (p.x, p.y) for p, m in shapes])
            low, high = points[:, 0].min(), points[:, 0].max()
            letters.append(RimLetter(tuple(p for p, _ in shapes), float(low + high) / 2, points))
    if not letters:
        return None
    every = np.concatenate([b.points for b in letters])
    low, high = every.min(axis=0), every.max(axis=0)
    gaps = tuple(_gap(a.points, b.points) for a, b in zip(letters[:-1], letters[1:], strict=True))
    shift = (low[0] + high[0]) / 2
    moved = tuple(
        RimLetter(tuple(replace(p, x=p.x - shift) for p in b.placed), b.middle - shift, b.points - (shift, 0))
        for b in letters
    )
    return RimBand(shaped, text, moved, float(high[0] - low[0]), float(high[1]), float(-low[1]), gaps)


def _gap(a: Floats, b: Floats) -> float:
    return float(shapely.distance(*hulls_of([a, b])))


def hulls_of(points: Sequence[Floats]) -> NDArray[np.object_]:
    """Return the convex hulls of several clouds of points at once."""
    index = np.repeat(np.arange(len(points)), [len(p) for p in points])
    return np.asarray(shapely.convex_hull(shapely.linestrings(np.concatenate(points), indices=index)))


def letters_join(shaped: ShapedField) -> bool:
    """Tell whether a field's letters touch by design: in joined typefaces, and in scripts that join."""
    return shaped.typeface.joined or any(script_of(c) in JOINING for c in shaped.text)


def rim_depth(of: RimBand, size: float) -> float:
    """Return how deep into the lid a band reaches, in mm."""
    return (of.top + of.bottom) * size


def deepest_cap(of: RimBand, outside: RimGround) -> float:
    """Return the greatest cap height in mm at which a band still looks like words along an edge."""
    return DEEPEST_SHARE * outside.radius / (of.top + of.bottom)


def estimated_cap(of: RimBand, outside: RimGround, share: float) -> float:
    """Return about how large a band comes out, without bending it.

    The curve at distance d inside a convex outline of length P is P - 2 pi d long (Steiner, 1840).
    """
    reach = of.top - SPACING_HEIGHT
    return float(share * outside.outline.length / (of.width + share * 2 * np.pi * reach))
