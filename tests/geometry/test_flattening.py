"""Curves to chords, all contours at once."""

from __future__ import annotations

from dataclasses import replace

import pytest
from toolpath.workbench import (
    RINGS,
    stroke,
)

from engrave.geometry.flattening import polylines
from engrave.geometry.paths import flatten


def test_chords_are_those_of_the_geometry_stage() -> None:
    """The same points as flattening contour by contour, so that the clock times what the file's checker sees."""
    contours = [*RINGS.marks[0].path(), stroke((0, 0), (3, 4), (8, 8))]
    quadratic = replace(contours[2], segments=(((4.0, 9.0), (8.0, 0.0)), ((9.0, 9.0),)))
    for contour, line in zip([*contours, quadratic], polylines([*contours, quadratic]), strict=True):
        assert line == pytest.approx(flatten(contour, 0.01), abs=1e-9)
