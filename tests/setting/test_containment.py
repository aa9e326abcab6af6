"""The last word on whether lettering lies in its room: a letter over the edge, on a knob or round one is refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from engrave.geometry.paths import polygon_path
from engrave.setting import Lettering, place
from engrave.setting.compose.containment import is_inside
from engrave.setting.lettering import Mark
from engrave.setting.reading_frame import ReadingFrame, frame_of
from engrave.shop import room
from engrave.tasks import Task
from engrave.typefaces import Shelf
from engrave.typefaces.run import Glyph

Make = Callable[..., Task]


def _frame(task: Task, laid: Lettering) -> ReadingFrame:
    frame = frame_of(task.area, task.tool.machine, task.tool.cutter, laid.groove)
    assert frame is not None
    return frame


def _moved(laid: Lettering, dx: float, dy: float, which: slice = slice(None)) -> Lettering:
    marks = list(laid.marks)
    marks[which] = [replace(m, matrix=(*m.matrix[:4], m.matrix[4] + dx, m.matrix[5] + dy)) for m in marks[which]]
    return replace(laid, marks=tuple(marks))


@pytest.mark.parametrize("typeface", ["withy", "quicksand"])
@pytest.mark.parametrize("lid", ["card-box", "round-caddy", "puzzle-box"])
def test_letters_that_were_placed_are_inside_and_one_over_the_edge_is_not(
    task: Make, shelf: Shelf, lid: str, typeface: str
) -> None:
    t = task(lid, "Ida", typeface=typeface)
    laid = place(t, shelf)
    frame = _frame(t, laid)
    assert is_inside(laid, frame)
    for dx, dy in ((t.area.width, 0.0), (-t.area.width, 0.0), (0.0, t.area.height), (0.0, -t.area.height)):
        assert not is_inside(_moved(laid, dx, dy), frame)
        assert not is_inside(_moved(laid, dx, dy, slice(0, 1)), frame)  # one letter of three
    grown = tuple(replace(m, matrix=tuple(9.0 * v for v in m.matrix)) for m in laid.marks)  # type: ignore[arg-type]
    assert not is_inside(replace(laid, marks=grown), frame)


@pytest.mark.parametrize("typeface", ["withy", "quicksand"])
def test_a_letter_laid_over_the_knob_is_refused(task: Make, shelf: Shelf, typeface: str) -> None:
    """The caddy's knob stands in the middle, at [46, 46] in our table."""
    t = task("round-caddy", "Ida", typeface=typeface)
    laid = place(t, shelf)
    frame = _frame(t, laid)
    first = laid.marks[0]
    x = sum(p[0] for c in first.path() for p in (c.start, c.end)) / (2 * len(first.path()))
    y = sum(p[1] for c in first.path() for p in (c.start, c.end)) / (2 * len(first.path()))
    assert not is_inside(_moved(laid, 46.0 - x, 46.0 - y, slice(0, 1)), frame)


def _block(x: float, y: float, half: float, hole: float = 0.0) -> Mark:
    """A square of ink about a place, with a square counter in it if wanted: its outline may lie clear of a knob that it covers."""

    def square(r: float, way: int) -> list[tuple[float, float]]:
        return [(-r, -r), (r, -r), (r, r), (-r, r)][::way]

    path = (polygon_path(square(half, 1)),) + ((polygon_path(square(hole, -1)),) if hole else ())
    return Mark(Glyph("test/block", "outline", path, 1.0), (1.0, 0.0, 0.0, 1.0, x, y), "O", 0)


@pytest.mark.parametrize(("wider_by", "inside"), [(None, False), (-2.0, False), (2.0, True)])
def test_ink_round_a_knob_may_not_cover_it(task: Make, shelf: Shelf, wider_by: float | None, inside: bool) -> None:
    """Ink whose outline nowhere touches what is kept free of the knob still may not lie on it; a counter round it may.

    wider_by: mm by which half the counter is wider than what is kept free; None: no counter.
    """
    t = task("round-caddy", "Ida", typeface="quicksand")
    laid = place(t, shelf)
    (kept_free,) = room(t.area, t.tool.machine, t.tool.cutter).interiors  # type: ignore[attr-defined]
    x0, y0, x1, y1 = kept_free.bounds
    reach = max(x1 - x0, y1 - y0) / 2
    hole = 0.0 if wider_by is None else reach + wider_by
    block = _block((x0 + x1) / 2, (y0 + y1) / 2, reach + 4.0, hole)
    assert is_inside(replace(laid, marks=(block,)), _frame(t, laid)) is inside


def test_lettering_without_ink_is_inside(task: Make, shelf: Shelf) -> None:
    t = task("card-box", "Ida", typeface="withy")
    laid = place(t, shelf)
    assert is_inside(replace(laid, marks=()), _frame(t, laid))


def test_a_groove_lies_inside_with_its_whole_width(task: Make, shelf: Shelf) -> None:
    """A single line whose middle is still inside the room, but not the wood that its groove takes, is refused."""
    t = task("card-box", "Ida", typeface="withy")
    laid = place(t, shelf)
    frame = _frame(t, laid)
    x0 = room(t.area, t.tool.machine, t.tool.cutter).bounds[0]
    left = min(p[0] for m in laid.marks for c in m.path() for p in (c.start, *(s[-1] for s in c.segments)))
    assert laid.groove > 0.1
    assert is_inside(_moved(laid, x0 - left + 0.6 * laid.groove, 0.0), frame)
    assert not is_inside(_moved(laid, x0 - left + 0.4 * laid.groove, 0.0), frame)
