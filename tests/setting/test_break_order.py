"""Breaks come in the order of what they lose, whether all sizes are looked at or only as many as must be."""

from __future__ import annotations

from itertools import takewhile
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from engrave.setting.compose.break_judge import judge_of
from engrave.setting.compose.break_order import EQUAL_LOSS, BreakOrder, Lossy, _candidates, fewest_lines
from engrave.setting.fit.layout import Field, Stack
from engrave.setting.fit.prepared_room import prepare_room
from engrave.setting.fit.solver import SizeSearch
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.silhouettes import silhouette
from engrave.shop import load_shop

ROOMS = {
    "round": Point(0, 0).buffer(38),
    "heart": Polygon([(-40, 10), (-25, 30), (-8, 28), (0, 16), (8, 28), (25, 30), (40, 10), (0, -35)]),
    "knob": Point(0, 0).buffer(38).difference(Point(0, 0).buffer(7)),
    "holed": box(-40, -30, 40, 30).difference(box(-12, -6, -2, 4)),
}
SETTING = load_shop().settings["stack"]


def _search(shape: BaseGeometry, seed: int) -> SizeSearch:
    """Return the search for two fields of words that are blots, each joint at its own price."""
    rng = np.random.default_rng(seed)
    fields = []
    for ratio, many in ((1.0, 2), (0.6, int(rng.integers(2, 9)))):
        left, units = 0.0, []
        for k in range(many):
            wide = rng.uniform(1.0, 4.0)
            points = np.column_stack([left + rng.uniform(0, wide, 7), rng.uniform(-0.3, 1.0, 7)])
            units.append(silhouette(f"word{k}", [points], price=float(rng.choice([0.0, 0.02, 0.1]))))
            left += wide + 0.4
        fields.append(Field(ratio, tuple(units)))
    return SizeSearch(prepare_room(shape), Stack(tuple(fields), 1.5), 0.0, True)


def _order(search: SizeSearch, top: float) -> BreakOrder:
    frame = cast(ReadingFrame, SimpleNamespace(middle=0.0))
    sizes = [top * (1 - 0.05 * k) for k in range(6)]
    return BreakOrder(search, sizes, judge_of(search.layout, SETTING, frame), top, opened=True)


def _all(of: BreakOrder) -> list[Lossy]:
    """Return all breaks at all sizes in order, the first found of equals."""
    found: dict[object, Lossy] = {}
    for size in of.sizes:
        for one in _candidates(of.search, size, of.by, of.opened):
            found.setdefault(one, (1 - size / of.top + of.by.loss(one), one, size))
    return sorted(found.values(), key=lambda one: round(one[0] / EQUAL_LOSS))


@pytest.mark.parametrize("shape", ROOMS.values(), ids=ROOMS)
@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), top=st.floats(2.5, 9.0), share=st.floats(0.0, 1.0))
@example(seed=848, top=9.0, share=0.75)  # two losses that differ in their last digit only
def test_breaks_come_as_if_all_sizes_had_been_looked_at(
    shape: BaseGeometry, seed: int, top: float, share: float
) -> None:
    search = _search(shape, seed)
    every, of = _all(_order(search, top)), _order(search, top)
    assert list(iter(of.next, None)) == every
    assert all(len(one.lines) >= fewest_lines(search.layout, size) for _, one, size in every)
    if every:
        few = _order(search, top)
        few.most = every[int(share * (len(every) - 1))][0]
        cheap = list(
            takewhile(lambda one: one[0] < few.most, every)
        )  # of equals the first found ends it, as in `_least_lossy`
        assert [few.next() for _ in cheap] == cheap
        after = few.next()
        assert after is None or after[0] >= few.most


def test_sizes_at_which_every_break_loses_more_are_not_looked_at() -> None:
    search = _search(ROOMS["round"], 3)
    best = search.best()
    assert best is not None
    of = _order(search, best[1])
    first = of.next()
    assert first is not None
    of.most = 0.0
    assert of.next() is None
    assert of._looked < len(of.sizes)
