"""On which paper an order's lids are shown: at true size where they fit, else smaller by a ratio that is told."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from engrave.units import MM_PER_INCH

Size = tuple[float, float]

ISO_PAPERS: tuple[Size, ...] = ((148, 210), (210, 297), (297, 210), (297, 420), (420, 297))
"""mm: A5, A4 and A3 of ISO 216, upright before lying."""

INCH_PAPERS: tuple[Size, ...] = ((139.7, 215.9), (215.9, 279.4), (279.4, 215.9), (279.4, 431.8), (431.8, 279.4))
"""mm: half letter, letter and tabloid, 5.5 x 8.5, 8.5 x 11 and 11 x 17 in (ANSI/ASME Y14.1 sizes A and B)."""

MARGIN_MM = 10.0
BESIDE_MM = 26.0
"""mm beside a lid: its dimension on the right, as much on the left, and a hinge's bar."""

AROUND_MM = 23.0
"""mm above and below a lid: its dimension, a hinge's bar, and from where it is read."""

HEAD_MM, FOOT_MM = 17.0, 26.0
"""mm that a sheet's heading and its closing sentences take."""

TEXT_MM = 42.0
"""mm below a single lid: the words in up to five lines, its detail and its facts."""

SHORT_TEXT_MM, SHORT_FOOT_MM = 45.0, 31.0
"""mm that one lid of several takes for its title and its words, and at the foot of their sheet, where the enlarged detail stands."""

TYPE_WIDTH_MM, TYPE_SCALE = 195.0, (0.85, 1.45)
"""mm of paper on which type has its own size, and how much smaller and larger it is at most beside a single lid."""

LEAST_COLUMN_MM = 88.0
"""mm of a column's width at least: received words and words as cut stand side by side in it."""

RATIOS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 8.0)
"""How many mm of several lids are one on their sheet: the first at which a paper holds them."""

GUTTER_MM = 6.0
MOST_A_SHEET = 8
"""Lids on a sheet at most; further ones come on further sheets under the same code."""

PIXELS_WIDE = 1240
"""Pixels across a proof for a message: sharp on a telephone, small enough for a letter."""

DPI = (110, 220)
"""Fewest and most dots an inch, whatever the paper."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of paper, mm; lids stand in so many columns, drawn 1 : ratio; type_scale: how large type is."""

    width: float
    height: float
    margin: float
    columns: int
    ratio: float
    type_scale: float = 1.0

    @property
    def dpi(self) -> int:
        """Dots an inch that give the picture its width in pixels."""
        return int(min(DPI[1], max(DPI[0], round(PIXELS_WIDE * MM_PER_INCH / self.width))))


def papers_of(units: str) -> tuple[Size, ...]:
    """Return the papers of a shop that measures in 'mm' or 'in'."""
    return INCH_PAPERS if units == "in" else ISO_PAPERS


def common_paper(units: str) -> Size:
    """Return the paper that lies in every printer, upright, mm: A4 or letter."""
    return papers_of(units)[1]


def sheet_for(lids: Sequence[Size], units: str) -> Sheet:
    """Return the smallest sheet that holds the lids (width, height in mm); a single lid is always at true size."""
    papers = papers_of(units)
    if len(lids) == 1:
        needs = _needs(lids, 1, 1.0)
        fits = [p for p in papers if _holds(p, needs)]
        width, height = fits[0] if fits else (math.ceil(needs[0]), math.ceil(needs[1]))
        type_scale = min(TYPE_SCALE[1], max(TYPE_SCALE[0], width / TYPE_WIDTH_MM))
        return Sheet(width, height, MARGIN_MM, 1, 1.0, type_scale)
    shown = lids[:MOST_A_SHEET]
    for ratio in RATIOS:
        for paper in papers[1:]:
            for columns in range(1, 1 + min(len(shown), int((paper[0] - 2 * MARGIN_MM) / LEAST_COLUMN_MM))):
                if _holds(paper, _needs(shown, columns, ratio)):
                    return Sheet(*paper, MARGIN_MM, columns, ratio)
    return Sheet(*papers[3], MARGIN_MM, 2, RATIOS[-1])


def _holds(paper: Size, needs: Size) -> bool:
    return needs[0] <= paper[0] and needs[1] <= paper[1]


def _needs(lids: Sequence[Size], columns: int, ratio: float) -> Size:
    """Return width and height in mm that lids take with all that stands around them."""
    text, foot = (TEXT_MM, FOOT_MM) if len(lids) == 1 else (SHORT_TEXT_MM, SHORT_FOOT_MM)
    wide = max(w for w, _ in lids) / ratio + BESIDE_MM
    rows = [lids[i : i + columns] for i in range(0, len(lids), columns)]
    high = sum(max(h for _, h in row) / ratio + AROUND_MM + text for row in rows)
    return (columns * wide + (columns - 1) * GUTTER_MM + 2 * MARGIN_MM, HEAD_MM + high + foot + 2 * MARGIN_MM)
