"""The pure solver against proved bounds and closed forms."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest
from shapely import MultiPolygon, Polygon

sys.path.insert(0, str(Path(__file__).parent))
import fits

from engrave.setting.layout import Field, Stack
from engrave.setting.shapes import unit
from engrave.setting.solver import largest


@pytest.mark.parametrize("case", fits.cases(), ids=lambda c: c.name)
def test_within_half_a_percent_of_the_proved_optimum_and_inside(case: fits.Case) -> None:
    fit = largest(case.room, case.stack)
    assert fit is not None
    truth = case.truth["centred"]
    assert fit.cap >= 0.995 * truth["cap_mm"]
    assert fit.cap <= 1.001 * truth["bound_mm"]
    room = case.room.buffer(1e-4)
    for outline in fits.ink_at(case, fit):
        assert all(room.covers(p) for p in map(_point, outline))


def _point(p: np.ndarray) -> object:
    from shapely import Point

    return Point(p)


def _box(aspect: float) -> Stack:
    corners = np.array([[0, 0], [aspect, 0], [aspect, 1], [0, 1], [0, 0]], dtype=float)
    return Stack((Field(1.0, (unit("box", [corners]),)),), 1.5)


def _regular(n: int, radius: float, turn: float = 0.0) -> Polygon:
    angles = turn + 2 * math.pi * np.arange(n) / n
    return Polygon(np.column_stack([radius * np.cos(angles), radius * np.sin(angles)]))


def _ellipse(a: float, b: float, n: int = 20000) -> Polygon:
    t = 2 * math.pi * np.arange(n) / n
    return Polygon(np.column_stack([a * np.cos(t), b * np.sin(t)]))


@pytest.mark.parametrize(
    ("room", "aspect", "height"),
    [
        (_ellipse(60, 40), 2.0, 48.0),  # closed form: 2 / sqrt((k/a)^2 + (1/b)^2)
        (_ellipse(50, 50), 4.0, 24.2536),  # closed form: D / sqrt(1 + k^2)
        (Polygon([(-50, 0), (50, 0), (0, 80)]), 3.0, 23.5294),  # closed form: b H / (b + k H)
        (_regular(6, 50), 2.0, 38.7995),  # closed form, hexagon with a flat top
        (_regular(8, 50, math.pi / 8), 4.0, 23.0970),  # closed form, octagon with flat sides
    ],
)
def test_boxes_in_rooms_with_closed_forms(room: Polygon, aspect: float, height: float) -> None:
    fit = largest(room, _box(aspect))
    assert fit is not None
    assert fit.cap == pytest.approx(height, abs=1e-3)


@pytest.mark.filterwarnings("error")
def test_a_room_in_two_parts_holds_words_in_one_of_them_never_across() -> None:
    """Once a floor of infinity less infinity: a knob's clearance had cut the lid in two."""
    left, right = Polygon([(0, 0), (30, 0), (30, 20), (0, 20)]), Polygon([(50, 0), (90, 0), (90, 20), (50, 20)])
    both = MultiPolygon([left, right])
    assert largest(both, _box(3.0), axis=40.0) is None
    found = largest(both, _box(3.0), "free")
    assert found is not None
    assert found.cap == pytest.approx(40 / 3, rel=0.002)
    assert found.x == pytest.approx(70.0, abs=0.2)
