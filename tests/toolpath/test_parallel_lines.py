"""Lines that follow from an outline's curves against areas worn by the library, and where curves alone cannot tell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiLineString, Polygon

from engrave.geometry.arrays import Floats
from engrave.geometry.paths import Contour, Path, transformed
from engrave.geometry.regions import polygons, region
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.toolpath import toolpath_of
from engrave.toolpath.parallel_lines import contours_of, lines_begun
from engrave.toolpath.side_by_side import _alike, lines_across
from engrave.toolpath.worn_areas import LINE_CHORD, Begun, MarkWidth, half_mark, lines_in
from tests.toolpath import workbench
from tests.toolpath.test_round_pen import drawn

FINE = 0.0004
"""mm: chords of the area that the library wears, a tenth of what lines may stand off."""

SOME = "ABGKQSWZaegkmy38&"
"""Letters with every kind of crossing, join, loop and end."""

TURNED: tuple[float, float, float, float, float, float] = (0.8, 0.6, -0.6, 0.8, 3.0, -7.0)
"""A rotation by 37 degrees, and moved."""


def begun_of(path: Path, mark: MarkWidth, weight: float, step: float) -> tuple[list[Polygon], list[float], list[Begun]]:
    """Return the parts of a path, how far their lines are apart, and what follows from their curves."""
    parts = polygons(region(path, LINE_CHORD / 2.0))
    count = lines_across(weight, min(mark), step)
    steps = [(weight - min(mark)) / (count - 1)] * len(parts)
    return parts, steps, lines_begun(parts, contours_of(parts, path), mark, steps, [count // 2] * len(parts))


def apart(some: list[Floats], others: list[Floats]) -> float:
    """Return by how many mm two sets of lines differ at most."""
    one, other = (MultiLineString([shapely.linestrings(line) for line in lines]) for lines in (some, others))
    return float(shapely.hausdorff_distance(one, other, densify=0.2))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("typeface", "share", "mark"),
    [("withy", 0.08, (0.12, 0.18)), ("ems-felix", 0.11, (0.12, 0.12)), ("hershey-script", 0.07, (0.2, 0.14))],
)
def test_lines_of_letters_lie_where_a_finely_worn_area_ends(typeface: str, share: float, mark: MarkWidth) -> None:
    """Shapely 2's buffer, in a frame in which the mark is a circle, then by whole steps at once."""
    cap, levels, half = 18.0, 0, half_mark(mark)
    for letter in SOME:
        path = transformed(drawn(typeface, share, letter, cap).marks[0].path(), TURNED)
        parts, steps, begun = begun_of(path, mark, share * cap, 0.1)
        whole = region(path, FINE)
        scaled = shapely.transform(whole, lambda at: at / half).buffer(-1.0, quad_segs=24)
        worn = shapely.transform(scaled, lambda at: at * half)
        deepest = max((one.levels for one in begun), default=0)
        for part, step, one in zip(parts, steps, begun, strict=True):
            rings = 1 + len(part.interiors)
            assert len(one.lines) == one.levels * rings
            for k in {0, one.levels // 2, one.levels - 1} if one.levels else ():
                area = shapely.intersection(worn, part.buffer(0.01)).buffer(-k * step, quad_segs=24)
                ends = [shapely.get_coordinates(ring) for ring in shapely.get_rings(area)]
                assert apart(one.lines[k * rings : (k + 1) * rings], ends) < 1.5 * LINE_CHORD
        levels += deepest
    assert levels >= 2 * len(SOME)


@pytest.mark.parametrize(
    ("mark", "weight", "step"),
    [((0.12, 0.18), 1.3, 0.1), ((0.8, 0.8), 1.05, 0.09), ((0.95, 0.95), 1.42, 0.1), ((0.2, 0.2), 1.0, 0.19)],
    ids=["a beam", "a wide bit", "a bit", "wide steps"],
)
def test_there_are_as_many_lines_as_areas_worn_leave(mark: MarkWidth, weight: float, step: float) -> None:
    """A wide mark leaves nothing uncut well before the middle of the stroke, and no line is added there."""
    for letter in "ILOSahnory8&":
        path = drawn("withy", weight / 14.0, letter, 14.0).marks[0].path()
        parts, steps, begun = begun_of(path, mark, weight, step)
        found, worn = lines_in(parts, mark, steps, begun=begun), lines_in(parts, mark, steps)
        for some, others in zip(found, worn, strict=True):
            mm = [sum(shapely.linestrings(line).length for line in lines) for lines in (some, others)]
            assert mm[0] == pytest.approx(mm[1], rel=0.004)


def smooth_ring(points: list[tuple[float, float]]) -> Contour:
    """Return a closed curve of quadratics through the middles of a polygon's sides: it has no corner."""
    middles = [((a + c) / 2, (b + d) / 2) for (a, b), (c, d) in zip(points, points[1:] + points[:1], strict=True)]
    segments = tuple((p, m) for p, m in zip(points[1:] + points[:1], middles[1:] + middles[:1], strict=True))
    return Contour(middles[0], segments, True)


WAIST = [(0.0, 0.0), (3.0, 0.0), (3.0, 1.1), (5.0, 1.1), (5.0, 0.0), (8.0, 0.0),
         (8.0, 3.0), (5.0, 3.0), (5.0, 1.9), (3.0, 1.9), (3.0, 3.0), (0.0, 3.0)]  # fmt: skip
"""Two bodies 3 mm high and a neck of 0.8."""


@pytest.mark.parametrize("back", [False, True], ids=["one way", "the other"])
def test_curves_are_followed_no_deeper_than_where_a_neck_closes(back: bool) -> None:
    ring = smooth_ring(WAIST)
    path = (ring.reversed() if back else ring,)
    parts, steps, (begun,) = begun_of(path, (0.2, 0.2), 2.2, 0.1)
    assert 0 < begun.levels <= 4  # 0.1 + 0.1 k below half the neck's 0.8
    found, worn = lines_in(parts, (0.2, 0.2), steps, begun=[begun]), lines_in(parts, (0.2, 0.2), steps)
    assert len(found[0]) == len(worn[0]) > 10
    assert apart(found[0], worn[0]) < 4 * LINE_CHORD
    areas = [shapely.linearrings(line).is_ccw for line in found[0]]
    assert len(set(areas)) == 1  # all the same way round, whichever way the outline was drawn


def test_what_has_corners_or_is_not_the_parts_own_outline_is_worn_as_an_area() -> None:
    square = (workbench.box(0.0, 0.0, 4.0, 4.0),)
    _, _, (begun,) = begun_of(square, (0.2, 0.2), 2.0, 0.1)
    assert begun == Begun()
    ring, moved = smooth_ring(WAIST), transformed((smooth_ring(WAIST),), (1.0, 0.0, 0.0, 1.0, 0.5, 0.25))
    parts = polygons(region((ring,), LINE_CHORD / 2.0))
    assert contours_of(parts, moved) == [None]
    assert lines_begun(parts, [None], (0.2, 0.2), [0.1], [5]) == [Begun()]
    (one,) = lines_begun(parts, [moved], (0.2, 0.2), [0.1], [5])
    assert one.levels > 0  # as large, and so it is taken for the same
    (none,) = lines_begun(parts, [transformed((ring,), (1.1, 0.0, 0.0, 1.0, 0.0, 0.0))], (0.2, 0.2), [0.1], [5])
    assert none == Begun()


def test_a_letter_that_comes_again_is_cut_the_same_in_its_place() -> None:
    glyph = drawn("withy", 0.1, "n", 10.0).marks[0].glyph
    marks = tuple(
        Mark(glyph, (10.0, 0.0, 0.0, -10.0, x, y), "n", 0) for x, y in ((0.0, 0.0), (31.7, 0.123), (11.3, 40.0))
    )
    laid = Lettering("outline", "stack", marks, (Line("nnn", "name", 10.0, 10.0, 0.0, 1.0),), 0.0)
    parts = polygons(region(tuple(c for mark in marks for c in mark.path()), LINE_CHORD / 2.0))
    first, moved = _alike(parts, [1.0] * 3)
    assert first == [0, 0, 0]
    assert contours_of(parts[:1], tuple(c for mark in marks for c in mark.path())) != [None]  # found among the others'
    assert sorted(np.hypot(*by) for by in moved)[0] == 0.0
    assert _alike(parts, [1.0, 0.9, 1.0])[0] == [0, 1, 0]
    tool = replace(workbench.beam_tool(step_over=0.1, inset=True), method="side-by-side")
    toolpath = toolpath_of(laid, tool)
    boxes = shapely.bounds([shapely.linestrings(stroke.points) for stroke in toolpath.strokes])
    for mark in marks[1:]:
        x, y = mark.matrix[4:]
        own = [b for b in boxes - np.array([x, y, x, y]) if abs(b[0]) < 9 and abs(b[1]) < 12]
        firsts = [b for b in boxes if abs(b[0]) < 9 and abs(b[1]) < 12]
        assert np.allclose(sorted(map(tuple, own)), sorted(map(tuple, firsts)), atol=1e-5)
