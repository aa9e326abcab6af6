"""From which size a typeface reads, against the published angle, and where the shelf says it."""

from __future__ import annotations

import math

import pytest

from engrave.typefaces import Shelf
from engrave.typefaces.legibility import reads_from


def test_a_plain_typeface_reads_from_the_angle_that_the_standard_asks() -> None:
    """ISO 9241-303: characters at least 16 minutes of arc high (from memory); at 600 mm that is 2.79 mm."""
    assert reads_from(0.7, ornate=False) == pytest.approx(2.79, abs=0.01)
    assert 2 * 600 * math.tan(math.radians(16 / 60) / 2) == pytest.approx(reads_from(0.7, ornate=False), rel=1e-4)


def test_low_small_letters_and_scripts_ask_for_larger_capitals(shelf: Shelf) -> None:
    mm = {i: shelf.get(i).reads_from_mm for i in shelf.ids}
    assert all(1.5 < v < 8.0 for v in mm.values())
    assert mm["great-vibes"] > 1.5 * mm["noto-sans"]
    assert mm["blankenburg"] > 1.2 * mm["noto-sans"]
