"""The order of strokes: against exact dynamic programming, and that no curve is lost, doubled or altered."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.geometry.flattening import flatten_all, length
from engrave.geometry.paths import Contour, Path, split
from engrave.motion.machine_limits import Limits, limits_of
from engrave.motion.planner import RAPID, chain_through, plan_chain
from engrave.toolpath.join import joined_strokes, rotated
from engrave.toolpath.stroke_order import (
    OR_OPT_LENGTHS,
    Candidates,
    _Line,
    best_order,
    candidates_of,
    costs,
    rapid_seconds,
)
from engrave.toolpath.strokes import HeadRoute, as_drawn, in_order
from toolpath.workbench import box, lettering, machine, ring, stroke

LIMITS = Limits((50.0, 50.0, 10.0), (400.0, 400.0, 150.0))
START = (0.0, 0.0)


def _exact(ways: Candidates, table: np.ndarray) -> float:
    """Least seconds over all orders and ways, by dynamic programming over sets of strokes (Held and Karp, 1962)."""
    m, n = len(ways.stroke), int(ways.stroke[-1]) + 1
    of = [np.flatnonzero(ways.stroke == i) for i in range(n)]
    best = np.full((1 << n, m), np.inf)
    for w in range(m):
        best[1 << int(ways.stroke[w]), w] = table[-1, w]
    for done in range(1, 1 << n):
        here = best[done]
        if not np.isfinite(here).any():
            continue
        reach = (here[:, None] + table[:m, :m]).min(axis=0)
        for i in range(n):
            if not done >> i & 1:
                best[done | 1 << i, of[i]] = np.minimum(best[done | 1 << i, of[i]], reach[of[i]])
    return float((best[-1] + table[:m, -1]).min())


def _cost(order: list[int], table: np.ndarray) -> float:
    line = [len(table) - 1, *order, len(table) - 1]
    return float(sum(table[a, b] for a, b in pairwise(line)))


def _some(rng: np.random.Generator, n: int) -> Candidates:
    """Strokes as on a lid: open ones of a letter's size, a few rings, some cut there and back."""
    choices, returns = [], []
    for _ in range(n):
        at = rng.uniform(0, [80, 25])
        closed = rng.random() < 0.25
        count = 4 if closed else 2
        choices.append([tuple(float(v) for v in at + rng.normal(0, 3, 2)) for _ in range(count)])
        returns.append(bool(closed or rng.random() < 0.2))
    return candidates_of(choices, returns)  # type: ignore[arg-type]


def _excess(seeds: range, low: int, high: int) -> np.ndarray:
    found = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        ways = _some(rng, int(rng.integers(low, high)))
        home = seed % 2 == 0
        table = costs(ways, START, home, LIMITS)
        order = best_order(ways, START, home, LIMITS)
        assert sorted(ways.stroke[order]) == list(range(int(ways.stroke[-1]) + 1))
        found.append(_cost(order, table) / _exact(ways, table) - 1.0)
    return np.array(found)


@pytest.mark.source("Held and Karp, 1962: exact dynamic programming")
def test_within_one_per_cent_of_the_exact_order() -> None:
    excess = _excess(range(60), 2, 10)
    assert excess.min() > -1e-9
    assert excess.mean() < 0.01
    assert excess.max() < 0.08


@pytest.mark.source("Held and Karp, 1962: exact dynamic programming")
@pytest.mark.slow
def test_within_one_per_cent_of_the_exact_order_of_twelve() -> None:
    excess = _excess(range(100, 108), 11, 13)
    print(f"order of 11 to 12 strokes: mean {excess.mean():.2%} over the exact optimum, worst {excess.max():.2%}")
    assert excess.mean() < 0.01
    assert excess.max() < 0.08


def _moved(line: list[int], turned: list[int]) -> list[list[int]]:
    """Return every order that comes of taking one run of strokes out and putting it in elsewhere, kept or turned round."""
    found = []
    for k in (k for k in OR_OPT_LENGTHS if k < len(line)):
        for i in range(len(line) - k + 1):
            rest = line[:i] + line[i + k :]
            for run in (line[i : i + k], turned[i : i + k][::-1]):
                found += [rest[:at] + run + rest[at:] for at in range(len(rest) + 1) if at != i]
    return found


@pytest.mark.parametrize("n", range(1, 8))
def test_the_run_that_is_moved_is_the_best_of_all_runs_and_places(n: int) -> None:
    for seed in range(4):
        rng = np.random.default_rng(seed)
        ways = _some(rng, n)
        table = costs(ways, START, bool(seed % 2), LIMITS)
        line = [int(rng.choice(np.flatnonzero(ways.stroke == i))) for i in rng.permutation(n)]
        ends, turned = len(table) - 1, [int(ways.back[w]) for w in line]
        gain, better = _Line(np.array([ends, *line, ends]), np.array([ends, *turned, ends]), table).or_opt()
        least = min((_cost(order, table) for order in _moved(line, turned)), default=math.inf)
        assert gain == pytest.approx(least - _cost(line, table))
        if n > 1:
            assert _cost([int(w) for w in better()[1:-1]], table) == pytest.approx(least)


def test_rapids_are_costed_as_they_are_planned() -> None:
    rng = np.random.default_rng(3)
    limits = Limits((60.0, 40.0, 10.0), (500.0, 300.0, 150.0))
    for step in rng.uniform(-40, 40, (20, 2)):
        planned = plan_chain(chain_through([[0, 0], step], RAPID), limits).total
        assert float(rapid_seconds(step, limits)) == pytest.approx(planned)
    assert float(rapid_seconds(np.zeros(2), limits)) == 0.0


# --- joining ---------------------------------------------------------------------------------------------------------


def _long(path: Path) -> float:
    return sum(length(c) for c in path)


def test_ends_that_meet_are_joined_where_they_run_on_straight() -> None:
    """A T with a bar of two halves: the halves run on into each other, the stem stays alone."""
    halves = (stroke((0, 5), (2, 5)), stroke((4, 5), (2, 5)), stroke((2, 5), (2, 0)))
    joined = joined_strokes(halves)
    assert [(c.start, c.end) for c in joined] == [((0, 5), (4, 5)), ((2, 5), (2, 0))]


def test_a_letter_across_glyphs_becomes_one_stroke() -> None:
    joined = joined_strokes((stroke((0, 0), (5, 3)), stroke((5.004, 3.0), (9, 0)), stroke((12, 0), (9, 0.003))))
    assert len(joined) == 1
    assert _long(joined) == pytest.approx(_long((stroke((0, 0), (5, 3), (9, 0), (12, 0)),)), abs=0.02)


def test_a_loop_is_taken_into_the_stroke_that_it_hangs_on() -> None:
    loop = (stroke((5, 0), (7, 3), (3, 3)), stroke((3, 3), (5, 0)))
    joined = joined_strokes((*loop, stroke((0, 0), (5, 0)), stroke((5, 0), (10, 0))))
    assert len(joined) == 1
    assert not joined[0].closed
    assert _long(joined) == pytest.approx(_long((*loop, stroke((0, 0), (10, 0)))))


def test_loops_in_a_row_are_one_stroke() -> None:
    """Each of thirty loops of two halves touches the next; a stroke leads to the last."""
    halves = [
        h for k in range(30)
        for h in (stroke((k, 0.0), (k + 0.5, 0.4), (k + 1.0, 0.0)), stroke((k + 1.0, 0.0), (k + 0.5, -0.4), (k, 0.0)))
    ]  # fmt: skip
    (closed,) = joined_strokes(halves)
    assert closed.closed and length(closed) == pytest.approx(sum(length(h) for h in halves))
    (led,) = joined_strokes([*halves, stroke((30.0, 0.0), (35.0, 0.0))])
    assert not led.closed and length(led) == pytest.approx(5.0 + sum(length(h) for h in halves))


def test_a_ring_is_opened_where_a_stem_ends_on_it() -> None:
    joined = joined_strokes((ring(0, 0, 3), stroke((3, 0), (3, 8))))
    assert len(joined) == 1
    assert _long(joined) == pytest.approx(2 * math.pi * 3 + 8, rel=1e-3)


def test_strokes_that_close_are_closed_exactly() -> None:
    square = (stroke((0, 0), (4, 0)), stroke((4, 4), (4, 0.001)), stroke((4, 4), (0, 4)), stroke((0.002, 0), (0, 4)))
    (joined,) = joined_strokes(square)
    assert joined.closed
    assert joined.end == joined.start


def test_dots_and_nothing_are_left_as_they_are() -> None:
    dot = Contour((1.0, 1.0), (), False)
    assert joined_strokes(()) == ()
    assert joined_strokes((dot, ring(5, 5, 1))) == (dot, ring(5, 5, 1))


def _degrees(strokes: Path) -> int:
    """Fewest trails through the strokes as a graph: half the odd places of each part, at least one (Euler)."""
    ends = [(round(p[0]), round(p[1])) for c in strokes for p in (c.start, c.end)]
    root = {p: p for p in ends}

    def find(p: tuple[int, int]) -> tuple[int, int]:
        while root[p] != p:
            p = root[p]
        return p

    for a, b in zip(ends[::2], ends[1::2], strict=True):
        root[find(a)] = find(b)
    odd: dict[tuple[int, int], int] = {}
    for p in set(ends):
        odd[find(p)] = odd.get(find(p), 0) + ends.count(p) % 2
    return sum(max(1, n // 2) for n in odd.values())


GRID = st.tuples(st.integers(0, 3), st.integers(0, 3))


@pytest.mark.source("Euler, 1736: trails through a graph")
@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(GRID, GRID).filter(lambda e: e[0] != e[1]), min_size=1, max_size=14))
def test_as_few_strokes_as_a_graph_allows(edges: list[tuple[tuple[int, int], tuple[int, int]]]) -> None:
    strokes = tuple(stroke((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))) for a, b in edges)
    joined = joined_strokes(strokes)
    assert _long(joined) == pytest.approx(_long(strokes))
    assert sum(len(c.segments) for c in joined) == len(strokes)
    assert len(joined) == _degrees(strokes)


def test_a_ring_begun_elsewhere_is_the_same_curve() -> None:
    circle = ring(2, 1, 5)
    for i in range(4):
        for t in (0.0, 0.25, 0.7):
            turned = rotated(circle, i, t)
            assert turned.closed
            assert turned.end == pytest.approx(turned.start)
            radii = np.hypot(*(flatten_all([turned])[0] - (2, 1)).T)
            assert radii == pytest.approx(5.0, abs=2e-3)
            assert length(turned) == pytest.approx(length(circle), rel=1e-6)


def test_a_curve_split_is_the_same_curve() -> None:
    head, tail = split((0.0, 0.0), ((0.0, 4.0), (6.0, 4.0)), 0.25)
    assert head[-1] == pytest.approx((0.375, 1.75))  # the quadratic at 1/4: (6/16, 2 * 3/16 * 4 + 4/16)
    assert tail == (pytest.approx((1.5, 4.0)), (6.0, 4.0))


# --- a lettering's strokes -------------------------------------------------------------------------------------------


def _way() -> HeadRoute:
    return HeadRoute((0.0, 10.0), True, limits_of(machine()))


def test_single_lines_are_ordered_freely_and_none_is_lost() -> None:
    drawn = lettering("single-line", [(stroke((10 * i, 0), (10 * i, 6)), ring(10 * i + 4, 3, 2)) for i in (3, 0, 2, 1)])
    cut = in_order(as_drawn(drawn), drawn.kind, _way(), False)
    assert len(cut) == 8
    assert _long(cut) == pytest.approx(_long(as_drawn(drawn)), rel=1e-4)
    assert [round(c.start[0] / 10) for c in cut][::2] in ([0, 1, 2, 3], [3, 2, 1, 0])


def test_outlines_keep_each_glyph_together_in_reading_order() -> None:
    glyphs = [(ring(10 * i + 5, 5, 4), ring(10 * i + 5, 5, 3, True)) for i in range(4)]
    cut = in_order(as_drawn(lettering("outline", glyphs)), "outline", _way(), False)
    assert [round((c.start[0] - 5) / 10) for c in cut] == [0, 0, 1, 1, 2, 2, 3, 3]
    assert all(c.closed for c in cut)
    assert [round(length(c)) for c in cut] == [25, 19] * 4


def test_outlines_begin_where_the_way_is_short() -> None:
    glyphs = [(box(10 * i, 0, 5, 5),) for i in range(3)]
    cut = in_order(as_drawn(lettering("outline", glyphs)), "outline", _way(), False)
    gaps = [math.dist(a.end, b.start) for a, b in pairwise(cut)]
    assert gaps == pytest.approx([10.0, 10.0], abs=5.1)
    assert cut[0].start[1] == 5.0  # the corner nearest to the front, where the head waits


def test_nothing_gives_nothing() -> None:
    assert in_order((), "single-line", _way(), False) == ()
    assert in_order((), "outline", _way(), False) == ()
