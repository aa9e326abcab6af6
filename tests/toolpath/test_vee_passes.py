"""A V-bit's paths linked, ordered and cut in passes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from engrave.cache import Cache
from engrave.cutting.measure.components import components_of
from engrave.setting.lettering import Lettering, Mark
from engrave.shop.cutters import VBit
from engrave.timing import estimate_time
from engrave.toolpath import toolpath_of
from engrave.toolpath.linking import linked_paths
from engrave.toolpath.vee import lift_worth, tip_paths
from engrave.typefaces import load_shelf
from toolpath.workbench import (
    bit_tool,
    box,
    lettering,
    ring,
)

V60 = VBit(id="v60", title="V-bit", machine="router", diameter=6.0, angle=60.0, tip=0.2, deepest=2.5)


def _vee_lines() -> list[np.ndarray]:
    return [np.array([[x, 0, -0.2], [x, 3, -0.9], [x, 6, -0.2]], dtype=float) for x in (0.0, 5.0, 10.0)]


def test_vee_runs_in_three_dimensions() -> None:
    letters = lettering("outline", [(box(0, 0, 10, 6),)])
    tool = bit_tool("vee", depth=1.0, pass_depth=1.0)
    toolpath = toolpath_of(letters, tool, vee_paths=_vee_lines())
    flat = toolpath_of(letters, tool, vee_paths=[np.column_stack([p[:, :2], 0 * p[:, 2] - 0.2]) for p in _vee_lines()])
    assert toolpath.course.cut_mm == pytest.approx(3 * 2 * math.hypot(3, 0.7))
    falling, level = (estimate_time(t, tool).seconds for t in (toolpath, flat))
    assert falling > level  # the z axis is slow
    assert dict(toolpath.facts)["deepest_mm"] == pytest.approx(0.9)
    assert toolpath.strokes == letters.marks[0].path()


def test_vee_in_two_passes_is_no_deeper_than_each() -> None:
    letters = lettering("outline", [(box(0, 0, 10, 6),)])
    course = toolpath_of(letters, bit_tool("vee", pass_depth=0.5, by="pass"), vee_paths=_vee_lines()).course
    height = 4.0 + np.cumsum(course.moves.steps[:, 2])
    first_lift = len(course.moves) // 2
    assert height.min() == pytest.approx(-0.9)
    assert height[:first_lift].min() == pytest.approx(-0.45)


def test_branches_of_a_vee_cut_run_on_into_each_other() -> None:
    """A T of four branches is cut with one plunge for each pair of its odd places, not one a branch."""
    middle = np.array([5.0, 3.0, -0.5])
    tips = [(0.0, 3.0, 0.0), (10.0, 3.0, 0.0), (5.0, 0.0, 0.0), (5.0, 6.0, 0.0)]
    lines = linked_paths([np.array([middle, tip]) for tip in tips])
    assert len(lines) == 2
    assert all(line[1] == pytest.approx(middle) for line in lines)
    assert sorted(line[0, 2] for line in lines) == [0.0, 0.0]


def test_vee_of_a_real_letter() -> None:
    """The middle lines of a ring with a 60 degree bit: as long as the ring's middle, as deep as half its width needs."""
    letters = lettering("outline", [(ring(5, 5, 4), ring(5, 5, 2.6, True))])
    tool = bit_tool("vee", depth=2.0, pass_depth=2.0)
    tool = replace(tool, cutter=V60)
    toolpath = toolpath_of(letters, tool)
    assert toolpath.course.cut_mm == pytest.approx(2 * math.pi * 3.3, rel=0.02)
    assert dict(toolpath.facts)["deepest_mm"] == pytest.approx((0.7 - 0.1) / math.tan(math.radians(30)), rel=0.02)
    assert toolpath.course.starts <= 2


def test_a_second_corner_is_run_into_and_back_without_lifting() -> None:
    """A bar's middle line with two corners at each end: one plunge, and each spur but the two that end it cut twice."""
    corners = [(0.0, 0.0), (0.0, 2.0), (10.0, 0.0), (10.0, 2.0)]
    left, right = (1.0, 1.0, -0.8), (9.0, 1.0, -0.8)
    lines = [np.array([left, right])]
    lines += [np.array([left if x < 5 else right, (x, y, 0.0)]) for x, y in corners]
    (path,) = linked_paths(lines, 2.4)
    spur = math.hypot(1.0, 1.0)
    length = np.hypot(*np.diff(path[:, :2], axis=0).T).sum()
    assert length == pytest.approx(8.0 + 4 * spur + 2 * spur)
    assert {tuple(p) for p in path[path[:, 2] == 0.0, :2]} == set(corners)
    assert len(linked_paths(lines, 1.0)) == 3  # no longer than that: lifted for each


def test_what_tapers_slowly_is_lifted_for() -> None:
    lines = [np.array([(0.0, 0.0, -0.5), (9.0, 0.0, -0.5)]), np.array([(9.0, 0.0, -0.5), (18.0, 0.0, -0.5)])]
    lines.append(np.array([(9.0, 0.0, -0.5), (9.0, 6.0, 0.0)]))
    assert len(linked_paths(lines, 1.5)) == 2


@pytest.mark.parametrize("ident", ["vollkorn", "linux-libertine", "roboto-slab", "noto-sans", "gfs-didot"])
def test_running_into_corners_cuts_the_same_and_lifts_less(ident: str) -> None:
    shelf = load_shelf()
    size = 12.0
    marks = tuple(
        Mark(p.glyph, (size, 0.0, 0.0, -size, size * p.x, -size * p.y), p.text, 0)
        for p in shelf.get(ident).shape("Hamburg").placed
    )
    tool = bit_tool("vee", depth=2.5, pass_depth=2.5, plunge=5.0, feed=13.3)
    tool = replace(tool, cutter=V60)
    laid = Lettering("outline", "stack", marks, (), 0.0)
    paths = tip_paths(components_of(laid, False, Cache()), tool, Cache())
    apart, run_into = linked_paths(paths), linked_paths(paths, lift_worth(tool))
    assert len(run_into) < 0.7 * len(apart)
    drawn = [
        shapely.union_all([shapely.LineString(p[:, :2]) for p in every if len(p) > 1]) for every in (apart, run_into)
    ]
    assert drawn[0].hausdorff_distance(drawn[1]) < 1e-9
