"""The proof code changes with everything that makes another lid, and with nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from engrave.geometry.paths import Contour
from engrave.intake.order import Words
from engrave.making import Piece, environment
from engrave.output.svg import proof_code
from engrave.verbs import try_words

Change = Callable[[Piece], Piece]


@pytest.fixture(scope="module")
def piece() -> Piece:
    (entry,) = try_words(
        "Wanda", "by the sea", lid="card-box", typeface="withy", wood="walnut", env=environment()
    ).entries
    assert entry.piece.is_made
    return entry.piece


def _task(**changes: Any) -> Change:
    return lambda p: replace(p, task=replace(p.task, **changes))  # type: ignore[type-var]


def _inner(part: str, **changes: Any) -> Change:
    return lambda p: replace(p, task=replace(p.task, **{part: replace(getattr(p.task, part), **changes)}))  # type: ignore[type-var]


def _part_of_tool(part: str, **changes: Any) -> Change:
    return lambda p: replace(
        p,
        task=replace(p.task, tool=replace(p.task.tool, **{part: replace(getattr(p.task.tool, part), **changes)})),  # type: ignore[union-attr,type-var]
    )


def _lettering(**changes: Any) -> Change:
    return lambda p: replace(p, lettering=replace(p.lettering, **changes))  # type: ignore[type-var]


def _lines(change: Callable[[Any], Any]) -> Change:
    return lambda p: replace(p, lettering=replace(p.lettering, lines=change(p.lettering.lines)))  # type: ignore[union-attr,type-var]


def _strokes(change: Callable[[tuple[Contour, ...]], tuple[Contour, ...]]) -> Change:
    def changed(p: Piece) -> Piece:
        assert p.toolpath is not None
        as_segments = tuple(
            Contour(s.start, s.segments, s.closed) for s in p.toolpath.strokes
        )  # lines are kept as arrays
        return replace(p, toolpath=replace(p.toolpath, strokes=change(as_segments)))

    return changed


def _order(**changes: Any) -> Change:
    def changed(p: Piece) -> Piece:
        assert p.task is not None
        order = replace(p.order, **changes)
        return replace(p, order=order, task=replace(p.task, order=order))

    return changed


def _first_moved(by: float) -> Change:
    def moved(strokes: tuple[Contour, ...]) -> tuple[Contour, ...]:
        first = strokes[0]
        return (replace(first, start=(round(first.start[0], 3) + by, first.start[1])), *strokes[1:])

    return _strokes(moved)


def _last_point_moved(by: float) -> Change:
    def moved(strokes: tuple[Contour, ...]) -> tuple[Contour, ...]:
        *others, last = strokes
        *segments, end = last.segments
        x, y = end[-1]
        return (*others, replace(last, segments=(*segments, (*end[:-1], (x, y + by)))))

    return _strokes(moved)


ANOTHER: dict[str, Change] = {
    "the words": _task(words=Words("Wanda", "by the lake")),
    "which field the words are in": _task(words=Words("Wanda", "", "by the sea")),
    "a line's words as set": _lines(lambda lines: (replace(lines[0], text="Wenda"), *lines[1:])),
    "a line's field": _lines(lambda lines: (replace(lines[0], field="foot"), *lines[1:])),
    "the lid": _inner("lid", id="another"),
    "the area": _inner("area", name="another"),
    "the side": _inner("area", side="inside"),
    "the wood": _inner("wood", id="another"),
    "the typeface": _task(typefaces=(("name", "another"), ("message", "withy"))),
    "the cutter": _part_of_tool("cutter", id="another"),
    "the method": _inner("tool", method="pocket"),
    "the depth, by a thousandth": lambda p: _inner("tool", depth=p.task.tool.depth + 0.001)(p),  # type: ignore[union-attr]
    "the groove, by a thousandth": lambda p: _lettering(groove=p.lettering.groove + 0.001)(p),  # type: ignore[union-attr]
    "the first point, by a thousandth": _first_moved(0.001),
    "the last point, by a thousandth": _last_point_moved(0.001),
    "a ring that is open": _strokes(lambda s: (replace(s[0], closed=not s[0].closed), *s[1:])),
    "a stroke less": _strokes(lambda s: s[1:]),
    "the order of the strokes": _strokes(lambda s: (s[1], s[0], *s[2:])),
}

THE_SAME: dict[str, Change] = {
    "the order's number": _order(id="B-7"),
    "the row": _order(row=99),
    "how many": _order(quantity=7),
    "the day": _order(due="2026-12-24"),
    "a note": _order(note="ring twice"),
    "what was approved": _order(approved="AAAAAA"),
    "the piece's number": lambda p: replace(p, piece=3),
    "the price": lambda p: replace(p, quote=None),
    "the time": lambda p: replace(p, estimate=None),
    "how many passes": lambda p: replace(p, toolpath=replace(p.toolpath, passes=p.toolpath.passes + 1)),  # type: ignore[union-attr,type-var]
    "the title of the lid": _inner("lid", title="Another name"),
    "the title of the wood": _inner("wood", title="Another name"),
    "the feed": _part_of_tool("recipe", feed=1.0),
    "the machine": _part_of_tool("machine", id="another"),
    "a point by a tenth of a micrometre": _first_moved(0.00004),
}


@pytest.mark.parametrize("what", ANOTHER)
def test_another_lid_has_another_code(what: str, piece: Piece) -> None:
    changed = ANOTHER[what](piece)
    assert changed != piece
    assert proof_code(changed) != proof_code(piece)


@pytest.mark.parametrize("what", THE_SAME)
def test_the_same_lid_has_the_same_code(what: str, piece: Piece) -> None:
    changed = THE_SAME[what](piece)
    assert changed != piece
    assert proof_code(changed) == proof_code(piece)


def test_all_the_codes_differ_from_one_another(piece: Piece) -> None:
    codes = {proof_code(change(piece)) for change in ANOTHER.values()}
    assert len(codes) == len(ANOTHER)


def test_a_code_is_of_signs_that_are_not_mistaken(piece: Piece) -> None:
    code = proof_code(piece)
    assert code
    assert len(code) == 6
    assert not set(code) & set("01OILU")


def test_what_is_not_made_has_no_code(piece: Piece) -> None:
    assert proof_code(replace(piece, toolpath=None)) is None
    assert proof_code(replace(piece, lettering=None)) is None
    assert proof_code(replace(piece, task=None)) is None
