"""Open typefaces, outline and single-line, behind one interface: words in, placed glyphs out.

`shelf` is what is at hand and how a line is set; `typeface_table` what each typeface says of itself; `run` what comes
out. Rooms: `read` opens font files, `supply` finds what a typeface lacks, `contours` are the shapes of glyphs.
"""

from engrave.typefaces.run import Glyph, Placed, Run, Typeface, TypefaceKind
from engrave.typefaces.shelf import Shelf, UnknownTypeface, load_shelf
from engrave.typefaces.shelf_typeface import ShelfTypeface
from engrave.typefaces.thickening import gain_for, thickened, thicker_by
from engrave.typefaces.typeface_table import Facts, Measured, TypefaceError
from engrave.typefaces.weighting import weighted

__all__ = [
    "Facts",
    "Glyph",
    "Measured",
    "Placed",
    "Run",
    "Shelf",
    "ShelfTypeface",
    "Typeface",
    "TypefaceError",
    "TypefaceKind",
    "UnknownTypeface",
    "gain_for",
    "load_shelf",
    "thickened",
    "thicker_by",
    "weighted",
]  # fmt: skip
