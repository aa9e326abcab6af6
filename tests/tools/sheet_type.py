"""Make the typeface of signs that sheets need beside those in fonts_open, as TrueType, which the typesetter reads.

    python tests/tools/sheet_type.py

Our drawn signs become a typeface of their own, so that a heart stands in a sheet's line of words. Run it when Withy
changes. The same drawings give the same bytes.
"""

from __future__ import annotations

import io
from pathlib import Path

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables._g_l_y_f import Glyph

from engrave.typefaces import load_shelf
from engrave.typefaces.letter_form import LetterForm
from engrave.typefaces.supply import inked
from engrave.typefaces.supply.ornaments import PICTURES

ROOT = Path(__file__).resolve().parents[2]
INTO = ROOT / "engrave" / "output" / "typesetting" / "type" / "sheet_signs.ttf"

FAMILY = "Sheet Signs"
EM = 1000
CAP = 690
"""Units that a capital is high: between the two typefaces beside which the signs stand."""

PEN = 0.11
"""Cap heights: thickness of the pen that draws signs, near that of the letters beside them."""

BESIDE = 0.06
"""Cap heights of blank on either side of a sign."""


def signs() -> bytes:
    """Return our drawn signs as a TrueType typeface."""
    strokes = load_shelf().strokes("")
    assert strokes is not None  # Withy is on the shelf
    forms = {sign: form for sign in PICTURES if (form := inked(sign, strokes, PEN)) is not None}
    names = {sign: f"sign{number:02d}" for number, sign in enumerate(forms)}
    glyphs = {".notdef": TTGlyphPen(None).glyph(), "space": TTGlyphPen(None).glyph()}
    glyphs |= {names[sign]: _glyph(form) for sign, form in forms.items()}
    widths = {".notdef": EM // 2, "space": EM // 4}
    widths |= {names[s]: round((f.advance + 2 * BESIDE) * CAP) for s, f in forms.items()}
    made = FontBuilder(EM, isTTF=True)
    made.setupGlyphOrder(list(glyphs))
    made.setupCharacterMap({0x20: "space"} | {ord(sign): name for sign, name in names.items()})
    made.setupGlyf(glyphs)
    left = {name: getattr(glyph, "xMin", 0) for name, glyph in glyphs.items()}  # browsers move a sign by it
    made.setupHorizontalMetrics({name: (width, left[name]) for name, width in widths.items()})
    made.setupHorizontalHeader(ascent=900, descent=-250)
    names_told = {"familyName": FAMILY, "styleName": "Regular", "fullName": FAMILY, "psName": FAMILY.replace(" ", "-")}
    made.setupNameTable(names_told)  # the typesetter passes over a typeface without its PostScript name
    made.setupOS2(fsType=0, sTypoAscender=900, sTypoDescender=-250, sCapHeight=CAP, usWinAscent=900, usWinDescent=250)
    made.setupPost()
    return _saved(made.font)


def _glyph(form: LetterForm) -> Glyph:
    """Return a drawing as a glyph; its cubic curves become quadratic ones within a thousandth of a capital's height."""
    pen = TTGlyphPen(None)
    into = Cu2QuPen(pen, max_err=CAP / 1000.0, reverse_direction=True)
    for contour in form.path:
        into.moveTo(_units(contour.start))
        for segment in contour.segments:
            draw = (into.lineTo, into.qCurveTo, into.curveTo)[len(segment) - 1]
            draw(*(_units(point) for point in segment))
        into.closePath()
    return pen.glyph()


def _units(point: tuple[float, float]) -> tuple[float, float]:
    return (point[0] + BESIDE) * CAP, point[1] * CAP


def _saved(font: TTFont) -> bytes:
    font["head"].created = font["head"].modified = 0  # the same drawings give the same bytes
    font.recalcTimestamp = False
    font.flavor = None
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


if __name__ == "__main__":
    INTO.write_bytes(signs())
