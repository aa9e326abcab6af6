"""Open typefaces, outline and single-line, behind one interface: words in, placed glyphs out."""

from engrave.typefaces.run import Glyph, Kind, Placed, Run, Typeface
from engrave.typefaces.shelf import Shelf, ShelfTypeface, UnknownTypeface, load_shelf
from engrave.typefaces.table import Facts, Measured, TypefaceError

__all__ = [
    "Facts", "Glyph", "Kind", "Measured", "Placed", "Run", "Shelf", "ShelfTypeface", "Typeface", "TypefaceError",
    "UnknownTypeface", "load_shelf",
]  # fmt: skip
