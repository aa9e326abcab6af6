"""The clock's jobs: sums, rows from real regions, pockets that cover, what is advised."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.geometry.flattening import polylines
from engrave.geometry.paths import flatten
from engrave.geometry.regions import region
from engrave.motion.planner import LIFT, PARTS, PLUNGE, limits_of
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.timing import Job, clock
from engrave.toolpath import course_of_file
from engrave.toolpath.methods import plan_piece
from engrave.toolpath.moves import equal_depths, passes_for, seconds_by_part, there_and_back
from engrave.toolpath.pocket import pockets
from engrave.toolpath.raster import Rows, Sweep, raster_course, rows_of
from engrave.toolpath.vee_lines import middle_lines
from timing.made import beam_tool, bit_tool, box, lettering, machine, ring, stroke
from timing.rows_given import joined_rows

LINES = lettering(
    "single-line",
    [(stroke((9 * i, 0), (9 * i, 6)), stroke((9 * i + 4, 6), (9 * i + 4, 0)), ring(9 * i + 2, 3, 1)) for i in range(6)],
)
RINGS = lettering("outline", [(ring(10 * i + 5, 5, 4), ring(10 * i + 5, 5, 2.6, True)) for i in range(5)])


def _vee_lines() -> list[np.ndarray]:
    return [np.array([[x, 0, -0.2], [x, 3, -0.9], [x, 6, -0.2]], dtype=float) for x in (0.0, 5.0, 10.0)]


ALL = {
    "follow": (LINES, bit_tool()),
    "follow by pass": (LINES, bit_tool(by="pass")),
    "follow outlines": (RINGS, bit_tool()),
    "beam": (LINES, beam_tool()),
    "beam stops": (LINES, beam_tool(of=machine("laser", beam_sync="stop", beam_delay_s=0.03))),
    "raster": (RINGS, beam_tool("raster")),
    "raster of lines": (LINES, beam_tool("raster")),
    "pocket": (RINGS, bit_tool("pocket", 0.6, step_over=0.25)),
}


def _job(letters: Lettering, tool: Tool) -> Job:
    return clock(letters, tool)


@pytest.mark.parametrize("name", ALL)
def test_parts_add_up_and_no_figure_is_mad(name: str) -> None:
    job = _job(*ALL[name])
    assert math.fsum(s for _, s in job.parts) == pytest.approx(job.seconds, rel=1e-12)
    assert all(s > 0 for _, s in job.parts)
    assert job.naive_seconds < job.seconds
    assert job.seconds_range[0] < job.seconds < job.seconds_range[1]
    assert job.cut_mm > 0
    assert job.air_saved >= -1e-6
    assert job.strokes
    assert job == _job(*ALL[name])  # the same input, the same job


@pytest.mark.parametrize("name", ALL)
def test_no_words_take_no_time(name: str) -> None:
    letters, tool = ALL[name]
    job = _job(lettering(letters.kind, []), tool)
    assert job.strokes == ()
    assert job.pen_downs == 0
    assert job.seconds == 0.0


def test_by_stroke_saves_lifts_and_says_so() -> None:
    by_stroke, by_pass = _job(LINES, bit_tool()), _job(LINES, bit_tool(by="pass"))
    assert (by_stroke.pen_downs, by_pass.pen_downs) == (18, 36)
    assert by_stroke.seconds < 0.8 * by_pass.seconds
    note = next(p for p in by_pass.problems if p.code == "by-stroke")
    assert note.level == "note"
    assert note.value == pytest.approx(by_stroke.seconds, abs=0.06)
    assert not by_stroke.problems


def test_open_strokes_go_there_and_back_and_rings_round() -> None:
    course = plan_piece(lettering("single-line", [(stroke((0, 0), (9, 0)),)]), bit_tool()).course
    plunges = course.moves.steps[course.moves.part == PLUNGE]
    assert plunges[:, 2] == pytest.approx([-1.4, -0.4])  # approach 1 mm to the first 0.4, then 0.4 more at the far end
    assert course.moves.steps[:, :2].sum(axis=0) == pytest.approx([0, 0])  # and home
    line = np.array([[0.0, 0.0, -0.4], [5.0, 0.0, -0.4]])
    assert there_and_back([line, line])[1][0] == pytest.approx(line[-1])


def test_the_bit_goes_down_to_each_depth_and_up_again() -> None:
    course = plan_piece(LINES, bit_tool(depth=1.2)).course
    height = 4.0 + np.cumsum(course.moves.steps[:, 2])
    assert height.min() == pytest.approx(-1.2)
    assert height[-1] == pytest.approx(4.0)
    ends = np.flatnonzero(course.moves.part == LIFT)
    assert set(np.round(height[ends], 6)) == {1.0, 4.0}


def test_dwell_is_a_stop_at_the_bottom_of_each_plunge() -> None:
    plain, dwelling = _job(LINES, bit_tool()), _job(LINES, bit_tool(dwell_s=0.25))
    assert dict(dwelling.parts)["dwell"] == pytest.approx(0.25 * 36)  # 18 strokes, two depths each
    assert dwelling.seconds > plain.seconds + 9.0  # the stop itself costs a little more


@pytest.mark.parametrize(("depth", "bite", "count"), [(0.9, 0.3, 3), (0.9, 0.29, 4), (0.5, 1.0, 1), (0.5, 0.0, 1)])
def test_passes_are_equal_and_none_too_deep(depth: float, bite: float, count: int) -> None:
    depths = equal_depths(depth, bite)
    assert len(depths) == passes_for(depth, bite) == count
    assert depths[-1] == pytest.approx(depth)
    assert np.diff((0.0, *depths)) == pytest.approx(depth / count)


def test_what_a_machine_has_learned_is_in_the_estimate() -> None:
    tool = bit_tool()
    plain = _job(LINES, tool)
    slow = replace(tool, machine=replace(tool.machine, stroke_s=0.2, fixed_s=7.0, scale=1.1))
    assert _job(LINES, slow).seconds == pytest.approx(1.1 * (plain.seconds + 18 * 0.2 + 7.0))


def test_where_the_machine_s_own_program_plans_the_range_is_wider() -> None:
    share = {n: _job(*ALL[n]).seconds_range[1] / _job(*ALL[n]).seconds - 1 for n in ("follow", "raster", "pocket")}
    assert share["follow"] == pytest.approx(0.05)
    assert share["follow"] < share["raster"] < share["pocket"]


def test_what_ordering_saves_is_measured_against_the_typeface_s_order() -> None:
    scattered = lettering("single-line", [LINES.marks[i].glyph.path for i in (0, 5, 1, 4, 2, 3)])
    assert _job(scattered, bit_tool()).air_saved > _job(LINES, bit_tool()).air_saved > 0


# --- chords ----------------------------------------------------------------------------------------------------------


def test_chords_are_those_of_the_geometry_stage() -> None:
    """The same points as flattening contour by contour, so that the clock times what the file's checker sees."""
    contours = [*RINGS.marks[0].path(), stroke((0, 0), (3, 4), (8, 8))]
    quadratic = replace(contours[2], segments=(((4.0, 9.0), (8.0, 0.0)), ((9.0, 9.0),)))
    for contour, line in zip([*contours, quadratic], polylines([*contours, quadratic]), strict=True):
        assert line == pytest.approx(flatten(contour, 0.01), abs=1e-9)


# --- raster ----------------------------------------------------------------------------------------------------------


def test_rows_are_those_of_the_region() -> None:
    """Against shapely's intersection of each row with the region."""
    letters = (*RINGS.marks[0].path(), box(6, 3, 9, 2))  # a bar that overlaps the ring: burnt once
    solid = region(letters[:2], 0.01).union(shapely.box(6, 3, 15, 5))
    rows = rows_of(polylines(letters), 0.13)
    for i, y in enumerate(rows.y):
        cut = solid.intersection(shapely.LineString([(-5, y), (25, y)]))
        ours = rows.spans[rows.spans[:, 0] == i]
        assert (ours[:, 2] - ours[:, 1]).sum() == pytest.approx(cut.length, abs=2e-3)


def test_rows_cover_the_height_and_no_more() -> None:
    rows = rows_of([flatten(box(0, 0, 5, 1), 0.01)], 0.1)
    assert rows.y == pytest.approx(np.arange(0.05, 1.0, 0.1))
    assert len(rows_of([flatten(box(0, 0, 5, 1.03), 0.01)], 0.1).y) == 11
    assert len(rows_of([], 0.1).y) == 0


@settings(max_examples=40, deadline=None)
@given(st.floats(0.05, 0.7), st.floats(0.0, 6.3))
def test_marked_length_times_pitch_is_the_area(pitch: float, turn: float) -> None:
    """Cavalieri: the rows' marks times the pitch come to the area, ever nearer with finer rows."""
    c, s = math.cos(turn), math.sin(turn)
    turned = np.array([[0, 0], [12, 0], [12, 4], [3, 4], [3, 9], [0, 9], [0, 0]]) @ [[c, s], [-s, c]]
    rows = rows_of([turned], pitch)
    area = 12 * 4 + 3 * 5
    assert (rows.spans[:, 2] - rows.spans[:, 1]).sum() * pitch == pytest.approx(area, abs=16 * pitch)


def _rows() -> Rows:
    return joined_rows([0.1, 0.2, 0.3], [[[0, 2], [30, 32]], [], [[10, 12]]])


def test_ways_to_sweep_a_row() -> None:
    def swept(**how: object) -> tuple[int, float, float]:
        course = raster_course(_rows(), Sweep(100.0, 1.0, **how), (0.0, 0.0), False)  # type: ignore[arg-type]
        return course.starts, course.length_of("cut"), course.length_of("travel")

    assert swept()[:2] == (2, pytest.approx(34 + 4))
    assert swept(trimmed=False)[:2] == (2, pytest.approx(2 * 34))
    assert swept(skip_blank=False)[:2] == (3, pytest.approx(34 + 34 + 4))
    across = swept(blank_rapid=5.0)
    assert across[1] == pytest.approx(6 + 4)
    assert across[2] > 28  # the blank, and the way from the start
    assert swept(blank_rapid=28.5)[1] == swept()[1]


def test_one_way_sweeps_all_run_to_the_right() -> None:
    course = raster_course(_rows(), Sweep(100.0, 1.0, both_ways=False), (0.0, 0.0), False)
    cut = course.moves.part == PARTS.index("cut")
    assert (course.moves.steps[cut, 0] > 0).all()
    both = raster_course(_rows(), Sweep(100.0, 1.0), (0.0, 0.0), False)
    assert (both.moves.steps[both.moves.part == PARTS.index("cut"), 0] > 0).tolist() == [True, False]


def test_a_slower_sweep_that_wins_is_advised() -> None:
    """At 1000 mm/s2 a sweep of 400 mm/s needs 80 mm of run-out at each end: for small letters it is the slow one."""
    laser = machine("laser", vmax=(500.0, 300.0, 20.0), amax=(1000.0, 1000.0, 100.0))
    fast = beam_tool("raster", of=laser, feed=400.0, run_out=80.0, row_pitch=0.2)
    job = _job(RINGS, fast)
    note = next(p for p in job.problems if p.code == "slower-raster")
    assert isinstance(note.value, float)
    assert note.value < 0.8 * job.seconds
    slower = replace(fast, recipe=replace(fast.recipe, feed=200.0, run_out=20.0))
    assert note.value <= _job(RINGS, slower).seconds + 0.1


def test_coarser_rows_are_advised_while_they_still_overlap() -> None:
    job = _job(RINGS, beam_tool("raster", row_pitch=0.1, run_out=3.0))
    note = next(p for p in job.problems if p.code == "coarser-rows")
    assert note.says.startswith("Rows 0.16 mm apart")
    assert not _job(RINGS, beam_tool("raster", row_pitch=0.2, run_out=3.0)).problems


# --- pocket and vee --------------------------------------------------------------------------------------------------

LETTERS = {
    "ring": region(RINGS.marks[0].path()),
    "square": shapely.box(0, 0, 10, 7),
    "L": shapely.box(0, 0, 3, 12).union(shapely.box(0, 0, 9, 3)),
    "wedge": shapely.Polygon([(0, 0), (12, 0), (0, 5)]),
    "waist": shapely.box(0, 0, 6, 6).union(shapely.box(8, 0, 14, 6)).union(shapely.box(5, 2.5, 9, 3.3)),
}


@pytest.mark.parametrize("step", [0.2, 0.5, 0.8, 0.99, 3.0])
@pytest.mark.parametrize("name", LETTERS)
def test_rings_cover_all_that_the_bit_can_reach(name: str, step: float) -> None:
    """The reach of a disc is the opening of the letter (erosion, then dilation); the swept rings must fill it."""
    letter = LETTERS[name]
    found = pockets(letter, 1.0, step)
    lines = [shapely.LineString(r) for p in found for r in p.rings]
    swept = shapely.union_all(shapely.buffer(lines, 0.5))
    reach = letter.buffer(-0.5).buffer(0.5)
    bare = reach.difference(swept).buffer(-0.011)
    assert bare.area < 1e-3
    assert swept.difference(letter.buffer(0.002)).area < 1e-3  # and never beyond the letter
    assert sum(p.cleared_mm2 for p in found) == pytest.approx(reach.area, rel=0.01)


def test_a_letter_too_thin_for_the_bit_is_counted_as_left() -> None:
    job = _job(lettering("outline", [(box(0, 0, 8, 0.4),)]), bit_tool("pocket", 0.6))
    facts = dict(job.facts)
    assert facts["left_mm2"] == pytest.approx(facts["area_mm2"]) == pytest.approx(3.2)
    assert job.pen_downs == 0


def test_pockets_cost_more_than_their_outlines() -> None:
    assert _job(RINGS, bit_tool("pocket", 0.6, step_over=0.25)).cut_mm > 2 * _job(RINGS, bit_tool()).cut_mm


def test_vee_runs_in_three_dimensions() -> None:
    letters = lettering("outline", [(box(0, 0, 10, 6),)])
    tool = bit_tool("vee", depth=1.0, pass_depth=1.0)
    job = clock(letters, tool, _vee_lines())
    level = clock(letters, tool, [np.column_stack([p[:, :2], 0 * p[:, 2] - 0.2]) for p in _vee_lines()])
    assert job.cut_mm == pytest.approx(3 * 2 * math.hypot(3, 0.7))
    assert job.seconds > level.seconds  # the z axis is slow
    assert dict(job.facts)["deepest_mm"] == pytest.approx(0.9)
    assert job.strokes == letters.marks[0].path()


def test_vee_in_two_passes_is_no_deeper_than_each() -> None:
    letters = lettering("outline", [(box(0, 0, 10, 6),)])
    course = plan_piece(letters, bit_tool("vee", pass_depth=0.5, by="pass"), _vee_lines()).course
    height = 4.0 + np.cumsum(course.moves.steps[:, 2])
    first_lift = len(course.moves) // 2
    assert height.min() == pytest.approx(-0.9)
    assert height[:first_lift].min() == pytest.approx(-0.45)


def test_branches_of_a_vee_cut_run_on_into_each_other() -> None:
    """A T of four branches is cut with one plunge for each pair of its odd places, not one a branch."""
    middle = np.array([5.0, 3.0, -0.5])
    tips = [(0.0, 3.0, 0.0), (10.0, 3.0, 0.0), (5.0, 0.0, 0.0), (5.0, 6.0, 0.0)]
    lines = middle_lines([np.array([middle, tip]) for tip in tips])
    assert len(lines) == 2
    assert all(line[1] == pytest.approx(middle) for line in lines)
    assert sorted(line[0, 2] for line in lines) == [0.0, 0.0]


def test_vee_of_a_real_letter() -> None:
    """The middle lines of a ring with a 60 degree bit: as long as the ring's middle, as deep as half its width needs."""
    letters = lettering("outline", [(ring(5, 5, 4), ring(5, 5, 2.6, True))])
    tool = bit_tool("vee", depth=2.0, pass_depth=2.0)
    tool = replace(tool, cutter=replace(tool.cutter, kind="v-bit", angle=60.0, tip=0.2, diameter=6.0))
    job = clock(letters, tool)
    assert job.cut_mm == pytest.approx(2 * math.pi * 3.3, rel=0.02)
    assert dict(job.facts)["deepest_mm"] == pytest.approx((0.7 - 0.1) / math.tan(math.radians(30)), rel=0.02)
    assert job.pen_downs <= 2


@pytest.mark.parametrize("name", ALL)
def test_a_file_read_back_takes_as_long_as_it_was_reckoned(name: str) -> None:
    letters, tool = ALL[name]
    job = _job(letters, tool)
    again = course_of_file([job.strokes], letters.kind, letters.groove, tool)
    seconds = sum(seconds_by_part([again], limits_of(tool.machine))[0].values())
    assert seconds == pytest.approx(job.seconds, rel=2e-3)
