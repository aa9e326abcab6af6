"""Make the two typefaces that the week's page carries: Latin letters of Vollkorn and Noto Sans, as WOFF2.

    python tests/tools/page_type.py

Run it when a typeface in fonts_open changes. The same files give the same bytes.
"""

from __future__ import annotations

import io
from pathlib import Path

from fontTools import subset

ROOT = Path(__file__).resolve().parents[2]
INTO = ROOT / "engrave" / "output" / "page" / "templates"
TYPEFACES = {
    "page_words.woff2": ROOT / "fonts_open" / "vollkorn" / "Vollkorn-Medium.ttf",
    "page_text.woff2": ROOT / "fonts_open" / "noto-sans" / "NotoSans-Regular.ttf",
    "page_strong.woff2": ROOT / "fonts_open" / "noto-sans-bold" / "NotoSans-Bold.ttf",
}
LETTERS = [
    *range(0x20, 0x7F),
    *range(0xA0, 0x180),
    0x218,
    0x219,
    0x21A,
    0x21B,
    *range(0x2010, 0x2027),
    0x20AC,
    0x2192,
    0xD7,
]


def page_type(font_file: Path) -> bytes:
    """Return a font's Latin letters with their kerning, as WOFF2."""
    options = subset.Options()
    options.flavor = "woff2"
    options.layout_features = ["kern", "liga", "lnum", "tnum", "mark", "ccmp"]
    options.hinting = False
    options.notdef_outline = True
    options.recalc_timestamp = False
    font = subset.load_font(str(font_file), options, dontLoadGlyphNames=True)
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=LETTERS)
    subsetter.subset(font)
    out = io.BytesIO()
    subset.save_font(font, out, options)
    return out.getvalue()


if __name__ == "__main__":
    for name, font_file in TYPEFACES.items():
        (INTO / name).write_bytes(page_type(font_file))
