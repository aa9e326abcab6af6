"""Lengths as people write them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engrave.units import MM_PER_INCH, duration, length_mm


@pytest.mark.source("International yard and pound agreement, 1959")
def test_the_inch_is_25_4_mm() -> None:
    # International yard and pound agreement, 1959: one yard is exactly 0.9144 m.
    assert MM_PER_INCH == 0.9144 * 1000 / 36
    assert length_mm("36 in") == pytest.approx(914.4)


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        (92, 92.0),
        (4.5, 4.5),
        ("92", 92.0),
        ("92 mm", 92.0),
        ("92mm", 92.0),
        ("9.2 cm", 92.0),
        ("0.5 m", 500.0),
        ("4,5 mm", 4.5),
        (".5", 0.5),
        ("3 5/8 in", 92.075),
        ("3-5/8 in", 92.075),
        ('3.625"', 92.075),
        ("3.625 IN.", 92.075),
        ("3⅝″", 92.075),
        ("3 ⅝ inches", 92.075),
        ("½ in", 12.7),
        ("1⁄16 in", 1.5875),
        ("1/16 inch", 1.5875),
        ("15 thou", 0.381),
        ("-2 1/2 mm", -2.5),
        ("  7 1/4 in ", 184.15),
    ],
)
def test_what_is_read(written: object, mm: float) -> None:
    assert length_mm(written) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    "written",
    [
        "",
        "wide",
        "3 feet",
        "1/0 in",
        "92 mm mm",
        "1 2 3",
        "5/8/2 in",
        "1/4",
        "3 5/8",
        "¼",
        None,
        True,
        float("nan"),
        float("inf"),
        [92],
    ],
)
def test_what_is_refused_says_what_is_allowed(written: object) -> None:
    with pytest.raises(ValueError, match=r"92 mm|fraction cannot have 0|without a unit"):
        length_mm(written)


@given(st.integers(0, 120), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_inches_and_fractions_go_there_and_back(whole: int, num: int, den: int) -> None:
    mm = length_mm(f"{whole} {num}/{den} in")
    assert Fraction(mm / MM_PER_INCH).limit_denominator(64) == whole + Fraction(num, den)


@given(st.floats(-5000, 5000, allow_nan=False).map(lambda x: round(x, 6)))
def test_bare_figures_are_mm_however_written(x: float) -> None:
    text = f"{x:.6f}"
    assert length_mm(x) == length_mm(text) == length_mm(text + " mm") == length_mm(text.replace(".", ","))


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (0.0, "0 s"), (59.4, "59 s"), (60.0, "1 min"), (90.0, "1 min 30 s"), (91.0, "1 min 31 s"), (120.0, "2 min"), (2399.0, "39 min 59 s"),
        (3599.6, "1 h 00 min"), (3600.0, "1 h 00 min"), (5400.0, "1 h 30 min"), (7290.0, "2 h 02 min"), (36000.0, "10 h 00 min"),
    ],
)  # fmt: skip
def test_time_as_people_say_it(seconds: float, told: str) -> None:
    assert duration(seconds) == told
