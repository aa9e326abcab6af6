"""What a round bit leaves, against an independent raster opening; and what must hold of any shape."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity, union_all
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from skimage.draw import polygon
from skimage.morphology import disk, opening

from cutting.workbench import lid, region_lettering, tool, wood
from engrave.cutting import KeptMeasures, check
from engrave.cutting.effect.opening import CORNER, open_by
from engrave.cutting.measure.components import glyph_shape
from engrave.cutting.measure.glyphs import measure_region
from engrave.geometry.regions import polygons
from engrave.typefaces import Shelf, load_shelf

DOTS = 40
"""Pixels to the mm: a disc of 0.5 mm is 20 across, so its edge is known to about 5 %."""

SHELF = load_shelf(None)

WORDS = [
    ("Maren", "vollkorn"), ("Idris", "gfs-didot"), ("Wanda", "roboto-slab"), ("Ågot", "noto-sans"), ("José", "linux-libertine"),
    ("Zoë & Li", "quicksand"), ("Hannah", "dancing-script"), ("Ferry", "great-vibes"), ("1924", "gfs-didot"), ("Łucja", "vollkorn"),
    ("Möwe", "blankenburg"), ("tide", "saira-stencil"),
]  # fmt: skip


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return SHELF


def word_shape(shelf: Shelf, word: str, face: str, cap: float) -> BaseGeometry:
    """A word's letters as one region, in mm."""
    letters = []
    for p in shelf.get(face).shape(word).placed:
        if p.glyph.path:
            size = cap * p.scale
            letters.append(
                affinity.affine_transform(glyph_shape(p.glyph, False), [size, 0, 0, size, cap * p.x, cap * p.y])
            )
    return union_all(letters)


def raster(shape: BaseGeometry) -> np.ndarray:
    """The shape in pixels, true where it covers their middles."""
    x0, y0, x1, y1 = shape.bounds
    image = np.zeros((int((y1 - y0 + 2) * DOTS), int((x1 - x0 + 2) * DOTS)), dtype=bool)
    for part in polygons(shape):
        for ring, ink in ((part.exterior, True), *((r, False) for r in part.interiors)):
            at = (np.asarray(ring.coords) - (x0, y0) + 1.0) * DOTS - 0.5
            image[polygon(at[:, 1], at[:, 0], image.shape)] = ink
    return image


@pytest.mark.source("scikit-image, opening by a disc; Serra, Image Analysis and Mathematical Morphology, 1982")
@pytest.mark.parametrize(("word", "face"), WORDS, ids=[w for w, _ in WORDS])
def test_opening_against_pixels(shelf: Shelf, word: str, face: str) -> None:
    """Morphological opening by a disc, scikit-image's on pixels and ours on polygons (Serra 1982)."""
    shape = word_shape(shelf, word, face, 9.0)
    ours = open_by(shape, 0.5, 0.0).cut
    theirs = opening(raster(shape), disk(int(0.25 * DOTS)))
    share = theirs.sum() / raster(shape).sum()
    assert ours.area / shape.area == pytest.approx(share, abs=0.02)
    # pixels that both call cut: all but a rim of the shapes, a pixel or so wide
    x0, y0, _, _ = shape.bounds
    rows, columns = np.nonzero(theirs)
    at = shapely.points(columns / DOTS + x0 - 1, rows / DOTS + y0 - 1)
    if len(at):
        near = ours.buffer(2.5 / DOTS)
        shapely.prepare(near)
        assert float(np.mean(shapely.contains(near, at))) > 0.98


@pytest.mark.source("Serra, Image Analysis and Mathematical Morphology, 1982: granulometries")
@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from("aegknRSW8&"),
    st.sampled_from(["vollkorn", "gfs-didot", "roboto-slab"]),
    st.floats(0.02, 0.3),
    st.floats(1.05, 3.0),
)
def test_a_larger_disc_leaves_no_more(letter: str, face: str, small: float, times: float) -> None:
    """Openings by growing discs shrink (Serra 1982, granulometries); a hair is left to chords."""
    shape = word_shape(SHELF, letter, face, 1.0)
    one, two = open_by(shape, small, 0.0).cut, open_by(shape, small * times, 0.0).cut
    assert two.area <= one.area * (1 + 1e-3) + 1e-6


@settings(max_examples=15, deadline=None)
@given(st.sampled_from("aegknRSW8&"), st.sampled_from(["vollkorn", "roboto-slab"]), st.floats(0.3, 4.0))
def test_measures_grow_with_the_letters(letter: str, face: str, times: float) -> None:
    """Set at twice the height, a word's thinnest stroke and web are twice as wide and in the same place of it."""
    shape = word_shape(SHELF, letter, face, 10.0)
    small, large = (
        check(
            region_lettering([(letter, affinity.scale(shape, k, k, origin=(0, 0)))], 10.0 * k),
            tool(0.01),
            wood(),
            lid(),
            KeptMeasures(None),
        )
        for k in (1.0, times)
    )
    assert small.stroke is not None
    assert large.stroke is not None
    assert large.stroke.width == pytest.approx(times * small.stroke.width, rel=2e-3)
    assert (small.web is None) == (large.web is None)
    if small.web is not None and large.web is not None:
        assert large.web.width == pytest.approx(times * small.web.width, rel=2e-3)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.06, 0.5), st.floats(1.5, 6.0), st.floats(0.0, 180.0))
def test_a_bar_of_any_width_and_direction(width: float, long: float, turn: float) -> None:
    bar = affinity.rotate(Polygon([(0, 0), (long * width, 0), (long * width, width), (0, width)]), turn)
    assert measure_region(bar).stroke == pytest.approx(width, rel=0.01)
    assert open_by(bar, width, 0.0).failure is None
    assert open_by(bar, 1.05 * width, 0.0).failure == "vanishes"


@pytest.mark.parametrize("long", [0.09, 0.1, 0.12, 0.13, 0.17])
def test_how_far_the_lost_middle_of_a_thin_side_lies_from_what_is_left(long: float) -> None:
    """A frame of 0.1, one side thinned to 0.04 over a length: a disc of 0.06 stops where it meets the step.

    Its middle stands off the step by the root of 0.03 squared less 0.01 squared, its edge is 0.03 nearer; the farthest
    point is the middle of the outer edge. To a thirtieth of the allowed loss, wherever corners of the outline lie.
    """
    frame = box(0.0, 0.0, 1.0, 1.0).difference(box(0.1, 0.1, 0.9, 0.9))
    start = 0.3
    frame = frame.difference(box(start, 0.04, start + long, 0.5))
    middle = long / 2 + math.sqrt(0.03**2 - 0.01**2)
    farthest = math.hypot(middle, 0.03) - 0.03
    found = open_by(frame, 0.06, 0.05)
    assert found.reach == pytest.approx(farthest, abs=0.06 / 30)
    assert found.failure == (None if farthest < 0.06 else "loses")


def test_specks_decide_nothing() -> None:
    """A speck of the drawing is lost to any cutter; the letter is not. A hairline as long as a letter is none."""
    stem = box(0.0, 0.0, 0.2, 1.0)
    speck, dust, hairline = box(0.5, 0.0, 0.53, 0.03), box(0.5, 0.0, 0.505, 0.03), box(0.5, 0.0, 0.53, 1.0)
    for extra, failure in ((speck, None), (dust, None), (hairline, "vanishes")):
        for k in (1.0, 8.0):
            drawn = affinity.scale(union_all([stem, extra]), k, k, origin=(0, 0))
            assert open_by(drawn, 0.1 * k, 0.05 * k).failure == failure
    assert measure_region(union_all([stem, hairline])).stroke == pytest.approx(0.03, rel=0.01)


@pytest.mark.parametrize("share", [0.98, 1.0, 1.01])
def test_a_lost_tip_counts_though_the_lost_part_touches_itself(share: float) -> None:
    """Blankenburg's apostrophe: its tail, 0.094 away, is lost in one piece with two slivers along its sides."""
    shape = word_shape(SHELF, "\u2019", "blankenburg", 1.0)
    found = open_by(shape, share * 0.0623, 0.05)
    assert found.failure == "loses"
    assert found.reach == pytest.approx(0.094, abs=0.003)


def test_a_letter_that_comes_apart_in_two_is_told_with_where() -> None:
    """Two squares and a bridge of 0.1 between them: a bit of 0.2 leaves the squares, each whole, and nothing between."""
    dumb_bell = union_all([box(0, 0, 1, 1), box(1, 0.45, 2, 0.55), box(2, 0, 3, 1)])
    found = open_by(dumb_bell, 0.2, 0.05)
    assert found.failure == "breaks"
    assert found.at == pytest.approx((1.5, 0.5), abs=0.2)
    assert open_by(dumb_bell, 0.1, 0.05).failure is None


@pytest.mark.parametrize("face", ["vollkorn", "gfs-didot", "linux-libertine", "roboto-slab"])
def test_letters_are_passed_over_only_where_what_they_lose_is_corners(shelf: Shelf, face: str) -> None:
    """What is lost is worked out in full here: its farthest point from what is left, on every ring's own points."""
    passed, seen = 0, 0
    for letter in "AgMskW&e":
        shape = word_shape(shelf, letter, face, 1.0)
        for diameter in (0.02, 0.05, 0.08):
            found = open_by(shape, diameter, 0.05)
            if found.failure is not None:
                continue
            lost = [p for p in polygons(shape.difference(found.cut)) if p.area > 1e-3 * max(diameter, 0.05) ** 2]
            rings = shapely.segmentize([p.exterior for p in lost], diameter / 50.0)
            away = shapely.distance(found.cut, shapely.points(shapely.get_coordinates(rings)))
            farthest = float(away.max(initial=0.0))
            seen += 1
            if found.reach == 0.0:
                passed += 1
                assert farthest <= CORNER * diameter
            else:
                assert found.reach == pytest.approx(farthest, abs=0.025 * max(diameter, 0.05))
    assert 0 < passed < seen
