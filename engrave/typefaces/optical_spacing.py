"""Spacing by rule, for typefaces that have no kerning: letters moved by how open the white between them is.

The white between two letters is measured in level bands, as deep as the eye sees into a letter's side, and held
against the white between two stems. Such a rule agrees only in part with what a designer would do by eye, so only half
of what it asks is done, within narrow limits, and never in joined scripts. It is off unless it is asked for.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from shapely import MultiLineString, get_coordinates

from engrave.cache import Cache, CacheKind
from engrave.geometry.flattening import flatten
from engrave.typefaces.run import Glyph, Placed, Run

BANDS = 20
"""Bands to the cap height: finer changes nothing that can be seen."""
SEEN_DEPTH = 0.22
"""Cap heights that the eye sees into a side: about the half of a counter. A choice."""
MADE_GOOD = 0.5
"""Share of the difference that is made good: the rule is only half right."""
CLOSER, WIDER = 0.10, 0.03
"""Cap heights that a letter may be moved at most: an A under a V wants about 0.1."""
LEAST_WHITE = 0.08
"""Cap heights of white that are always left between two letters' ink."""
_FLAT = 0.01

SIDE_PROFILES: CacheKind[tuple[np.ndarray, np.ndarray]] = CacheKind("side profiles", 4096)


def evened(run: Run, stems: float, cache: Cache) -> Run:
    """Return a run with letters moved towards even white. stems: white between two stems, in cap heights."""
    moved = 0.0
    out: list[Placed] = []
    for one in run.placed:
        before = out[-1] if out else None
        if before is not None and before.start + len(before.text) == one.start:
            moved += _move(before, replace(one, x=one.x + moved), stems, cache)
        out.append(replace(one, x=one.x + moved))
    return replace(run, placed=tuple(out), advance=run.advance + moved)


def white_between(glyph: Glyph, cache: Cache) -> float:
    """Return the white between a letter and itself, set one after the other: of an n or an H, that of two stems."""
    left, right = _profile(glyph, cache)
    return _white(right, left, glyph.advance)[0]


def _move(before: Placed, after: Placed, stems: float, cache: Cache) -> float:
    """Return by how much the second letter is moved; 0 where both never share a band."""
    right = _profile(before.glyph, cache)[1] * before.scale
    left = _profile(after.glyph, cache)[0] * after.scale
    white, least = _white(right, left, after.x - before.x)
    if math.isinf(least):
        return 0.0
    asked = MADE_GOOD * (stems - white)
    return float(min(WIDER, max(-CLOSER, asked, LEAST_WHITE - least)) if asked < 0 else min(WIDER, asked))


def _white(right: np.ndarray, left: np.ndarray, apart: float) -> tuple[float, float]:
    """Return the mean white over the bands that either letter fills, seen no deeper than SEEN_DEPTH, and the least white."""
    edge, start = np.nanmax(right), np.nanmin(left)
    seen_right = np.maximum(np.where(np.isnan(right), -np.inf, right), edge - SEEN_DEPTH)
    seen_left = np.minimum(np.where(np.isnan(left), np.inf, left), start + SEEN_DEPTH)
    used = ~(np.isnan(right) & np.isnan(left))
    both = ~(np.isnan(right) | np.isnan(left))
    least = float(np.min((left - right)[both])) + apart if both.any() else math.inf
    return float(np.mean((seen_left - seen_right)[used])) + apart, least


def _profile(glyph: Glyph, cache: Cache) -> tuple[np.ndarray, np.ndarray]:
    return cache.get(SIDE_PROFILES, glyph, lambda: side_profile(glyph))


def side_profile(glyph: Glyph) -> tuple[np.ndarray, np.ndarray]:
    """Return a glyph's left and right edge in each band from half a cap height below the line to half above the caps."""
    lines = MultiLineString([flatten(c, _FLAT) for c in glyph.path]).segmentize(0.5 / BANDS)
    points = get_coordinates(lines)
    band = np.clip(((points[:, 1] + 0.5) * BANDS).astype(int), 0, 2 * BANDS - 1)
    left, right = np.full(2 * BANDS, np.inf), np.full(2 * BANDS, -np.inf)
    np.minimum.at(left, band, points[:, 0])
    np.maximum.at(right, band, points[:, 0])
    return np.where(np.isinf(left), np.nan, left), np.where(np.isinf(right), np.nan, right)
