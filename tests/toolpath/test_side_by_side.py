"""Lines side by side against the area they are meant to fill: an independent raster of the planned moves."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely import LineString, contains_xy

from engrave.geometry.affine import IDENTITY
from engrave.geometry.flattening import flatten_all
from engrave.geometry.regions import centre_lines, region
from engrave.making import Env, Piece, environment
from engrave.motion.planner import CUT
from engrave.setting.lettering import Lettering, Line, Mark
from engrave.timing import estimate_time
from engrave.toolpath import toolpath_of
from engrave.toolpath.line_runs import linked
from engrave.toolpath.side_by_side import lines_across, mark_width, passes_over
from engrave.toolpath.strokes import corner_of
from engrave.toolpath.worn_areas import LINE_CHORD, lines_in
from engrave.typefaces.run import Glyph
from engrave.verbs import try_words
from tests.toolpath import workbench

PIXEL = 0.02
"""mm: a sixth of the narrowest mark."""

LINKED = 2
"""How often more than by lines side by side a spot is passed at most: where two of them are linked, and where they turn."""

CASES = {
    "a beam": {"name": "Wanda", "cutter": "diode-450", "wood": "walnut", "line_weight": "auto"},
    "crossings and joins": {"name": "XAK 8&", "cutter": "diode-450", "wood": "cherry", "line_weight": "8 %"},
    "a beam that stops": {"name": "Åsa", "cutter": "co2-tube", "wood": "walnut", "line_weight": "auto"},
    "a joined hand": {
        "name": "Ella",
        "typeface": "hershey-script",
        "cutter": "diode-450",
        "wood": "walnut",
        "line_weight": "1/14",
    },
    "a bit": {"name": "Ida", "cutter": "ball-1", "wood": "walnut", "line_weight": "16 %"},
    "a pointed bit": {"name": "Li", "cutter": "v30", "wood": "walnut", "line_weight": "14 %"},
}


@cache
def _env() -> Env:
    return environment()


@cache
def made(case: str) -> Piece:
    """The piece of a case, in Withy on the round caddy where nothing else is said."""
    asked = {"typeface": "withy", "lid": "round-caddy"} | CASES[case]
    piece = try_words(env=_env(), **asked).entries[0].piece  # type: ignore[arg-type]
    assert piece.task is not None and piece.task.tool.method == "side-by-side"
    return piece


def swept(piece: Piece) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Return how often each pixel is passed by the cutter's mark on the planned moves that cut, and the pixels' x and y.

    A pixel counts again when the mark has left it and comes back.
    """
    assert piece.task is not None and piece.toolpath is not None
    wide, high = mark_width(piece.task.tool)
    moves = piece.toolpath.course.moves
    start = corner_of(flatten_all(piece.toolpath.drawn), piece.task.tool.machine.datum)
    way = np.concatenate([np.zeros((1, 3)), np.cumsum(moves.steps, axis=0)])
    points = np.array(start) + way[:, :2]
    low, size = points.min(axis=0) - max(wide, high), np.ptp(points, axis=0) + 2 * max(wide, high)
    shape = tuple(int(v) for v in np.ceil(size[::-1] / PIXEL) + 1)
    reach = np.ceil(np.array([wide, high]) / 2 / PIXEL).astype(int)
    gy, gx = np.mgrid[-reach[1] : reach[1] + 1, -reach[0] : reach[0] + 1]
    dy, dx = (g[(gx * PIXEL / (wide / 2)) ** 2 + (gy * PIXEL / (high / 2)) ** 2 <= 1] for g in (gy, gx))
    count, last = np.zeros(shape, dtype=np.int64), np.full(shape, -(10**6), dtype=np.int64)
    clock = 0
    for a, b, part, depth in zip(points[:-1], points[1:], moves.part, way[1:, 2], strict=True):
        deepest = depth <= way[:, 2].min() + 1e-9
        steps = max(1, int(np.hypot(*(b - a)) / PIXEL))
        clock += 1000 if part != CUT else 0
        if part != CUT or not deepest:
            continue
        for at in a + (b - a) * np.linspace(0, 1, steps + 1)[1:, None]:
            x, y = np.rint((at - low) / PIXEL).astype(int)
            clock += 1
            again = clock - last[y + dy, x + dx] > 2 * reach.sum()
            count[y + dy[again], x + dx[again]] += 1
            last[y + dy, x + dx] = clock
    xs, ys = np.meshgrid(low[0] + PIXEL * np.arange(shape[1]), low[1] + PIXEL * np.arange(shape[0]))
    return count, xs, ys


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_moves_fill_the_lines_and_nothing_else(case: str) -> None:
    piece = made(case)
    assert piece.toolpath is not None and piece.lettering is not None
    area = region(piece.toolpath.drawn, 0.001)
    count, xs, ys = swept(piece)
    inside = contains_xy(area.buffer(-PIXEL / 2), xs, ys)
    covered = (count > 0) & inside
    assert covered.sum() >= 0.995 * inside.sum()
    assert not ((count > 0) & ~contains_xy(area.buffer(PIXEL), xs, ys)).any()
    most = _passes(piece)
    assert (count[inside] > most + LINKED).mean() < 0.001
    assert np.median(count[inside]) <= most


def _passes(piece: Piece) -> int:
    """How many of lines side by side pass one spot: those nearer to it than half the mark, on both sides."""
    assert piece.task is not None and piece.toolpath is not None and piece.lettering is not None
    mark = mark_width(piece.task.tool)
    lines = dict(piece.toolpath.facts)["lines"]
    apart = (max(line.weight for line in piece.lettering.lines) - min(mark)) / (lines - 1)
    return int(max(mark) / apart) + 1


SAMPLE = (
    ("withy", "Zoë 8&", "diode-450", "birch"), ("ems-felix", "Bo", "co2-tube", "basswood"),
    ("ems-allure", "Ella", "diode-450", "walnut"), ("hershey-sans", "Ægi", "mill-sixteenth", "ash"),
    ("ems-readability", "Iłłi", "diode-450", "oak"), ("ems-tech", "Lý", "diode-1064", "walnut"),
    ("ems-nixish", "Ida", "co2-tube", "white-oak"), ("hershey-script", "Max", "mill-1", "mahogany"),
    ("withy", "Жук", "ball-1", "cherry"), ("withy", "Ωρα", "v60", "basswood"),
)  # fmt: skip
"""Every single-line typeface, beams and bits, soft and hard woods; the weight of each is drawn at random."""


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(SAMPLE)))
def test_lines_of_a_weight_drawn_at_random_are_covered_and_nothing_else(number: int) -> None:
    """The moves swept by beam or bit: nothing outside, 99.5 % covered, no spot passed more often than stated."""
    typeface, name, cutter, wood = SAMPLE[number]
    drawn = random.Random(f"weights {number}")
    for _ in range(4):  # until a weight is wider than the cutter's groove and the wood is cut by this cutter
        share = f"{drawn.uniform(6.0, 18.0):.1f} %"
        piece = (
            try_words(
                name, env=_env(), typeface=typeface, cutter=cutter, wood=wood, lid="needle-box", line_weight=share
            )
            .entries[0]
            .piece
        )
        if piece.task is not None and piece.task.weights and piece.toolpath is not None:
            break
    assert piece.task is not None and piece.toolpath is not None and piece.task.tool.method == "side-by-side"
    area = region(piece.toolpath.drawn, 0.001)
    count, xs, ys = swept(piece)
    inside = contains_xy(area.buffer(-PIXEL / 2), xs, ys)
    assert ((count > 0) & inside).sum() >= 0.995 * inside.sum()
    assert not ((count > 0) & ~contains_xy(area.buffer(PIXEL), xs, ys)).any()
    assert count[inside].max() <= dict(piece.toolpath.facts)["passes_over"]


@pytest.mark.slow
def test_the_area_is_that_of_a_round_pen_along_the_letters_lines() -> None:
    piece, plain = made("a beam"), _plain("a beam")
    assert piece.lettering is not None and plain.lettering is not None and piece.toolpath is not None
    (line,) = piece.lettering.lines
    at_size = [
        replace(m, matrix=(line.cap_mm, 0.0, 0.0, line.cap_mm, 0.0, 0.0)) for m in plain.lettering.marks if m.glyph.path
    ]
    pens = sum(centre_lines(m.path(), 0.0005).buffer(line.weight / 2, quad_segs=32).area for m in at_size)
    assert region(piece.toolpath.drawn, 0.0005).area == pytest.approx(pens, rel=0.003)
    assert line.weight == pytest.approx(line.cap_mm / 10)


def _plain(case: str) -> Piece:
    asked = {"typeface": "withy", "lid": "round-caddy"} | CASES[case] | {"line_weight": "plain"}
    return try_words(env=_env(), **asked).entries[0].piece  # type: ignore[arg-type]


@pytest.mark.slow
def test_lines_side_by_side_take_clearly_less_than_rows() -> None:
    piece = made("a beam")
    assert piece.task is not None and piece.task.weighting is not None and piece.lettering is not None
    (rows,) = [t for t in piece.task.weighting.others if t.method == "raster"]
    assert piece.estimate is not None
    by_rows = estimate_time(toolpath_of(piece.lettering, rows), rows).seconds
    assert piece.estimate.seconds < 0.5 * by_rows


def test_how_many_lines_lie_side_by_side() -> None:
    assert lines_across(1.1, 0.1, 0.1) == 12  # ten steps, eleven lines, an even number of them
    assert lines_across(1.0, 0.1, 0.1) == 10
    assert lines_across(0.2, 0.19, 0.1) == 2


def test_a_straight_stroke_is_even_lines_in_one_run() -> None:
    """A bar of 10 by 1.1 mm with round ends, mark 0.2: lines 0.1 mm apart, all in one run."""
    bar = centre_lines((workbench.stroke((0.0, 0.0), (10.0, 0.0)),)).buffer(0.55, quad_segs=16)
    path = (workbench.polygon_path(list(bar.exterior.coords)[:-1]),)
    marks = (Mark(Glyph("t/bar/0", "outline", path, 1.0), IDENTITY, "l", 0),)
    laid = Lettering("outline", "stack", marks, (Line("l", "name", 10.0, 7.0, 0.0, 1.1),), 0.0)
    tool = workbench.beam_tool(step_over=0.1, inset=True)
    toolpath = toolpath_of(laid, replace(tool, method="side-by-side"))
    (run,) = toolpath.strokes
    lengths = dict(toolpath.facts)
    assert lengths["lines"] == 10
    at_middle = sorted({round(y, 2) for y in _crossings(run, 5.0)})
    assert len(at_middle) == 10
    assert np.allclose(np.diff(at_middle), 0.1, atol=0.012)


def test_areas_worn_many_times_keep_few_corners(monkeypatch: pytest.MonkeyPatch) -> None:
    """A curl 3 mm wide, worn fifteen times: each line lies at its own distance from the edge, and corners do not pile up."""
    turns = np.linspace(0.0, 4.0, 200)
    curl = LineString(np.column_stack([(4.0 + 2.0 * turns) * np.cos(turns), (4.0 + 2.0 * turns) * np.sin(turns)]))
    part = curl.buffer(1.5, quad_segs=32)
    corners: list[int] = []
    buffer = shapely.buffer

    def counted(shapes: NDArray[np.object_], *given: float, **named: int) -> NDArray[np.object_]:
        corners.extend(shapely.get_num_coordinates(shapes).tolist())
        return np.asarray(buffer(shapes, *given, **named))

    monkeypatch.setattr("engrave.toolpath.worn_areas.shapely.buffer", counted)
    (lines,) = lines_in([part], (0.2, 0.2), [0.1])
    assert len(lines) == 15
    for k, line in enumerate(lines):
        away = shapely.distance(part.exterior, shapely.points(line))
        assert np.abs(away - 0.1 - 0.1 * k).max() < 1.5 * LINE_CHORD
    assert max(corners) <= 2 * corners[0]


@pytest.mark.parametrize("weight", [0.0, 0.2])
def test_lines_no_wider_than_the_mark_are_refused(weight: float) -> None:
    """Their step inwards would be none, or outwards, and would never come to an end."""
    bar = (workbench.box(0.0, 0.0, 10.0, 1.0),)
    marks = (Mark(Glyph("t/bar/0", "outline", bar, 1.0), IDENTITY, "l", 0),)
    laid = Lettering("outline", "stack", marks, (Line("l", "name", 10.0, 7.0, 0.0, weight),), 0.0)
    with pytest.raises(ValueError, match="no wider than"):
        toolpath_of(laid, replace(workbench.beam_tool(step_over=0.1, inset=True), method="side-by-side"))


def _crossings(run: object, x: float) -> list[float]:
    points = [run.start, *(s[-1] for s in run.segments)]  # type: ignore[attr-defined]
    found = []
    for (ax, ay), (bx, by) in zip(points[:-1], points[1:], strict=True):
        if (ax - x) * (bx - x) < 0:
            found.append(ay + (by - ay) * (x - ax) / (bx - ax))
    return found


def test_lines_far_apart_are_runs_of_their_own() -> None:
    ring = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)])
    inner = 0.1 + 0.8 * ring
    one, two = linked([[ring, inner], [ring, ring + 5.0]], 0.2)
    assert len(one) == 1
    assert len(two) == 2
    (run,) = one
    assert np.hypot(*np.diff(run, axis=0).T).sum() == pytest.approx(4 + 3.2 + np.hypot(0.1, 0.1), abs=0.05)


def test_how_often_one_spot_is_passed_is_stated() -> None:
    assert passes_over((0.2, 0.2), 0.1) == 6  # three lines reach a spot, and as many again where they turn
    assert passes_over((0.08, 0.18), 0.1) == 4
    assert passes_over((1.0, 1.0), 0.51) == 4
