"""What a tool does to lettering: what it leaves of it, and by how much it closes the wood between its cuts."""

from engrave.cutting.effect.as_cut import NOTHING_CUT, AsCut, as_grown, as_opened
from engrave.cutting.effect.closing import Closing, closing_of, mark_closing
from engrave.cutting.effect.contrast import contrast_of, luminance

__all__ = [
    "NOTHING_CUT", "AsCut", "Closing", "as_grown", "as_opened", "closing_of", "contrast_of", "luminance", "mark_closing",
]  # fmt: skip
