"""Boxes and flattening against an independent reader of paths."""

from __future__ import annotations

import math

import numpy as np
import pytest
import svgpathtools
from hypothesis import given
from hypothesis import strategies as st

from engrave.geometry.flattening import flatten, length
from engrave.geometry.paths import Contour, box

XY = st.tuples(st.floats(-100, 100), st.floats(-100, 100))


def as_read(contour: Contour) -> svgpathtools.Path:
    """Return a contour as svgpathtools reads it from path data."""
    letters = {1: "L", 2: "Q", 3: "C"}
    parts = [f"M {contour.start[0]!r} {contour.start[1]!r}"]
    for segment in contour.segments:
        parts.append(letters[len(segment)] + " ".join(f"{x!r} {y!r}" for x, y in segment))
    return svgpathtools.parse_path(" ".join(parts))


@given(XY, st.lists(st.lists(XY, min_size=1, max_size=3), min_size=1, max_size=4))
def test_the_box_holds_the_curve_and_touches_it(
    start: tuple[float, float], segments: list[list[tuple[float, float]]]
) -> None:
    contour = Contour(start, tuple(tuple(s) for s in segments), False)
    found = box([contour])
    assert found is not None
    points = flatten(contour, 0.001)
    low, high = points.min(axis=0), points.max(axis=0)
    assert np.all(low >= np.array(found[:2]) - 1e-9)
    assert np.all(high <= np.array(found[2:]) + 1e-9)
    assert np.allclose((*low, *high), found, atol=0.002)


@pytest.mark.source("svgpathtools, boxes of curves")
def test_the_box_of_a_cubic_is_that_of_another_reader() -> None:
    contour = Contour((0.0, 0.0), (((30.0, -40.0), (70.0, 90.0), (100.0, 10.0)), ((120.0, 60.0), (40.0, 30.0))), False)
    x0, x1, y0, y1 = as_read(contour).bbox()
    assert box([contour]) == pytest.approx((x0, y0, x1, y1), abs=1e-9)


def test_an_empty_path_has_no_box() -> None:
    assert box([]) is None


def test_the_length_of_a_parabola() -> None:
    # y = x^2 from -1 to 1: sqrt 5 + asinh(2)/2, any calculus text; as a quadratic Bezier through (0, -1).
    contour = Contour((-1.0, 1.0), (((0.0, -1.0), (1.0, 1.0)),), False)
    assert length(contour, 1e-7) == pytest.approx(math.sqrt(5) + math.asinh(2) / 2, abs=1e-5)


@pytest.mark.parametrize("tolerance", [1.0, 0.1, 0.01, 0.001, 0.0001])
def test_chords_keep_the_stated_accuracy(tolerance: float) -> None:
    contour = Contour((0.0, 0.0), (((0.0, 60.0), (90.0, -60.0), (100.0, 40.0)),), False)
    fine = flatten(contour, 1e-6)
    chords = flatten(contour, tolerance)
    steps = np.diff(chords, axis=0)
    worst = 0.0
    for p in fine[::7]:
        t = np.clip(np.einsum("ij,ij->i", p - chords[:-1], steps) / np.einsum("ij,ij->i", steps, steps), 0, 1)
        worst = max(worst, float(np.hypot(*(p - chords[:-1] - t[:, None] * steps).T).min()))
    assert worst <= tolerance * 1.0001
