"""How a cluster of characters is spelled to a typeface, and what comes back: glyphs, each with its place."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.typefaces.letter_form import LetterForm
from engrave.typefaces.run import Glyph

X_OF_CAP = (0.05, 3.0)
"""Heights of small letters in capitals' heights: beyond it the file is damaged."""


@dataclass(frozen=True, slots=True)
class Spelling:
    """How a typeface sets one cluster of characters.

    codes: the code points that are shaped in its place. made: a glyph that takes the place of what they give (a
    letter from another slice of the typeface, or one composed). how: of what it was composed, '' if the typeface has
    it.
    """

    codes: tuple[int, ...]
    how: str = ""
    made: LetterForm | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class SetGlyph:
    """One glyph of a shaped stretch, from its left end; `at` is the index in the line of the first character."""

    glyph: Glyph
    x: float
    y: float
    at: int
