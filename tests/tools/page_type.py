"""Make the typefaces that the week's page carries, as WOFF2: Latin letters, and for buyers' words scripts of their own.

    python tests/tools/page_type.py

Run it when a typeface in fonts_open changes. The same files give the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from fontTools import subset

ROOT = Path(__file__).resolve().parents[2]
INTO = ROOT / "engrave" / "output" / "page" / "templates"
TYPEFACES = {
    "page_words.woff2": ROOT / "fonts_open" / "vollkorn" / "Vollkorn-Medium.ttf",
    "page_text.woff2": ROOT / "fonts_open" / "noto-sans" / "NotoSans-Regular.ttf",
    "page_strong.woff2": ROOT / "fonts_open" / "noto-sans-bold" / "NotoSans-Bold.ttf",
}
GREEK, CYRILLIC = (*range(0x370, 0x400), *range(0x1F00, 0x2000)), range(0x400, 0x530)
SCRIPTS = {
    "page_greek.woff2": ("noto-sans/NotoSans-Regular.ttf", GREEK),
    "page_greek_words.woff2": ("vollkorn/Vollkorn-Medium.ttf", GREEK),
    "page_cyrillic.woff2": ("noto-sans/NotoSans-Regular.ttf", CYRILLIC),
    "page_cyrillic_words.woff2": ("vollkorn/Vollkorn-Medium.ttf", CYRILLIC),
    "page_armenian.woff2": ("noto-sans-armenian/noto-sans-armenian-armenian-400-normal.woff2", range(0x530, 0x590)),
    "page_georgian.woff2": ("noto-sans-georgian/noto-sans-georgian-georgian-400-normal.woff2", range(0x10A0, 0x1100)),
    "page_signs.woff2": ("../engrave/output/typesetting/type/sheet_signs.ttf", range(0x2190, 0x20000)),
    "page_hebrew.woff2": ("noto-sans-hebrew/NotoSansHebrew-Regular.ttf", range(0x590, 0x600)),
    "page_arabic.woff2": ("noto-naskh-arabic/NotoNaskhArabic-Regular.ttf", range(0x600, 0x700)),
    "page_devanagari.woff2": ("noto-sans-devanagari/NotoSansDevanagari-Regular.ttf", range(0x900, 0x980)),
}
JOINERS = [0x200C, 0x200D, 0x25CC]
LETTERS = [
    *range(0x20, 0x7F),
    *range(0xA0, 0x180),
    *range(0x1EA0, 0x1EFA),
    0x2BB,
    0x2BC,
    0x218,
    0x219,
    0x21A,
    0x21B,
    *range(0x2010, 0x2027),
    0x20AC,
    0x2192,
    0xD7,
]


def page_type(font_file: Path, letters: Iterable[int], features: Sequence[str]) -> bytes:
    """Return a font's letters with these of its features, as WOFF2."""
    options = subset.Options()
    options.flavor = "woff2"
    options.layout_features = list(features)
    options.hinting = False
    options.notdef_outline = True
    options.recalc_timestamp = False
    font = subset.load_font(str(font_file), options, dontLoadGlyphNames=True)
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=letters)
    subsetter.subset(font)
    out = io.BytesIO()
    subset.save_font(font, out, options)
    return out.getvalue()


if __name__ == "__main__":
    for name, font_file in TYPEFACES.items():
        (INTO / name).write_bytes(page_type(font_file, LETTERS, ["kern", "liga", "lnum", "tnum", "mark", "ccmp"]))
    for name, (file, letters) in SCRIPTS.items():
        (INTO / name).write_bytes(page_type(ROOT / "fonts_open" / file, [*letters, *JOINERS], ["*"]))
