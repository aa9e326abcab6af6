"""Lines held against a room at their borders and its corners stand as a walk over every slice tells."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon, box

from engrave.geometry.arrays import Floats
from engrave.setting.fit.line_probe import LineProbe, borders_of
from engrave.setting.fit.prepared_room import PreparedRoom, prepare_room

STEPS = 400
"""Places looked at within each slice; corners of room and slices are among them to a hair on either side."""

HEART = Polygon([(-40, 10), (-25, 30), (-8, 28), (0, 16), (8, 28), (25, 30), (40, 10), (0, -35)])
NOTCHED = box(-40, -30, 40, 30).difference(box(-3, 20, 5, 30)).difference(Polygon([(10, -30), (14, -12), (18, -30)]))
HOLED = NOTCHED.difference(box(-12, -6, -2, 4))


def _height_at(room: PreparedRoom, x: float) -> tuple[float, float]:
    if not room.x[0] <= x <= room.x[-1]:
        return math.inf, -math.inf
    k = min(int(np.searchsorted(room.x, x, side="right")) - 1, len(room.x) - 2)
    share = (x - room.x[k]) / (room.x[k + 1] - room.x[k])
    low, high = (edge[k, 0] + share * (edge[k, 1] - edge[k, 0]) for edge in (room.floor, room.ceiling))
    return float(low), float(high)


def _walked(room: PreparedRoom, slices: Floats, size: float, axis: float) -> tuple[float, float]:
    """Return lowest and highest baseline of a line, looked at place by place."""
    low, high = -math.inf, math.inf
    for left, right, top0, top1, bottom0, bottom1 in slices.tolist():
        x0, x1 = left * size + axis, right * size + axis
        inner = [x for x in (*(room.x - 1e-7), *(room.x + 1e-7)) if x0 < x < x1]
        for x in [*np.linspace(x0 + 1e-7, x1 - 1e-7, STEPS), *inner]:
            share = (x - x0) / (x1 - x0)
            under, over = _height_at(room, float(x))
            low = max(low, under - size * (bottom0 + share * (bottom1 - bottom0)))
            high = min(high, over - size * (top0 + share * (top1 - top0)))
    return low, high


def _line(rng: np.random.Generator, gaps: bool) -> Floats:
    """Return a line of slices that meet, or, with gaps, of some that do not; some begin where the one before is higher."""
    wide = rng.uniform(0.1, 0.7, 9)
    left = np.cumsum(wide) - wide - wide.sum() / 2
    inks = np.column_stack([rng.uniform(0.4, 1.1, (9, 2)), rng.uniform(-0.4, 0.1, (9, 2))])
    rows = np.column_stack([left, np.append(left[1:], left[-1] + wide[-1]), inks])
    return rows[[0, 1, 3, 4, 5, 8]] if gaps else rows


@pytest.mark.parametrize("shape", [HEART, NOTCHED, HOLED], ids=["heart", "notched", "holed"])
@pytest.mark.parametrize("gaps", [False, True])
def test_lines_stand_as_a_walk_over_all_places_tells(shape: Polygon, gaps: bool) -> None:
    rng, room = np.random.default_rng(7), prepare_room(shape)
    for size, axis in ((4.0, 0.0), (11.0, 0.0), (7.5, -6.3), (9.0, 12.0), (40.0, 0.0)):
        lines = [_line(rng, gaps) for _ in range(3)]
        first = np.cumsum([0, *(len(line) for line in lines)])[:-1]
        (low,), (high,) = LineProbe(room, borders_of(np.concatenate(lines), first), np.array([size]), axis).limits()
        for k, line in enumerate(lines):
            lowest, highest = _walked(room, line, size, axis)
            assert (low[k], high[k]) == pytest.approx((lowest, highest), abs=2e-5)


def test_a_border_on_a_corner_of_the_room_counts_to_both_sides() -> None:
    """Two slices meet just where the room's floor leaps: each stands on its own side of the step."""
    room = prepare_room(Polygon([(-20, -10), (0, -10), (0, 0), (20, 0), (20, 30), (-20, 30)]))
    slices = np.array([[-1.0, 0.0, 1.0, 1.0, -0.5, -0.5], [0.0, 1.0, 1.0, 1.0, 0.0, 0.0]])
    low, high = LineProbe(room, borders_of(slices, np.array([0])), np.array([10.0]), 0.0).limits()
    assert (low.tolist(), high.tolist()) == ([[pytest.approx(0.0)]], [[pytest.approx(20.0)]])


def test_how_far_lines_stand_from_what_is_in_the_way() -> None:
    room = prepare_room(HOLED)
    slices = np.array([[-1.0, 0.0, 1.0, 0.6, -0.2, 0.0], [0.0, 1.0, 0.8, 0.8, 0.0, 0.0]])
    (below,), (above,) = LineProbe(room, borders_of(slices, np.array([0])), np.array([6.0]), -7.0).around()
    into = 1 / 6  # share of the first slice that lies before what is in the way
    assert below.tolist() == [[pytest.approx(-6 - 6 * (1.0 - into * 0.4))]]
    assert above.tolist() == [[pytest.approx(4 + 6 * (1.0 - into) * 0.2)]]
