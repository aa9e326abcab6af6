"""Random words in single lines, grooves drawn on a fine grid of pixels: no thin wood is found there that is called ready.

Asked are two kinds of wood, told apart without the program's own measures: islands that grooves enclose, and strips between
grooves that go on at nearly one width. Sharp inside corners, which fill and do no harm, are neither.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import ndimage
from shapely import MultiLineString, get_coordinates
from skimage.morphology import skeletonize

from cutting.workbench import lid, tool, wood
from engrave.cutting import KeptMeasures, check
from engrave.geometry.paths import Contour, transformed
from engrave.geometry.regions import centre_lines
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.typefaces import Glyph, Shelf, load_shelf

DOTS = 20.0
"""Pixels in a mm: a width comes out within two of them, 0.1 mm."""

PAD = 3.0
"""mm of wood around the words: more than any least asked here, so that the picture's edge makes no strip."""

SURELY = 0.12
"""mm that wood must lack on pixels before the program must have said so."""

LONG = 0.15
"""Cap heights over which a strip goes on: three times as long as the least that counts."""

EVEN = 0.12
"""By how much a strip widens along it at most, as a share of its length: 3.4 degrees a side, where 6 count as a strip."""

SMALL = 0.13
"""Cap heights: an island in a ring no larger is the inside of a dot, which is meant to be filled."""

NAMES = (
    "Ægir",
    "Zoë",
    "Wilhelmina",
    "Bartholomew",
    "Philip",
    "Ruth",
    "Ottilie",
    "Xaver",
    "Jyväskylä",
    "Quentin",
    "Margaret",
    "Dagmar",
    "Friedrich",
    "Gwendolyn",
    "Hannah",
    "Åse",
    "Elisabeth",
    "Aoife",
    "Bridget",
    "Cormac",
    "Dermot",
    "Fionnuala",
    "1987",
    "2026",
    "RUTH",
    "HANNAH",
    "Mary&Tom",
    "Kilkenny",
    "Mississippi",
    "Oxford",
    "Barbara",
    "Eve",
)

SAYS_SO = {"web-too-thin", "loop-fills", "web-under-depth"}


@dataclass(frozen=True)
class Thin:
    """Wood thinner than it should be on pixels: what kind, how wide, and where (mm)."""

    kind: str
    width: float
    x: float
    y: float


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return load_shelf()


def words(shelf: Shelf, face: str, text: str, cap: float, groove: float) -> Lettering:
    placed = [p for p in shelf.get(face).shape(text).placed if p.glyph.path]
    marks = tuple(
        Mark(p.glyph, (cap * p.scale, 0.0, 0.0, -cap * p.scale, cap * p.x, -cap * p.y), p.text, 0) for p in placed
    )
    line = Line(text, "name", cap, 0.0, 0.0, joined=shelf.get(face).joined)
    return Lettering("single-line", "stack", marks, (line,), groove)


def thin_on_pixels(lettering: Lettering, least: float) -> list[Thin]:
    """Return islands and strips that are surely thinner than `least` mm."""
    cap = lettering.cap_mm
    lines = MultiLineString([line for mark in lettering.marks for line in centre_lines(mark.path(), 0.002).geoms])
    left, corner = _left(lines, lettering.groove)
    away = ndimage.distance_transform_edt(left)
    return [*_islands(left, away, corner, least, cap, lettering.groove), *_strips(left, away, corner, least, cap)]


def _left(lines: MultiLineString, groove: float) -> tuple[NDArray[np.bool_], tuple[float, float]]:
    points = get_coordinates(lines.segmentize(0.3 / DOTS))
    margin = PAD + groove / 2.0
    corner = points.min(axis=0) - margin
    wide, high = np.ceil((np.ptp(points, axis=0) + 2.0 * margin) * DOTS).astype(int)
    free = np.ones((high + 1, wide + 1), dtype=bool)
    column, row = np.rint((points - corner) * DOTS).astype(int).T
    free[row, column] = False
    left = ndimage.distance_transform_edt(free) > groove / 2.0 * DOTS
    return left, (float(corner[0]), float(corner[1]))


def _islands(left, away, corner, least, cap, groove):  # type: ignore[no-untyped-def]
    labels = ndimage.label(left)[0]
    for k, box in enumerate(ndimage.find_objects(labels), 1):
        if k == labels[0, 0]:
            continue
        inside = np.where(labels[box] == k, away[box], 0.0)
        width = 2.0 * float(inside.max()) / DOTS
        long = max(box[0].stop - box[0].start, box[1].stop - box[1].start) / DOTS
        if long + groove <= (SMALL + 0.02) * cap or width < 4.0 / DOTS or width > least - SURELY:
            continue
        i, j = np.unravel_index(int(inside.argmax()), inside.shape)
        yield Thin("island", width, corner[0] + (box[1].start + j) / DOTS, corner[1] + (box[0].start + i) / DOTS)


def _strips(left, away, corner, least, cap):  # type: ignore[no-untyped-def]
    middle = skeletonize(left) & (2.0 * away / DOTS < least - SURELY) & (away > 3.0)
    labels = ndimage.label(middle, np.ones((3, 3)))[0]
    for k, box in enumerate(ndimage.find_objects(labels), 1):
        places = np.argwhere(labels[box] == k)
        widths = 2.0 * away[box][labels[box] == k] / DOTS
        long = math.dist(places.min(axis=0), places.max(axis=0)) / DOTS
        if long < LONG * cap or len(places) > 1.6 * long * DOTS:  # branched: a knot of corners, no strip
            continue
        if float(np.percentile(widths, 95) - np.percentile(widths, 5)) > EVEN * long:
            continue
        i, j = places[int(widths.argmin())]
        yield Thin(
            "strip",
            float(widths.min()),
            corner[0] + (box[1].start + j) / DOTS,
            corner[1] + (box[0].start + i) / DOTS,
        )


def not_said(shelf: Shelf, seed: int) -> tuple[int, str]:
    """Return how much thin wood a random piece has on pixels, and what is wrong with the verdict on it, '' if nothing."""
    random = np.random.default_rng(seed)
    faces = sorted(i for i, kind in shelf.kinds().items() if kind == "single-line")
    face, text = str(random.choice(faces)), str(random.choice(NAMES))
    cap, groove = float(random.uniform(6.0, 18.0)), float(random.uniform(0.3, 2.0))
    least = float(random.uniform(0.6, 2.0))
    lettering = words(shelf, face, text, cap, groove)
    found = thin_on_pixels(lettering, least)
    if not found:
        return 0, ""
    told = check(lettering, tool(groove, "follow"), wood(least, least), lid(), KeptMeasures(None))
    if SAYS_SO & {p.code for p in told.problems if p.level != "note"}:
        return len(found), ""
    return len(found), f"{seed}: {text} in {face}, {cap:.2f} mm, groove {groove:.3f}, least {least:.3f}: {found[:3]}"


@pytest.mark.source("scipy.ndimage and skimage: labels, exact distances and skeletons on pixels")
@pytest.mark.parametrize(
    "seeds", [range(8), pytest.param(range(8, 100), marks=pytest.mark.slow), pytest.param(range(100, 200), marks=pytest.mark.slow)],
    ids=["8", "92", "100"],
)  # fmt: skip
def test_no_thin_wood_between_single_lines_is_ready(shelf: Shelf, seeds: range) -> None:
    found = [not_said(shelf, seed) for seed in seeds]
    assert [says for _, says in found if says] == []
    assert sum(1 for many, _ in found if many) >= len(seeds) // 8  # or nothing was asked


def test_pixels_find_the_strip_and_the_island(shelf: Shelf) -> None:
    """Two stems side by side, nearly a groove apart, and the eye of an e that is nearly filled."""
    tall = words(shelf, "hershey-sans", "ll", 12.0, 0.6)
    at = sorted(x for mark in tall.marks for x, _ in get_coordinates(centre_lines(mark.path(), 0.01)).tolist())
    close = at[-1] - at[0]
    tall = words(shelf, "hershey-sans", "ll", 12.0, close - 0.4)
    assert "strip" in {t.kind for t in thin_on_pixels(tall, 0.7)}
    assert not thin_on_pixels(words(shelf, "hershey-sans", "ll", 12.0, close - 0.9), 0.7)
    assert "island" in {t.kind for t in thin_on_pixels(words(shelf, "hershey-sans", "e", 10.0, 1.2), 3.0)}


@pytest.mark.parametrize("face", ["hershey-script", "ems-allure"])
def test_letters_that_are_joined_by_design_are_joined_though_their_ends_just_miss(shelf: Shelf, face: str) -> None:
    """An end misses the next letter by 0.0004 to 0.06 capitals: that was a loop that fills, and each word was on hold."""
    between = {}
    for text in ("Illili", "Vivienne", "Wilhelmina", "Hjalmar", "dinner"):
        told = check(
            words(shelf, face, text, 18.0, 0.9), tool(0.9, "follow"), wood(0.6, 0.6), lid(), KeptMeasures(None)
        )
        between[text] = [p.where for p in told.problems if p.code == "loop-fills" and p.where.startswith("between")]
    assert not any(between.values())


def test_letters_that_are_not_joined_may_not_run_into_one_another(shelf: Shelf) -> None:
    """The same lines, were they of a typeface whose letters stand apart."""
    apart = words(shelf, "hershey-script", "Illili", 18.0, 0.9)
    apart = replace(apart, lines=tuple(replace(line, joined=False) for line in apart.lines))
    told = check(apart, tool(0.9, "follow"), wood(0.6, 0.6), lid(), KeptMeasures(None))
    assert any(p.code == "loop-fills" and p.where.startswith("between") for p in told.problems)


@pytest.mark.parametrize(("dot", "thin"), [(2.35, True), (2.7, False)])
def test_wood_between_a_stem_and_its_dot_is_wood(dot: float, thin: bool) -> None:
    """Two round ends 0.35 mm apart leave an isthmus too short for a strip; it breaks out all the same."""
    stem = Contour((0.0, 0.0), (((0.0, 10.0),),), False)
    over = Contour((0.0, 10.0 + dot), (((0.001, 10.0 + dot),),), False)
    glyph = Glyph("test/i", "single-line", transformed((stem, over), (0.08, 0.0, 0.0, 0.08, 0.0, 0.0)), 0.4)
    mark = Mark(glyph, (12.5, 0.0, 0.0, -12.5, 0.0, 0.0), "i", 0)
    laid = Lettering("single-line", "stack", (mark,), (Line("i", "name", 12.5, 0.0, 0.0),), 2.0)
    told = check(laid, tool(2.0, "follow"), wood(0.6, 0.6), lid(), KeptMeasures(None))
    assert any(p.code == "web-too-thin" for p in told.problems) is thin
