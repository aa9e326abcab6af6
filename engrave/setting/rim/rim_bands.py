"""Words along the edge: each letter turned by itself on a curve inside the outline, spaced by arc length.

The curve runs through the letters a little below half their height. Spacing is kept there, so that feet draw together
where letters stand on the outside of a bend and heads where they stand inside; where two neighbours come nearer than
most of the gap they have in a straight line, they are set apart again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby, pairwise

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

UPRIGHT_SHARE, ALONE_SHARE, TOGETHER_SHARE, AROUND_SHARE = 0.5, 0.62, 0.42, 0.94
"""Shares of the way round that words take at most: alone half, beyond which letters hang head down, or a little more where
they could not be read otherwise; two keep apart from each other, a message round a name may all but close (common practice,
no source)."""

SIDE_LENGTH, SIDED_SHARE = 0.4, 0.4
"""A side is straight where it is longer than this share of the inner radius, and an outline has sides where so much of it
is straight: a rectangle or an octagon, not a circle cut back behind a hinge."""

OVAL_SAMPLES = 360
"""Corners of the oval inside an outline with sides: a letter's turn is a few degrees, a chord's one."""

LEAST_SWEEP = 0.25
"""Share of the way round to which short words are spaced out, a quarter: a shorter arc looks like a slip (our eye, no
source)."""

NOTCH_SHARE = 1e-4
"""Share of a room below which a bay in its outline is none: rounding."""

NOTCH_DIRECTIONS = 16
"""Directions in which an outline is cut back to leave out a hinge or a clasp: every 22.5 degrees."""

WORD_SHIFT = 0.25
"""Caps by which a space between words is made wider or narrower at most, to be even with the others."""

WHITE_HEIGHT, WHITE_SAMPLES = 0.65, 9
"""Caps up to which the white between two words is measured, and at how many heights."""


@dataclass(frozen=True, slots=True)
class RimLetter:
    """Letters that turn together (a letter and its marks). middle: x of its cell's middle, in caps."""

    placed: tuple[Placed, ...]
    middle: float
    points: Floats


@dataclass(frozen=True, slots=True)
class RimBand:
    """A field's words in one line, ready for the rim. width: of the ink; top, bottom: how far it reaches, in caps.

    gaps: how far each letter stands from the next; words: whether a word ends there.
    """

    shaped: ShapedField
    text: str
    letters: tuple[RimLetter, ...]
    width: float
    top: float
    bottom: float
    gaps: tuple[float, ...]
    words: tuple[bool, ...] = ()


def has_rim(frame: ReadingFrame) -> bool:
    """Tell whether an area is round enough for words along its edge."""
    return bool(frame.outline.area >= RIM_ROUNDNESS * frame.outline.convex_hull.area)


@dataclass(frozen=True, eq=False)  # without slots: its radius is kept with it
class RimGround:
    """The room without regard to what lies inside it: its convex outline, outside of the rim's words.

    spread: share of the way round to which short words are spaced out.
    """

    outline: Polygon
    spread: float = LEAST_SWEEP

    @cached_property
    def radius(self) -> float:
        """Radius of the largest circle inside the outline, in mm."""
        normals, offsets = edges(self.outline)
        found = solve(np.column_stack([normals, np.ones(len(normals))]), offsets)
        return float(found[2]) if found is not None else 0.0

    @cached_property
    def has_sides(self) -> bool:
        """Tell whether much of the outline is straight sides, at whose corners letters would fall over."""
        lengths = np.hypot(*np.diff(np.asarray(self.outline.exterior.coords), axis=0).T)
        return bool(lengths[lengths > SIDE_LENGTH * self.radius].sum() > SIDED_SHARE * lengths.sum())

    @cached_property
    def _halves(self) -> Floats:
        """Half the width and height of the oval."""
        middle = np.asarray(self.outline.centroid.coords[0])
        left, low, right, high = self.outline.bounds
        half = np.array([min(middle[0] - left, right - middle[0]), min(middle[1] - low, high - middle[1])])
        normals, offsets = edges(self.outline)
        most = float(((offsets - normals @ middle) / np.hypot(*(normals * half).T)).min())
        return np.asarray(most * half)

    @cached_property
    def oval(self) -> Polygon:
        """The upright ellipse about the outline's middle that touches it, as wide to high as the outline about it."""
        turns = np.linspace(0.0, 2.0 * np.pi, OVAL_SAMPLES, endpoint=False)
        around = self._halves * np.column_stack([np.cos(turns), np.sin(turns)])
        return Polygon(np.asarray(self.outline.centroid.coords[0]) + around)

    @property
    def crown(self) -> float:
        """Radius of the oval's bend at its top, in mm."""
        return float(self._halves[0] ** 2 / self._halves[1])


def rim_ground(frame: ReadingFrame) -> RimGround | None:
    """Return the outside of the rim's words. None if there is none."""
    parts = polygons(frame.solving.shape)
    return RimGround(Polygon(parts[0].exterior).convex_hull) if parts else None


def behind_fittings(outside: RimGround, frame: ReadingFrame) -> RimGround | None:
    """Return the outline cut back straight behind each hinge and clasp at its edge; None if there is none or little left."""
    left = outside.outline
    bays = outside.outline.difference(Polygon(max(polygons(frame.solving.shape), key=lambda p: p.area).exterior))
    for bay in polygons(bays):
        if bay.area > NOTCH_SHARE * outside.outline.area:
            left = max((_cut_back(left, bay, k) for k in range(NOTCH_DIRECTIONS)), key=lambda p: float(p.area))
    whole = left.equals(outside.outline) or not isinstance(left, Polygon) or left.is_empty
    return None if whole else RimGround(left)


def _cut_back(outline: Polygon, bay: Polygon, direction: int) -> Polygon:
    """Return the part of an outline on the near side of a bay, seen in one of the directions."""
    turn = 2 * np.pi * direction / NOTCH_DIRECTIONS
    n, along = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    limit = float((np.asarray(bay.exterior.coords) @ n).min())
    far = 2 * float(np.hypot(*np.ptp(np.asarray(outline.exterior.coords), axis=0))) + abs(limit)
    edge = n * limit
    return outline.intersection(
        Polygon(
            [edge + along * far, edge - along * far, edge - along * far - n * 2 * far, edge + along * far - n * 2 * far]
        )
    )


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
    words = tuple(_parts_words(text, a, b) for a, b in pairwise(letters))
    letters = _evenly_parted(letters, words)
    every = np.concatenate([b.points for b in letters])
    low, high = every.min(axis=0), every.max(axis=0)
    gaps = tuple(_gap(a.points, b.points) for a, b in zip(letters[:-1], letters[1:], strict=True))
    shift = (low[0] + high[0]) / 2
    moved = tuple(_shifted(b, -float(shift)) for b in letters)
    return RimBand(shaped, text, moved, float(high[0] - low[0]), float(high[1]), float(-low[1]), gaps, words)


def _shifted(letter: RimLetter, by: float) -> RimLetter:
    placed = tuple(replace(p, x=p.x + by) for p in letter.placed)
    return RimLetter(placed, letter.middle + by, letter.points + (by, 0))


def _parts_words(text: str, a: RimLetter, b: RimLetter) -> bool:
    """Tell whether a space stands between two letters."""
    first, last = sorted((a.placed[0].start, b.placed[0].start))
    return any(c.isspace() for c in text[first:last])


def _evenly_parted(letters: list[RimLetter], words: Sequence[bool]) -> list[RimLetter]:
    """Return the letters with words parted by as much white each, whatever the shapes at their ends.

    A space after a T and before an A looks wider than one between an H and an E; on a bend the eye compares them.
    """
    white = [word_white(a, b) for a, b in pairwise(letters)]
    between = [w for w, ends in zip(white, words, strict=True) if ends]
    out, by = letters[:1], 0.0
    for letter, own, ends in zip(letters[1:], white, words, strict=True):
        if ends:
            lacks = sum(between) / len(between) - own
            by += min(max(lacks, -WORD_SHIFT), WORD_SHIFT)
        out.append(_shifted(letter, by))
    return out


def word_white(a: RimLetter, b: RimLetter) -> float:
    """Return the mean distance of two neighbours over the height of small letters, in caps, no more than one each."""
    heights = np.linspace(0.05, WHITE_HEIGHT, WHITE_SAMPLES)
    right, left = (_edge(points, heights, sign) for points, sign in ((a.points, 1.0), (b.points, -1.0)))
    return float(np.minimum(left - right, 1.0).mean())


def _edge(points: Floats, heights: Floats, sign: float) -> Floats:
    """Return how far a convex shape reaches to the right (1) or left (-1) at heights; beyond it, at its nearest end."""
    ring = np.concatenate([points, points[:1]])
    a, b = ring[:-1], ring[1:]
    at = np.clip(heights, points[:, 1].min(), points[:, 1].max())[:, None]
    rise = b[:, 1] - a[:, 1]
    share = np.clip((at - a[:, 1]) / np.where(abs(rise) < 1e-9, 1.0, rise), 0.0, 1.0)
    meets = (np.minimum(a[:, 1], b[:, 1]) <= at + 1e-9) & (at - 1e-9 <= np.maximum(a[:, 1], b[:, 1]))
    x = a[:, 0] + share * (b[:, 0] - a[:, 0])
    return np.asarray(sign * np.where(meets, sign * x, -np.inf).max(axis=1))


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
