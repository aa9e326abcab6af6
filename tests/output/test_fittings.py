"""What stands on a lid is drawn as the body that it is, under one light from the top left."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, box
from shapely.geometry.base import BaseGeometry

from engrave.output.pictures.fittings import BRASS, FittingKind, fitting_kind, fitting_light, put_fitting
from engrave.output.pictures.frames import Frame, mask
from engrave.output.pictures.scenes import rgb
from engrave.shop import load_shop
from engrave.shop.models import KeepOut

SCALE = 6.0
WOOD = load_shop().woods["maple"]
FRAME = Frame(SCALE, 0, 300, 240)
ROUND, LEAF = Point(25, 20).buffer(8), box(10, 15, 40, 25)


def keep(why: str, height: float = 0.0) -> KeepOut:
    return KeepOut((), 2.0, height, why)


def drawn(shape: BaseGeometry, one: KeepOut) -> tuple[np.ndarray, np.ndarray]:
    """The picture (grey, darker is less) and the fitting's mask, on plain wood."""
    part = np.ones((240, 300, 3), dtype=np.float32) * np.array(rgb(WOOD.colour), dtype=np.float32)
    here = mask(shape, FRAME, FRAME.whole)
    light = fitting_light(here, np.ones_like(here), one, SCALE)
    part *= light.round_it[..., None]
    put_fitting(part, light, one, WOOD)
    return part, here


def halves(part: np.ndarray, shape: BaseGeometry, share: float = 0.72) -> tuple[float, float]:
    """How bright a body is near its upper left and near its lower right border."""
    grey, (left, top, right, bottom) = part.mean(axis=2), shape.bounds
    middle, reach = ((left + right) / 2, (top + bottom) / 2), ((right - left) / 2 * share, (bottom - top) / 2 * share)
    at = [
        (round((middle[1] + s * reach[1] * 0.7) * SCALE), round((middle[0] + s * reach[0] * 0.7) * SCALE))
        for s in (-1, 1)
    ]
    upper, lower = (float(grey[y - 2 : y + 3, x - 2 : x + 3].mean()) for y, x in at)
    return upper, lower


@pytest.mark.parametrize(
    ("why", "height", "kind"),
    [
        ("knob", 18.0, "knob"), ("finial", 9.0, "knob"), ("dowel", 0.0, "flush"), ("dowel hole", 0.0, "hollow"),
        ("left hinge's leaf", 2.0, "plate"), ("hinge", 0.0, "plate"), ("clasp", 3.0, "bar"), ("carrying handle", 12.0, "bar"),
        ("thumb notch", 0.0, "hollow"), ("thumb notch beside the knob", 0.0, "hollow"), ("inlay", 0.0, "inlay"),
        ("mother of pearl", 0.0, "inlay"), ("a thing that stands up", 5.0, "knob"),
    ],
)  # fmt: skip
def test_a_fitting_is_drawn_as_what_the_shop_calls_it(why: str, height: float, kind: FittingKind) -> None:
    assert fitting_kind(keep(why, height)) == kind


@pytest.mark.parametrize(("why", "height"), [("knob", 12.0), ("finial", 20.0)])
def test_a_knob_is_lit_from_the_top_left_and_throws_its_shadow_to_the_lower_right(why: str, height: float) -> None:
    part, here = drawn(ROUND, keep(why, height))
    upper, lower = halves(part, ROUND)
    assert upper > lower + 15
    plain = float(np.mean(rgb(WOOD.colour)))
    shade = plain - part.mean(axis=2)
    outside = here < 0.01
    right, left = shade[120:, 150:][outside[120:, 150:]].sum(), shade[:120, :150][outside[:120, :150]].sum()
    assert right > 5 * max(left, 1.0)


@pytest.mark.parametrize("why", ["thumb notch", "dowel hole"])
def test_a_hollow_has_its_shade_where_a_knob_has_its_light(why: str) -> None:
    part, here = drawn(ROUND, keep(why))
    upper, lower = halves(part, ROUND, 0.92)
    assert lower > upper + 15
    assert np.allclose(part[here < 0.001], np.array(rgb(WOOD.colour)), atol=0.6)  # it throws no shadow


@pytest.mark.parametrize(("why", "height"), [("hinge", 2.0), ("clasp", 3.0)])
def test_metal_is_brass_and_wood_is_wood(why: str, height: float) -> None:
    def face(one: KeepOut) -> np.ndarray:
        part, _ = drawn(LEAF, one)
        return np.median(part[16 * 6 : 17 * 6, 12 * 6 : 38 * 6].reshape(-1, 3), axis=0)

    metal, wooden = face(keep(why, height)), face(keep(f"wooden {why}", height))
    brass = np.array(rgb(BRASS), dtype=float)
    hue = metal / metal.sum() - brass / brass.sum()
    assert abs(hue).max() < 0.02
    assert abs(wooden / wooden.sum() - brass / brass.sum()).max() > 0.02


def test_a_metal_leaf_has_its_screws_in_a_row_and_a_wooden_one_has_none() -> None:
    leaf, _ = drawn(LEAF, keep("hinge", 2.0))
    middle = leaf.mean(axis=2)[119:122].mean(axis=0)
    usual = np.median(middle[70:230])
    heads = np.flatnonzero(middle[66:234] < 0.75 * usual) + 66
    groups = np.split(heads, np.flatnonzero(np.diff(heads) > 30) + 1)
    assert len(groups) == 2
    assert [float(g.mean()) / SCALE for g in groups] == pytest.approx([17.5, 32.5], abs=0.5)
    wooden, _ = drawn(LEAF, keep("wooden hinge", 2.0))
    plain = wooden.mean(axis=2)[119:122, 70:230].mean(axis=0)
    assert plain.min() > 0.9 * np.median(plain)
