"""The shapes of glyphs: drawn by a pen, outlines united and grown, single lines mended and their rounds refitted."""

from __future__ import annotations

from engrave.typefaces.contours.mend import mended_lines
from engrave.typefaces.contours.outline_union import grown, stroked, together, unite, united
from engrave.typefaces.contours.path_pen import PathPen, draw
from engrave.typefaces.contours.refit import refitted

__all__ = ["PathPen", "draw", "grown", "mended_lines", "refitted", "stroked", "together", "unite", "united"]
