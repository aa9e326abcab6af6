"""How high the wall between two V-cuts is: by the strokes beside it, not by the widest of the piece."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box, get_coordinates, maximum_inscribed_circle, union_all
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from cutting.workbench import lid, region_lettering, tool, wood
from engrave.cache import Cache
from engrave.cutting import KeptMeasures, check
from engrave.cutting.judge.walls import width_at
from engrave.cutting.measure.components import components_of
from engrave.tasks import Tool

CAP = 10.0
STEM = ("l", box(20, 0, 23, 10))
"""A stroke 3 mm wide, far from the others: it is cut 2.4 mm deep by 60 degrees with a tip of 0.2."""


def v60() -> Tool:
    made = tool(12.0, "vee", "v-bit", 2.5, angle=60.0, tip=0.2)
    return replace(made, diameter=0.2)


def found(*shapes: BaseGeometry) -> list[str]:
    letters = [*(("i", s) for s in shapes), STEM]
    return [p.code for p in check(region_lettering(letters, CAP), v60(), wood(), lid(), KeptMeasures(None)).problems]


@pytest.mark.source("GEOS, largest inscribed circle")
@pytest.mark.parametrize("turn", [0.0, 33.0])
@pytest.mark.parametrize(
    ("shape", "foot"),
    [(box(0, 0, 2, 10), (0.0, 5.0)),  # beside a bar: its width
     (box(0, 0, 4, 0.5), (0.0, 0.25)),  # before the end of a thin one: its thickness
     (Point(0, 0).buffer(1.5, 64), (-1.5, 0.0)),  # a dot
     (Point(0, 0).buffer(4, 64).difference(Point(0, 0).buffer(3, 64)), (-3.0, 0.0))],  # inside a ring
)  # fmt: skip
def test_a_stroke_is_as_wide_as_its_largest_circle(shape: BaseGeometry, foot: tuple[float, float], turn: float) -> None:
    """Against GEOS's largest inscribed circle, which these shapes have at every foot."""
    (body,) = components_of(region_lettering([("x", rotate(shape, turn, origin=(0, 0)))], CAP), False, Cache())
    x, y = get_coordinates(rotate(Point(foot), turn, origin=(0, 0)))[0]
    circle = 2.0 * maximum_inscribed_circle(shape, 1e-4).length
    assert width_at(np.array([x, -y]), 0.1, body) == pytest.approx(circle, rel=0.03)  # the lid's y runs down


def test_thin_serifs_that_face_each_other_stand_though_the_piece_is_cut_deep_elsewhere() -> None:
    """Serifs 0.4 mm thick are cut 0.17 mm deep: 0.7 mm of wood between them is no high wall; between stems it is."""
    serif = [box(0, 0, 4, 0.4), box(1, 0, 3, 10)], [box(4.7, 0, 8.7, 0.4), box(5.7, 0, 7.7, 10)]
    assert "web-under-depth" not in found(*(union_all(parts) for parts in serif))
    assert "web-under-depth" in found(box(0, 0, 3, 10), box(3.7, 0, 6.7, 10))
