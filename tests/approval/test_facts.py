"""The code changes with each thing that was agreed on and with nothing else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from engrave.approval import code_of, facts_of, order_digest
from engrave.approval.facts import PieceFacts, _canonical, _contour, _told, _told_points, differing
from engrave.geometry.paths import Contour, line_path
from engrave.making import Env, Piece, environment
from engrave.verbs import try_words


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


@pytest.fixture(scope="module")
def facts(env: Env) -> PieceFacts:
    found = facts_of(made(env))
    assert found is not None
    return found


def made(env: Env, name: str = "Wanda", **how: str) -> Piece:
    return try_words(name, env=env, **how).entries[0].piece


@pytest.mark.parametrize("field", [f for f in PieceFacts.__slots__ if f not in ("words", "lines")])
def test_each_fact_is_part_of_the_code(facts: PieceFacts, field: str) -> None:
    other = replace(facts, **{field: "another"})
    assert order_digest((facts,)) != order_digest((other,))


def test_words_and_the_number_of_pieces_are_part_of_it(facts: PieceFacts) -> None:
    assert order_digest((facts,)) != order_digest((replace(facts, words=(("name", "Wands"),)),))
    assert order_digest((facts,)) != order_digest((replace(facts, lines=(("name", "Wands"),)),))
    assert order_digest((facts,)) != order_digest((facts, facts))


def test_order_id_and_quantity_are_no_part_of_it(env: Env, facts: PieceFacts) -> None:
    piece = made(env)
    other = replace(piece, order=replace(piece.order, id="K-9", quantity=5, due="2027-01-01"))
    again = facts_of(other)
    assert again is not None
    assert code_of((again,)) == code_of((facts,))


def test_geometry_counts_to_a_micrometre_whatever_its_order_and_direction() -> None:
    line = Contour((0.0, 0.0), (((1.0, 2.0),), ((2.0, 2.0), (3.0, 1.0))), False)
    back = Contour((3.0, 1.0), (((2.0, 2.0), (1.0, 2.0)), ((0.0, 0.0),)), False)
    assert _contour(line) == _contour(back)
    assert _contour(line) == _contour(replace(line, start=(0.0004, 0.0)))
    assert _contour(line) != _contour(replace(line, start=(0.001, 0.0)))


def test_what_differs_is_said_in_words(facts: PieceFacts) -> None:
    now = replace(facts, wood="oak", depth="1", geometry="other")
    assert differing((facts,), (now,)) == ("the wood", "the depth")
    assert differing((facts,), (facts, facts)) == ("the number of pieces",)
    assert differing((facts,), (replace(facts, geometry="other"),)) == ()


def test_what_is_on_hold_has_no_facts(env: Env) -> None:
    held = made(
        env, "Bartholomew Featherstonehaugh", lid="needle-box", typeface="vollkorn", cutter="mill-1", wood="oak"
    )
    assert not held.is_made
    assert facts_of(held) is None


NUMBERS = st.floats(-2000.0, 2000.0) | st.sampled_from(
    [0.0, -0.0, 0.0004, -0.0004, 0.0005, -0.0005, 10.0, -10.0, 100.0]
)


@given(st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=6))
@example([(-0.0001, 10.0), (0.0, 20.0004)])
def test_points_written_at_once_are_told_as_each_by_itself(points: list[tuple[float, float]]) -> None:
    assert _told_points(points) == [f"{_told(x)},{_told(y)}" for x, y in points]


@given(st.lists(st.tuples(st.integers(-2, 12), st.integers(-2, 12)), min_size=2, max_size=5))
def test_a_line_is_told_from_the_end_that_comes_first_as_text(points: list[tuple[int, int]]) -> None:
    at = [(x / 2, y / 2) for x, y in points]
    line = Contour(at[0], tuple((p,) for p in at[1:]), False)
    told = [f"{_told(x)},{_told(y)}" for x, y in at]
    ways = [" ".join(["1" * (len(at) - 1), *way]) for way in (told, told[::-1])]
    assert _contour(line) == _contour(line.reversed()) == min(ways)


LINES = st.lists(
    st.lists(st.tuples(st.integers(-2, 12), st.integers(-2, 12)), min_size=2, max_size=5), min_size=1, max_size=4
)


@given(LINES)
def test_lines_kept_as_arrays_are_told_as_those_of_segments(lines: list[list[tuple[int, int]]]) -> None:
    kept = tuple(line_path(np.array(line) / 2.0) for line in lines)
    as_segments = tuple(Contour(line.start, line.segments, False) for line in kept)
    curve = Contour((0.0, 0.0), (((1.0, 1.0), (2.0, 0.0)),), False)
    assert _canonical((*kept, curve)) == _canonical((*as_segments, curve))
