"""Whether letters are what a round pen draws: the union of circles of one radius, wherever these stand.

The distance to the edge of such an area has no peak lower than that radius: from any place in it a way leads to the middle of
a circle and never comes nearer to the edge. What is worn away from the edge, less deep than that, stays in one piece with
some circle's middle.
"""

from __future__ import annotations

import shapely

from engrave.cache import Cache, CacheKind
from engrave.geometry.regions import region
from engrave.setting.lettering import NO_LINE, Lettering
from engrave.typefaces.run import Glyph

PEN_DRAWN: CacheKind[bool] = CacheKind("glyphs of a round pen", 2048)
"""Several typefaces, every letter, at a weight or two."""

SURE_SHARE = 0.9
"""Share of the pen's radius that letters are asked for: their curves and chords are not quite the pen's."""

ROUND_SLACK = 0.03
"""Share of the pen's radius by which an edge may stand out of circles of that share: corners of chords do."""

PEN_EDGE_CHORD = 0.0003
"""Cap heights that chords may stand off a letter's outline."""

SHARE_DIGITS = 6
"""Decimals of a cap height by which weights are told apart."""


def pen_radius(lettering: Lettering, weight: float, cache: Cache) -> float:
    """Return the mm down to which all letters of a weight (mm) are surely a round pen's; 0 where one of them is not."""
    for mark in lettering.marks:
        if not mark.glyph.path:
            continue
        line = lettering.lines[mark.line] if mark.line != NO_LINE else None
        if line is None or line.weight <= 0.0 or not _of_pen(mark.glyph, line.weight / mark.cap_mm, cache):
            return 0.0
    return (SURE_SHARE - ROUND_SLACK) * weight / 2.0


def _of_pen(letter: Glyph, share: float, cache: Cache) -> bool:
    """Tell whether a glyph is drawn with a pen `share` cap heights wide."""
    told = round(share, SHARE_DIGITS)
    return cache.get(PEN_DRAWN, (letter.key, told), lambda: _is_covered(letter, told / 2.0))


def _is_covered(letter: Glyph, radius: float) -> bool:
    """Tell whether circles somewhat smaller than the pen's that lie within a glyph reach all of it, but for a hair."""
    area = region(letter.path, PEN_EDGE_CHORD)
    middles = area.buffer(-SURE_SHARE * radius)
    return bool(shapely.covers(middles.buffer((SURE_SHARE + ROUND_SLACK) * radius), area))
