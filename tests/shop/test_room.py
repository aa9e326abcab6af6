"""Room for words: closed forms, the safe side, and what stands proud."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, Polygon

from engrave.geometry.regions import REGION_CHORD
from engrave.shop import Area, KeepOut, Machine, Shop, flat, load_shop, margin, room
from engrave.shop.shapes import centred_at, circle, ellipse, polygon, rectangle


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


def area(outline: object, width: float, height: float, **other: object) -> Area:
    known: dict[str, object] = {
        "name": "lid", "outline": outline, "width": width, "height": height, "edge": 0.0, "margin": 5.0,
        "keep_outs": (), "front": "bottom", "side": "top", "fields": ("name",), "setting": None,
    }  # fmt: skip
    return Area(**(known | other))  # type: ignore[arg-type]


def knob(height: float, clearance: float = 2.0) -> KeepOut:
    return KeepOut(centred_at(circle(14), (46, 46)), clearance, height, "knob")


def radii(shape: object, centre: tuple[float, float]) -> list[float]:
    assert isinstance(shape, Polygon)
    return [math.dist(p, centre) for p in shape.exterior.coords]


def test_a_round_lid(shop: Shop) -> None:
    machine = shop.machines["gantry-laser"]
    lid = area(circle(92), 92, 92, edge=3.0)
    assert max(radii(flat(lid), (46, 46))) <= 43.0
    assert flat(lid).exterior.distance(Point(46, 46)) >= 43.0 - 2 * REGION_CHORD
    found = room(lid, machine)
    assert max(radii(found, (46, 46))) <= 38.0 + 1e-9
    assert found.exterior.distance(Point(46, 46)) >= 38.0 - 2 * REGION_CHORD


def test_a_keep_out_is_never_touched(shop: Shop) -> None:
    lid = area(circle(92), 92, 92, keep_outs=(knob(0.0),))
    found = room(lid, shop.machines["gantry-laser"])
    hole = found.interiors[0]
    nearest = Polygon(hole).exterior.distance(Point(46, 46))
    assert 9.0 <= nearest <= 9.0 + 3 * REGION_CHORD


def test_the_margin_rule() -> None:
    # The larger of 5 mm and 8 % of the lesser side, from the flat's edge (common practice, no source).
    assert margin(area(circle(50), 50, 50, margin=None)) == 5.0
    assert margin(area(rectangle(170, 110), 170, 110, margin=None)) == pytest.approx(8.8)
    assert margin(area(rectangle(170, 110), 170, 110, margin=0.0)) == 0.0


def test_a_rectangle_keeps_its_corners(shop: Shop) -> None:
    found = room(area(rectangle(100, 60), 100, 60, edge=2.0, margin=4.0), shop.machines["gantry-laser"])
    assert found.bounds == pytest.approx((6, 6, 94, 54))
    assert found.area == pytest.approx(88 * 48)


def test_a_holder_keeps_clear_of_a_knob(shop: Shop) -> None:
    router, bit = shop.machines["bench-router"], shop.cutters["v60"]
    lid = area(circle(92), 92, 92, keep_outs=(knob(18.0),))

    def nearest(machine: Machine, cutter: object = None) -> float:
        found = room(lid, machine, cutter)  # type: ignore[arg-type]
        return float(Polygon(found.interiors[0]).exterior.distance(Point(46, 46)))

    assert nearest(router) == pytest.approx(7 + router.holder_radius + 3, abs=3 * REGION_CHORD)
    assert nearest(router, bit) == pytest.approx(7 + router.holder_radius + 3, abs=3 * REGION_CHORD)
    long_bit = replace(bit, reach=40.0)
    assert nearest(router, long_bit) == pytest.approx(7 + 3 + 1, abs=3 * REGION_CHORD), (
        "the shank still passes beside it"
    )
    assert nearest(shop.machines["gantry-laser"]) == pytest.approx(9, abs=3 * REGION_CHORD), "the head runs above it"
    assert nearest(shop.machines["tube-laser"]) == pytest.approx(7 + 9 + 3, abs=3 * REGION_CHORD), "the nozzle does not"


def test_a_hollow_corner_keeps_its_distance(shop: Shop) -> None:
    notched = polygon([(0, 0), (60, 0), (60, 30), (100, 30), (100, 80), (0, 80)])
    found = room(area(notched, 100, 80), shop.machines["gantry-laser"])
    assert found.distance(Point(60, 30)) >= 5.0
    assert found.distance(Point(60, 30)) <= 5.0 + 3 * REGION_CHORD


@given(st.floats(30, 200), st.floats(30, 200), st.floats(0, 6), st.floats(0, 8))
def test_a_room_lies_within_the_true_curve(width: float, height: float, edge: float, border: float) -> None:
    lid = area(ellipse(width, height), width, height, edge=edge, margin=border)
    machine = load_shop_once().machines["gantry-laser"]
    found = room(lid, machine)
    a, b = width / 2, height / 2
    for x, y in found.exterior.coords if not found.is_empty else ():
        assert ((x - a) / a) ** 2 + ((y - b) / b) ** 2 <= 1 + 2e-5


_shops: list[Shop] = []


def load_shop_once() -> Shop:
    if not _shops:
        _shops.append(load_shop())
    return _shops[0]


def test_every_lid_of_ours_has_room_with_every_machine(shop: Shop) -> None:
    for lid in shop.lids.values():
        for part in lid.areas:
            for machine in shop.machines.values():
                found = room(part, machine)
                assert found.area > 0.2 * part.width * part.height * 0.5, (lid.id, part.name, machine.id)
                assert found.is_valid
