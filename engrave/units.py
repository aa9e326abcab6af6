"""Lengths and spans of time as people write them; lengths: millimetres when bare, else '92 mm', '3 5/8 in', '3.625\"'.

A fraction needs its unit: nobody writes a quarter of a millimetre as 1/4, and inches taken for mm cut a lid's margin
to nothing.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

MM_PER_INCH = 25.4
"""Exact since the international yard and pound agreement of 1959."""

_TO_MM = {
    "": 1.0,
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "”": MM_PER_INCH,
    "″": MM_PER_INCH,
    "thou": MM_PER_INCH / 1000.0,
}

_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}

_LENGTH = re.compile(
    r"""^\s*(?P<sign>-)?\s*(?:
        (?P<whole>\d+)[\s-]+(?P<num>\d+)\s*[/⁄]\s*(?P<den>\d+)
      | (?P<num2>\d+)\s*[/⁄]\s*(?P<den2>\d+)
      | (?P<decimal>\d+(?:[.,]\d+)?|[.,]\d+)
    )\s*(?P<unit>mm|cm|m|inches|inch|in\.?|thou|["”″])?\s*$""",
    re.VERBOSE | re.IGNORECASE,
)


def length_mm(value: object) -> float:
    """Return a length in mm from a number (mm) or a text with its unit; fractions and decimal commas are read.

    Raises ValueError with what was found and what is allowed.
    """
    if isinstance(value, bool) or value is None:
        raise ValueError(f"{value!r} is not a length; write 92, '92 mm' or '3 5/8 in'")
    if isinstance(value, int | float):
        if not math.isfinite(value):
            raise ValueError(f"{value!r} is not a length; write 92, '92 mm' or '3 5/8 in'")
        return float(value)
    text = str(value)
    for sign, plain in _VULGAR.items():
        text = re.sub(rf"(\d)\s*{sign}", rf"\1 {plain}", text).replace(sign, plain)
    found = _LENGTH.match(text)
    if not found:
        raise ValueError(f"{value!r} is not a length; write 92, '92 mm' or '3 5/8 in'")
    if not found["unit"] and not found["decimal"]:
        raise ValueError(f"{value!r} is a fraction without a unit; write '{text.strip()} in' or '{text.strip()} mm'")
    return _value(found) * _TO_MM[(found["unit"] or "").lower().rstrip(".")] * (-1.0 if found["sign"] else 1.0)


def _value(found: re.Match[str]) -> float:
    """Return the number of a matched length, before its unit."""
    if found["decimal"]:
        return float(found["decimal"].replace(",", "."))
    num, den = int(found["num"] or found["num2"]), int(found["den"] or found["den2"])
    if den == 0:
        raise ValueError("a fraction cannot have 0 below its line")
    return float(Fraction(num, den)) + float(found["whole"] or 0)


def duration(seconds: float) -> str:
    """Return a span of time as a shop says it: '48 s', '4 min 10 s', '2 h 05 min'."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        minutes, rest = divmod(whole, 60)
        return f"{minutes} min" if rest == 0 else f"{minutes} min {rest} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02d} min"
