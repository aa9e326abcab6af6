"""Single lines given a width: each stroke as the outline of a round pen, corners, crossings and joins one area.

Lettering standards draw strokes at a fourteenth to a tenth of the capitals' height (ISO 3098-1, types A and B). Centre
lines stay where they are, so letters stand as far apart as before and their capitals stay as high from line to line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from shapely import MultiLineString, maximum_inscribed_circle
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache, CacheKind
from engrave.geometry.paths import Path, polygon_path
from engrave.geometry.regions import centre_lines, polygons, region
from engrave.problems import Problem
from engrave.typefaces.contours.outline_union import stroked
from engrave.typefaces.derived import Derived
from engrave.typefaces.letter_form import LetterForm, glyph
from engrave.typefaces.run import Glyph, Run, Typeface, TypefaceKind

OPEN_LOOP, SLIT = 0.5, 0.2
"""A loop stays open by so much of the line's width, or else by what thinner lines leave of it; under the second it is a
knot, and is filled (a choice: narrower slits char over, and are not seen)."""

THINNEST_SIDE = 0.3
"""Share of its weight down to which a line gives way on the inner side of a small loop; below, the loop closes."""

DOT_ACROSS, DOT_ROUND = 0.15, 1.5
"""Cap heights across, and times as long as wide, up to which a loop is a dot drawn as a ring: a pen fills it."""

PEN_CHORD = 0.0003
"""Cap heights that chords may stand off a line or its pen's edge: 3 micrometres on letters of 10 mm."""

PEN_ARC_CHORDS, ROUGH_ARC_CHORDS = 16, 6
"""Chords a quarter circle of the pen, 0.12 % of its radius off at most; and where loops are only looked for."""

SAME_OUTLINE = 0.002
"""Share of an area by which curves may differ from chords of it: more means that their union went wrong."""


@dataclass(frozen=True, slots=True)
class _Weighed:
    """A glyph with its weight. gave: its lines are thinner round a small loop."""

    glyph: Glyph
    gave: bool


WEIGHTED_GLYPHS: CacheKind[_Weighed] = CacheKind("weighted glyphs", 2048)
"""Several typefaces, every letter."""


@dataclass(frozen=True, slots=True)
class Weighted(Derived):
    """A single-line typeface whose lines are `share` cap heights wide: what it gives are outlines."""

    share: float
    cache: Cache = field(default_factory=Cache, repr=False, compare=False)

    @property
    def kind(self) -> TypefaceKind:
        """Outline: a line with a width is an area."""
        return "outline"

    @property
    def x_height(self) -> float:
        """Height of the small letters from line to line, in cap heights."""
        return self.drawn.x_height

    def shape(self, text: str, tracking: float = 0.0) -> Run:
        """Shape one line of words; tracking in cap heights is added between letters.

        Problem: 'weight-gives-way' (note) where lines are thinner round a small loop.
        """
        run = self.drawn.shape(text, tracking)
        weighed = [_weighed(p.glyph, self.share / p.scale, self.cache) for p in run.placed]
        placed = tuple(replace(p, glyph=w.glyph) for p, w in zip(run.placed, weighed, strict=True))
        gave = [p.text for p, w in zip(run.placed, weighed, strict=True) if w.gave and p.text.strip()]
        return replace(run, placed=placed, problems=(*run.problems, *_gives_way(gave)))


def weighted(typeface: Typeface, share: float, cache: Cache | None = None) -> Typeface:
    """Return the typeface with lines `share` cap heights wide; as it is if its letters have a body, or for 0."""
    is_single = typeface.kind == "single-line"
    return Weighted(typeface, share, cache or Cache()) if share > 0.0 and is_single else typeface


def _gives_way(letters: Sequence[str]) -> Iterator[Problem]:
    if letters:
        named = ", ".join(f"'{letter}'" for letter in dict.fromkeys(letters))
        says = f"In {named} the lines are a little thinner round small loops, so that these stay open."
        yield Problem("weight-gives-way", "note", says)


def _weighed(drawn: Glyph, share: float, cache: Cache) -> _Weighed:
    return cache.get(WEIGHTED_GLYPHS, (drawn.key, share), lambda: _with_weight(drawn, share))


def _with_weight(drawn: Glyph, share: float) -> _Weighed:
    if not drawn.path or drawn.kind == "outline":
        return _Weighed(drawn, False)
    typeface, name, _ = drawn.key.split("/", 2)
    lines = centre_lines(drawn.path, PEN_CHORD)
    area = lines.buffer(share / 2.0, quad_segs=PEN_ARC_CHORDS)
    kept_open = list(_opened(lines, share))
    path = _outline(drawn.path, share, area, kept_open)
    return _Weighed(
        glyph(typeface, f"{name}+line {share:g}", "outline", LetterForm(path, drawn.advance)), bool(kept_open)
    )


def _opened(lines: MultiLineString, share: float) -> Iterator[BaseGeometry]:
    """Yield what is taken off the lines' area so that a small loop stays open.

    A loop is sought where the lines are as thin as they may become; as they grow by h, its largest circle shrinks by h.
    """
    thin = THINNEST_SIDE * share / 2.0
    for part in polygons(lines.buffer(thin, quad_segs=ROUGH_ARC_CHORDS)):
        for ring in part.interiors:
            loop = region((polygon_path(list(ring.coords)[:-1]),), PEN_CHORD)
            radius = float(maximum_inscribed_circle(loop).length)
            grows = max(0.0, radius - OPEN_LOOP * share / 2.0)
            if radius >= SLIT * share / 2.0 and grows < share / 2.0 - thin and not _is_dot(loop, thin):
                yield loop.buffer(-grows, quad_segs=PEN_ARC_CHORDS)


def _is_dot(loop: BaseGeometry, thin: float) -> bool:
    low_x, low_y, high_x, high_y = loop.bounds
    short, long = sorted((high_x - low_x + 2.0 * thin, high_y - low_y + 2.0 * thin))
    return bool(long <= DOT_ACROSS and long <= DOT_ROUND * short)


def _outline(drawn: Path, share: float, area: BaseGeometry, kept_open: Sequence[BaseGeometry]) -> Path:
    """Return the outline of the area: in curves where it is the pen's and these come out right, else in chords."""
    if not kept_open:
        found = stroked(drawn, share)
        if region(found, PEN_CHORD).symmetric_difference(area).area <= SAME_OUTLINE * area.area:
            return found
    for loop in kept_open:
        area = area.difference(loop)
    out = []
    for part in polygons(area.simplify(PEN_CHORD)):
        for ring, turn in ((part.exterior, True), *((hole, False) for hole in part.interiors)):
            points = list(ring.coords)[:-1]
            out.append(polygon_path(points if ring.is_ccw == turn else points[::-1]))
    return tuple(out)
