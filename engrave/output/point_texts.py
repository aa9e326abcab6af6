"""Many points as text at once: what a file or a code tells of lines of thousands of points.

The same signs as `numbers.plain` gives for each number, looked up in tables of all whole numbers and all decimals.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.paths import Polyline
from engrave.output.numbers import plain

Texts = NDArray[np.bytes_]

TABLED = 1000
"""mm: whole numbers below it stand in the table; lids are smaller, and other numbers are written one by one."""

NEAR_HALF = 1e-5
"""Share of the last digit within which a half may be rounded otherwise than the number as it is; there it is asked itself."""

POINT_TEXT = np.dtype(
    [("before", "S4"), ("x", "S4"), ("x_decimals", "S8"), ("between", "S4"), ("y", "S4"), ("y_decimals", "S8")]
)
"""A point with what stands before it and between its numbers; what is not filled is taken out."""


def points_told(points: Polyline, decimals: int, before: Texts | bytes, between: bytes, *, trimmed: bool) -> str:
    """Return points (n, 2) as one text, each after its `before` (of four signs at most).

    trimmed: without trailing zeros. A number that is zero to its last digit is '0' either way.
    """
    told = np.empty(len(points), dtype=POINT_TEXT)
    told["before"], told["between"] = before, between
    for axis, values in zip("xy", points.T, strict=True):
        last_digits = _in_last_digits(values, decimals)
        if last_digits is None:
            return _one_by_one(points, decimals, before, between, trimmed=trimmed)
        size = np.abs(last_digits)
        whole = size // 10**decimals
        told[axis] = _whole_numbers()[whole + TABLED * (last_digits < 0)]
        told[f"{axis}_decimals"] = _decimals(decimals, trimmed)[size - whole * 10**decimals]
        told[f"{axis}_decimals"][last_digits == 0] = b""
    return told.tobytes().translate(None, b"\0").decode("ascii")


def _in_last_digits(values: NDArray[np.float64], decimals: int) -> NDArray[np.int64] | None:
    """Return numbers in units of their last digit, rounded as they are written; None where one has no place in the table."""
    if not (np.abs(values) < TABLED - 1.0).all():
        return None
    scaled = values * 10.0**decimals
    whole = np.rint(scaled)
    for k in np.flatnonzero(np.abs(np.abs(scaled - whole) - 0.5) < NEAR_HALF).tolist():
        whole[k] = round(float(f"{values[k]:.{decimals}f}") * 10**decimals)
    return whole.astype(np.int64)


@cache
def _whole_numbers() -> Texts:
    """Return the texts of all whole numbers, and after them the same with a minus."""
    return np.array([f"{sign}{k}" for sign in ("", "-") for k in range(TABLED)], dtype="S4")


@cache
def _decimals(count: int, trimmed: bool) -> Texts:
    """Return the texts of all decimals with their point."""
    told = [f".{k:0{count}d}" for k in range(10**count)]
    return np.array([text.rstrip("0").rstrip(".") if trimmed else text for text in told], dtype="S8")


def _one_by_one(points: Polyline, decimals: int, before: Texts | bytes, between: bytes, *, trimmed: bool) -> str:
    starts = np.broadcast_to(np.asarray(before, dtype="S4"), len(points)).tolist()
    told = [
        f"{start.decode()}{_told(x, decimals, trimmed)}{between.decode()}{_told(y, decimals, trimmed)}"
        for start, (x, y) in zip(starts, points.tolist(), strict=True)
    ]
    return "".join(told)


def _told(value: float, decimals: int, trimmed: bool) -> str:
    short = plain(value, decimals)
    return short if trimmed or short == "0" else f"{value:.{decimals}f}"
