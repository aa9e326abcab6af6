"""What a glance rules out fits in no way: words are composed the same with glances and without."""

from __future__ import annotations

from itertools import islice

import numpy as np
import pytest
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from engrave.setting.fit.glance import rougher
from engrave.setting.fit.layout import Field, Stack
from engrave.setting.fit.prepared_room import prepare_room
from engrave.setting.fit.solver import SizeSearch
from engrave.setting.text.silhouettes import hull_slices, silhouette

BREAKS = 200
"""Breaks that are held against each other at a size."""

HEART = Polygon([(-40, 10), (-25, 30), (-8, 28), (0, 16), (8, 28), (25, 30), (40, 10), (0, -35)])
ROOMS = {
    "heart": HEART,
    "knob": Point(0, 0).buffer(38).difference(Point(0, 0).buffer(7)),
    "notched": box(-40, -30, 40, 30).difference(box(-3, 20, 5, 30)).difference(Polygon([(10, -30), (14, -12), (18, -30)])),
    "slit": Point(0, 0).buffer(30).difference(box(-31, -0.02, -29, 0.02)),
}  # fmt: skip


def _stack(seed: int) -> Stack:
    """Return two fields of words that are blots of seven corners."""
    rng = np.random.default_rng(seed)
    fields, ratios = [], (1.0, 0.6)
    for ratio, many in zip(ratios, (2, 6), strict=True):
        left, units = 0.0, []
        for k in range(many):
            wide = rng.uniform(1.0, 4.0)
            points = np.column_stack([left + rng.uniform(0, wide, 7), rng.uniform(-0.3, 1.0, 7)])
            units.append(silhouette(f"word{k}", [points]))
            left += wide + 0.4
        fields.append(Field(ratio, tuple(units)))
    return Stack(tuple(fields), 1.5)


@pytest.mark.parametrize("shape", ROOMS.values(), ids=ROOMS)
@pytest.mark.parametrize("seed", range(4))
def test_breaks_are_the_same_with_a_glance_and_without(shape: BaseGeometry, seed: int) -> None:
    room, stack = prepare_room(shape), _stack(seed)
    plain, glancing = (SizeSearch(room, stack, 0.0, True) for _ in range(2))
    glancing.begin_to_glance()
    fitted = 0
    for size in np.geomspace(2.0, 14.0, 12).tolist():
        breaks = list(islice(plain.breaks_at(size), BREAKS))
        assert list(islice(glancing.breaks_at(size), BREAKS)) == breaks
        fitted += bool(breaks)
        assert glancing.alone_at(size) >= plain.alone_at(size)
    assert 1 < fitted < 12


@pytest.mark.parametrize("shape", ROOMS.values(), ids=ROOMS)
def test_several_sizes_at_once_are_as_each_by_itself(shape: BaseGeometry) -> None:
    search = SizeSearch(prepare_room(shape), _stack(9), 0.0, True)
    sizes, lines = [2.5, 3.25, 4.0, 6.0], (0, 3, 7)
    for size, found in zip(sizes, search.layout.baselines_at(sizes, lines), strict=True):
        alone = search.layout.baselines(size, lines)
        assert (found.spans, found.below, found.above, found.wedges) == (
            alone.spans, alone.below, alone.above, alone.wedges
        )  # fmt: skip


def test_a_room_drawn_roughly_holds_the_whole_room() -> None:
    for shape in ROOMS.values():
        room = prepare_room(shape)
        assert room.rough.shape.covers(room.shape)
        assert not room.rough.convex
    knob = prepare_room(ROOMS["knob"])
    assert len(knob.rough.room_edges.bend) < len(knob.room_edges.bend) / 2


def test_a_word_drawn_roughly_stays_within_its_ink() -> None:
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    slices = hull_slices(np.column_stack([-np.cos(turn), -np.sin(turn)]))
    rough = rougher(slices)
    assert len(rough) < len(slices) / 2
    assert (rough[0, 0], rough[-1, 1]) == (slices[0, 0], slices[-1, 1])
    x = np.linspace(-0.999, 0.999, 101)
    for i, outward in ((2, 1.0), (4, -1.0)):
        whole, within = (
            np.interp(x, np.append(s[:, 0], s[-1, 1]), np.append(s[:, i], s[-1, i + 1])) for s in (slices, rough)
        )
        assert (outward * (whole - within) >= -1e-12).all()


@pytest.mark.parametrize("shape", [*ROOMS.values(), Point(0, 0).buffer(30)], ids=[*ROOMS, "round"])
def test_lines_among_others_stand_as_by_themselves(shape: BaseGeometry) -> None:
    search = SizeSearch(prepare_room(shape), _stack(9), 0.0, True)
    told = 0
    for size in (2.5, 3.25, 4.0, 6.0):
        every = search.layout.baselines(size)
        for lines in ((0, 3, 7), (2, 5), (1,)):
            found, alone = search.layout.among(every, lines, size), search.layout.baselines(size, lines)
            assert (found is not None) == (set(alone.spans) == set(lines))
            if found is not None:
                told += 1
                assert (found.spans, found.below, found.above, found.wedges) == (
                    alone.spans, alone.below, alone.above, alone.wedges
                )  # fmt: skip
    assert told
