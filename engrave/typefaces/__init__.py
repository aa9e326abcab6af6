"""Open typefaces, outline and single-line, behind one interface: words in, placed glyphs out."""

from engrave.typefaces.run import Glyph, Kind, Placed, Run, Typeface
from engrave.typefaces.shelf import Shelf, ShelfTypeface, UnknownTypeface, load_shelf
from engrave.typefaces.table import Facts, Measured, TypefaceError
from engrave.typefaces.thicker import gain_for, thickened, thicker_by

__all__ = [
    "Facts", "Glyph", "Kind", "Measured", "Placed", "Run", "Shelf", "ShelfTypeface", "Typeface", "TypefaceError",
    "UnknownTypeface", "gain_for", "load_shelf", "thickened", "thicker_by",
]  # fmt: skip
