"""Whether what a file draws for one glyph can be a letter at all: a damaged file draws anything."""

from __future__ import annotations

import math

from engrave.geometry.crossings import count_crossings
from engrave.geometry.flattening import flatten
from engrave.geometry.paths import Path
from engrave.limits import GLYPH_CROSSINGS, Limit

FARTHEST_CAPS = 100.0
"""Cap heights: no letter, swash or long dash reaches farther from its foot, and none is wider."""

FEW_NODES = 300
"""Nodes under which a glyph cannot cross itself so often that uniting it takes long."""

_FLAT_CAPS = 0.05
"""Cap heights: chords for counting crossings, which need no more than the way a line takes."""


class Unsound(ValueError):
    """A glyph that cannot be a letter; the message says why."""


def check_drawn(path: Path, nodes: Limit) -> None:
    """Raise Unsound for a path, in cap heights, that has no end, reaches too far, or is too much to be a letter."""
    count = sum(len(c.segments) for c in path)
    if nodes.passed(count):
        raise Unsound(f"{nodes.of}: {nodes.told(count)}")
    points = (p for c in path for p in (c.start, *(q for segment in c.segments for q in segment)))
    if not all(abs(v) <= FARTHEST_CAPS for p in points for v in p):  # nan is not, either
        raise Unsound(f"it reaches farther than {FARTHEST_CAPS:g} times the height of a capital")
    if count > FEW_NODES:
        crossings = count_crossings([flatten(c, _FLAT_CAPS) for c in path], GLYPH_CROSSINGS.most)
        if GLYPH_CROSSINGS.passed(crossings):
            raise Unsound(f"{GLYPH_CROSSINGS.of}: {GLYPH_CROSSINGS.told()}")


def check_advance(advance: float) -> None:
    """Raise Unsound for a width, in cap heights, that no letter has."""
    if not math.isfinite(advance) or abs(advance) > FARTHEST_CAPS:
        raise Unsound(f"it is wider than {FARTHEST_CAPS:g} times the height of a capital")
