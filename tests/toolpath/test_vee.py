"""The path of a V-bit: exact shapes, real letters without spurs, flat floors."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from cutting.workbench import lid, region_lettering, tool, wood
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point, Polygon, box, union_all
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache
from engrave.cutting import KeptMeasures, check
from engrave.cutting.effect.cupping import RIDGE_HEIGHT, floor_step, vee_depth
from engrave.cutting.measure.components import components_of, glyph_shape
from engrave.geometry.medial_axis import SHOWN_REACH, axis_lines
from engrave.geometry.regions import polygons
from engrave.tasks import Tool
from engrave.toolpath.vee import FLOOR_SLACK, _Floor, _way_to, tip_paths
from engrave.typefaces import Shelf, load_shelf

CAP = 10.0


def v_tool(depth: float = 3.0, tip: float = 0.2, angle: float = 60.0) -> Tool:
    made = tool(tip, "vee", "v-bit", depth, angle=angle, tip=tip, flute=8.0, deepest=8.0)
    return replace(made, cutter=replace(made.cutter, diameter=12.0))


def cut(shape: BaseGeometry, of: Tool) -> tuple[np.ndarray, ...]:
    return cut_large(shape, of, CAP)


def cut_large(shape: BaseGeometry, of: Tool, cap: float) -> tuple[np.ndarray, ...]:
    cache = Cache()
    return tip_paths(components_of(region_lettering([("x", shape)], cap), False, cache), of, cache)


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return load_shelf(None)


@pytest.mark.source("Machinery's Handbook: (W - T)/2 cot(a/2)")
def test_a_bar_is_cut_as_a_handbook_says() -> None:
    """60 degrees, tip 0.2, 3 mm wide: (W - T)/2 cot(a/2) = 2.4249 mm deep (Machinery's Handbook, point tools)."""
    paths = cut(box(0.0, 0.0, 20.0, 3.0), v_tool())
    points = np.concatenate(paths)
    assert -points[:, 2].min() == pytest.approx(2.4249, abs=0.005)
    level = points[(points[:, 0] > 2.0) & (points[:, 0] < 18.0)]
    assert level[:, 1] == pytest.approx(-1.5, abs=0.01)


def test_corners_run_up_to_the_surface() -> None:
    """From 1.5 mm in along both sides, where the middle line begins, up to nothing in the corner itself."""
    ends = {tuple(p.round(6)) for path in cut(box(0.0, 0.0, 20.0, 3.0), v_tool()) for p in (path[0], path[-1])}
    for corner in ((0.0, 0.0), (20.0, 0.0), (0.0, -3.0), (20.0, -3.0)):
        assert (*corner, 0.0) in ends


def test_a_round_dot_is_one_plunge() -> None:
    (path,) = cut(Point(4.0, 4.0).buffer(1.0, quad_segs=32), v_tool())
    assert path[:, :2] == pytest.approx(np.array([[4.0, -4.0]] * 2), abs=0.02)
    assert -path[:, 2] == pytest.approx(vee_depth(v_tool().cutter, 2.0), abs=0.01)


def test_a_ring_is_one_closed_line() -> None:
    ring = Point(0.0, 0.0).buffer(5.0, quad_segs=64).difference(Point(0.0, 0.0).buffer(4.0, quad_segs=64))
    (path,) = cut(ring, v_tool())
    assert path[0] == pytest.approx(path[-1])
    assert np.hypot(path[:, 0], path[:, 1]) == pytest.approx(4.5, abs=0.02)


def test_strokes_finer_than_the_tip_are_skipped() -> None:
    assert cut(box(0.0, 0.0, 20.0, 0.15), v_tool(tip=0.2)) == ()


@pytest.mark.parametrize(
    ("face", "letters"), [("roboto-slab", "nrdmhbpu"), ("vollkorn", "nrd"), ("noto-sans", "nrdmhb")]
)
def test_no_spurs_where_a_bow_meets_a_stem(shelf: Shelf, face: str, letters: str) -> None:
    """Every end of a line lies in a corner of the outline, at the surface."""
    for placed in shelf.get(face).shape(letters).placed:
        (part,) = polygons(glyph_shape(placed.glyph, False))
        lines = axis_lines(part)
        ends = [tuple(p) for line in lines for p in (line[0], line[-1])]
        loose = [p for p in ends if ends.count(p) == 1]
        turns = shapely.get_coordinates(part.boundary)
        for x, y, radius in loose:
            assert radius == pytest.approx(0.0, abs=2 * SHOWN_REACH), f"{placed.text} of {face} ends in the air"
            assert np.hypot(*(turns - (x, y)).T).min() < 3 * SHOWN_REACH


def swept(lines: tuple[np.ndarray, ...]) -> BaseGeometry:
    """What circles of the lines' radii cover, rolled along them."""
    discs = []
    for line in lines:
        for a, b in zip(line[:-1], line[1:], strict=True):
            share = np.linspace(0.0, 1.0, 2 + int(math.dist(a[:2], b[:2]) / 0.003))[:, None]
            rolled = a + share * (b - a)
            discs.append(shapely.buffer(shapely.points(rolled[:, :2]), rolled[:, 2], quad_segs=16))
        if len(line) == 1:
            discs.append([Point(line[0, :2]).buffer(line[0, 2], quad_segs=32)])
    return union_all(np.concatenate(discs))


@pytest.mark.source("Blum, 1967: a shape is the union of its largest circles")
@pytest.mark.parametrize("face", ["quicksand", "roboto-slab", "blankenburg", "great-vibes", "gfs-didot"])
def test_the_lines_give_the_letter_back(shelf: Shelf, face: str) -> None:
    """A shape is the union of its largest circles (Blum 1967): nothing outside, hardly anything left within."""
    for placed in shelf.get(face).shape("RagnW8&j").placed:
        shape = glyph_shape(placed.glyph, False)
        lines = tuple(line for part in polygons(shape) for line in axis_lines(part))
        covered = swept(lines)
        assert covered.difference(shape.buffer(0.002)).area < 1e-6
        outline = shapely.get_coordinates(shapely.segmentize(shape, 0.01))
        assert shapely.distance(covered, shapely.points(outline)).max() < 2 * SHOWN_REACH


def test_a_wide_part_has_its_floor_cleared() -> None:
    """6 mm wide, 60 degrees, 2 mm deep: the walls reach the outline, and ridges stay below the height that is said."""
    of = v_tool(depth=2.0)
    square = box(0.0, 0.0, 6.0, 6.0)
    paths = cut(square, of)
    assert min(float(p[:, 2].min()) for p in paths) == -2.0
    deep = [LineString(p[:, :2]) for p in paths if (p[:, 2] == -2.0).all() and len(p) > 2]
    wide = (0.2 + 2 * 2.0 * math.tan(math.radians(30))) / 2
    walls = Polygon(deep[0]).bounds
    assert walls == pytest.approx((wide, -6 + wide, 6 - wide, -wide), abs=0.01)
    across = np.sort(
        np.concatenate(
            [shapely.get_coordinates(d.intersection(LineString([(3.0, -6.0), (3.0, -3.0)])))[:, 1] for d in deep]
        )
    )
    ridges = (np.diff([*across, -3.0]) - 0.2) / 2 / math.tan(math.radians(30))
    assert ridges.max() <= RIDGE_HEIGHT + 1e-6
    assert np.diff(across).max() == pytest.approx(floor_step(of.cutter), abs=1e-3)


@pytest.mark.parametrize("seed", range(6))
def test_the_way_to_a_floor_s_round_does_not_hang_on_a_file_s_last_digit(seed: int) -> None:
    """Along an even stem every way is as long: a Vollkorn m read back began its rounds at another stem, and took 0.8 % less."""
    stem = np.column_stack([np.zeros(41), np.linspace(0.0, 20.0, 41)])
    ring = LinearRing([(0.3, 0.0), (0.3, 20.0), (1.0, 20.0), (1.0, 0.0)])
    floor = _Floor(box(-1.0, -1.0, 1.0, 21.0), FLOOR_SLACK)
    way = _way_to(ring, stem, floor.bears)
    noise = np.random.default_rng(seed)
    moved = stem[noise.permutation(41)] + noise.uniform(-5e-4, 5e-4, (41, 2))
    again = _way_to(LinearRing(np.roll(np.array(ring.coords)[:-1], seed, axis=0)), moved, floor.bears)
    assert way is not None
    assert again is not None
    assert again == pytest.approx(way, abs=2e-3)


@given(seed=st.integers(0, 10**6), slack=st.sampled_from([1, 2]))
@settings(max_examples=60, deadline=None)
def test_a_way_lies_on_a_floor_as_on_the_floor_drawn_out(seed: int, slack: int) -> None:
    """Ways between places on the outline of a floor with bays, a hole, and parts that nearly touch."""
    rng = np.random.default_rng(seed)
    blobs = [shapely.Point(x, y).buffer(r) for x, y, r in rng.uniform(0.3, 1.5, (5, 3))]
    shape = shapely.union_all(blobs).difference(shapely.Point(*rng.uniform(0.5, 1.5, 2)).buffer(0.2)).simplify(0.003)
    floor, grown = _Floor(shape, slack * FLOOR_SLACK), shape
    for _ in range(slack):
        grown = grown.buffer(FLOOR_SLACK)
    rings = shapely.get_rings(shape)
    for length in (0.004, 0.3, 3.0):
        start, end = (
            shapely.line_interpolate_point(ring, at)
            for ring, at in zip(rng.choice(rings, 2), rng.uniform(0, length, 2), strict=True)
        )
        way = shapely.get_coordinates([start, end])
        assert floor.bears(way) == grown.covers(LineString(way))


def test_a_wide_part_is_told_with_the_rounds_that_clear_it() -> None:
    of = v_tool(depth=2.0)
    found = check(region_lettering([("x", box(0.0, 0.0, 6.0, 6.0))], CAP), of, wood(), lid(), KeptMeasures(None))
    (told,) = [p for p in found.problems if p.code == "wide-for-vee"]
    assert told.level == "look"
    assert "rounds 0.26 mm apart" in told.says


def test_lines_hold_at_every_size_and_place(shelf: Shelf) -> None:
    """The same letter twice as large: the same line, twice as far; and twice as wide at the surface."""
    (glyph,) = [p.glyph for p in shelf.get("roboto-slab").shape("r").placed]
    shape = shapely.affinity.scale(glyph_shape(glyph, False), CAP, CAP, origin=(0, 0))
    small = cut(shape, v_tool(tip=0.0))
    large = cut_large(shapely.affinity.scale(shape, 2, 2, origin=(0, 0)), v_tool(8.0, 0.0), 2 * CAP)
    assert len(small) == len(large)
    for one, two in zip(small, large, strict=True):
        assert two == pytest.approx(2 * one, abs=1e-4)
