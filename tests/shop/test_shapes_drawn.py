"""Outlines from figures, measured by svgpathtools and against closed forms."""

from __future__ import annotations

import math

import pytest
import svgpathtools
from scipy.special import ellipe

from engrave.geometry.paths import Path, box
from engrave.shop import shapes


def read_back(path: Path) -> svgpathtools.Path:
    """Return the first contour as svgpathtools reads it from path data."""
    contour = path[0]
    parts = [f"M {contour.start[0]!r} {contour.start[1]!r}"]
    parts += [("L", "Q", "C")[len(s) - 1] + " ".join(f"{x!r} {y!r}" for x, y in s) for s in contour.segments]
    return svgpathtools.parse_path(" ".join(parts) + " Z")


@pytest.mark.source("svgpathtools, points of curves")
@pytest.mark.parametrize("diameter", [14.0, 92.0, 300.0])
def test_a_circle_is_round(diameter: float) -> None:
    found = read_back(shapes.circle(diameter))
    assert found.length(error=1e-9) == pytest.approx(math.pi * diameter, rel=3e-6)
    assert abs(found.area()) == pytest.approx(math.pi * diameter**2 / 4, rel=6e-6)
    radii = [abs(found.point(t / 97) - complex(diameter / 2, diameter / 2)) for t in range(97)]
    assert max(radii) - min(radii) < 5e-6 * diameter


@pytest.mark.source("SciPy, elliptic integrals; svgpathtools")
@pytest.mark.parametrize(("width", "height"), [(140.0, 90.0), (40.0, 20.0), (50.0, 120.0)])
def test_an_ellipse_has_its_perimeter_and_area(width: float, height: float) -> None:
    found = read_back(shapes.ellipse(width, height))
    a, b = max(width, height) / 2, min(width, height) / 2
    assert found.length(error=1e-9) == pytest.approx(4 * a * ellipe(1 - (b / a) ** 2), rel=1e-5)
    assert abs(found.area()) == pytest.approx(math.pi * a * b, rel=6e-6)


@pytest.mark.source("a published perimeter of the ellipse of 20 by 10; svgpathtools")
def test_the_ellipse_of_20_by_10_half_axes() -> None:
    # 96.88448 by the complete elliptic integral (Abramowitz and Stegun, 17.3).
    assert read_back(shapes.ellipse(40, 20)).length(error=1e-9) == pytest.approx(96.88448, abs=1e-3)


@pytest.mark.source("svgpathtools, lengths and areas of paths")
@pytest.mark.parametrize(("width", "height", "corner"), [(104, 74, 12), (60, 40, 20), (40, 40, 20), (100, 60, 0)])
def test_a_rounded_rectangle(width: float, height: float, corner: float) -> None:
    path = shapes.rectangle(width, height, corner)
    assert box(path) == pytest.approx((0, 0, width, height), abs=1e-9)
    assert path[0].end == path[0].start
    found = read_back(path)
    assert abs(found.area()) == pytest.approx(width * height - (4 - math.pi) * corner**2, rel=6e-6)
    assert found.length(error=1e-9) == pytest.approx(2 * (width + height) - (8 - 2 * math.pi) * corner, rel=3e-6)


def test_a_hexagon_across_its_flats() -> None:
    # Machinery's Handbook: distance across corners of a hexagon is 1.1547 times that across flats.
    found = box(shapes.regular(6, 110))
    assert found == pytest.approx((0, 0, 110 * 1.1547, 110), abs=1e-2)


@pytest.mark.source("svgpathtools, areas of paths")
@pytest.mark.parametrize(("sides", "factor"), [(6, 0.86603), (8, 0.82843)])
def test_the_area_of_regular_polygons(sides: int, factor: float) -> None:
    # Machinery's Handbook, regular polygons: area = 0.86603 F^2 (hexagon), 0.82843 F^2 (octagon), F across flats.
    assert abs(read_back(shapes.regular(sides, 100)).area()) == pytest.approx(factor * 1e4, rel=1e-5)


def test_a_triangle_stands_on_a_side() -> None:
    assert box(shapes.regular(3, 60)) == pytest.approx((0, 0, 120 / math.sqrt(3), 60), abs=1e-9)


@pytest.mark.source("svgpathtools, signed areas of paths")
def test_all_shapes_turn_the_same_way() -> None:
    made = [shapes.circle(50), shapes.rectangle(60, 40), shapes.rectangle(60, 40, 5), shapes.regular(6, 50)]
    assert len({read_back(p).area() > 0 for p in made}) == 1
