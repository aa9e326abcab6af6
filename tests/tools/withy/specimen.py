"""A specimen sheet of Withy.

Every line stands at a true size, 12 px to the millimetre, cut with a groove of a tenth of its cap height; the last
one shows the cutter's path alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image, ImageDraw
from shapely import MultiLineString
from shapely.affinity import affine_transform

from engrave.geometry.flattening import flatten
from withy.building import DrawnTypeface

_PX_PER_MM = 12
_FINER = 3
"""DrawnTypeface this much larger, then reduced: smooth edges."""
_MARGIN_MM = 7.0
_LEADING = 1.95
"""SpecimenLine pitch in cap heights: ISO 3098-1 type B asks 19/10 where letters bear accents."""
_GROOVE = 0.1
"""ISO 3098-1 type B: stroke 1/10 of the cap height."""
_FLAT = 0.5
"""Chords within this many units of the curve: a hundredth of a millimetre at 14 mm."""
_WOOD, _CUT = (244, 239, 230), (58, 36, 22)


@dataclass(frozen=True, slots=True)
class SpecimenLine:
    """Words of a specimen, their cap height in mm, and the groove in cap heights; once for each of several grooves."""

    words: str
    cap: float
    groove: float = _GROOVE
    more: tuple[float, ...] = ()


GROOVES = (0.15, 0.3, 0.6, 1.0, 1.5)
"""mm: a fine beam's mark to a wide V-cut."""
_CLOSES = 0.17
"""Cap heights: wider grooves close the letters (ISO 3098-1 type B draws 1/10, its heaviest kin 1/6)."""


def _in_grooves(words: str, cap: float) -> SpecimenLine:
    """Return words at one size in every groove that leaves them open."""
    shares = [g / cap for g in GROOVES if g / cap < _CLOSES]
    return SpecimenLine(words, cap, shares[0], tuple(shares[1:]))


SHEET = (
    SpecimenLine("Withy", 20.0),
    SpecimenLine("Wanda & Łukasz", 14.0),
    SpecimenLine("ABCDEFGHIJKLMNOPQRS", 8.0),
    SpecimenLine("TUVWXYZ 1234567890 €£$", 8.0),
    SpecimenLine("abcdefghijklmnopqrstuvwxyz", 8.0),
    SpecimenLine("Ağrı Nguyễn Łódź AVA To Lý", 8.0),
    SpecimenLine("“Tatjana” O’Neill Strauß Þórður", 8.0),
    SpecimenLine("Θεοδώρα Γιώργος Ψυχή", 8.0),
    SpecimenLine("Дмитрий Їжак Љубица Әлия", 8.0),
    SpecimenLine("❦ ❧ ☙ 🌿 🙘 🙚 ⌜ ⌝ ⸺ ⸻", 8.0),
    SpecimenLine("♥ ☆ ★ ✿ ✦ ☀ ☾ ⚓ ⛵ 🐟 🍃", 8.0),
    SpecimenLine("🌊 ⌘ ⚭ ☘ ❄ ♪ ♠ ♥ ♦ ♣ ∞ →", 8.0),
    SpecimenLine("For Maren and Idris, who keep the ferry house: 24 June 2026", 4.0),
    SpecimenLine("Charlotte & Maximilian · Ľudmila Ťapák · Đặng Thị Hà · Żółć", 4.0),
    SpecimenLine("Hamburgefonstiv", 14.0, 0.012),
    _in_grooves("Idris, 3.", 3.0),
    _in_grooves("Ella 6", 6.0),
    _in_grooves("Li 1", 12.0),
    _in_grooves("b", 25.0),
)


def draw(typeface: DrawnTypeface, lines: Sequence[SpecimenLine] = SHEET, width_mm: float = 165.0) -> Image.Image:
    """Return a picture of the lines, one under another, each as large as it says."""
    height_mm = 2 * _MARGIN_MM + sum(line.cap * _LEADING for line in lines)
    size = (round(width_mm * _PX_PER_MM), round(height_mm * _PX_PER_MM))
    sheet = Image.new("RGB", (size[0] * _FINER, size[1] * _FINER), _WOOD)
    pen = ImageDraw.Draw(sheet)
    y = _MARGIN_MM
    for line in lines:
        _line(pen, typeface, line, y + line.cap * (_LEADING + 1.0) / 2.0)
        y += line.cap * _LEADING
    return sheet.resize(size, Image.Resampling.LANCZOS)


def _line(pen: ImageDraw.ImageDraw, typeface: DrawnTypeface, line: SpecimenLine, baseline_mm: float) -> None:
    """Draw one line of words, kerned, from the left margin."""
    kerns = {(a, b): k for first, second, k in typeface.kerning for a in first for b in second}
    px = _PX_PER_MM * _FINER
    scale = line.cap * px / typeface.metrics["cap"]
    x, before = 0.0, ""
    for char, groove in (
        (c, g) for g in (line.groove, *line.more) for c in (line.words + " " if line.more else line.words)
    ):
        letter = typeface.glyphs[char]
        x -= kerns.get((before, char), 0.0)
        if letter.path:
            strokes = MultiLineString([flatten(stroke, _FLAT) for stroke in letter.path])
            _groove(
                pen,
                affine_transform(strokes, (scale, 0.0, 0.0, -scale, _MARGIN_MM * px + x * scale, baseline_mm * px)),
                groove * line.cap * px,
            )
        x, before = x + letter.advance, char


def _groove(pen: ImageDraw.ImageDraw, strokes: MultiLineString, width: float) -> None:
    """Fill what a round tool of that width leaves."""
    groove = strokes.buffer(width / 2.0, quad_segs=16)
    for part in getattr(groove, "geoms", [groove]):
        pen.polygon(list(part.exterior.coords), fill=_CUT)
        for hole in part.interiors:
            pen.polygon(list(hole.coords), fill=_WOOD)
