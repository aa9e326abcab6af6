"""Font files opened: what may be used, outline typefaces set by HarfBuzz, single-line ones by their own kerning."""

from __future__ import annotations

from engrave.typefaces.read.acceptance import accept
from engrave.typefaces.read.outline_source import OutlineSource
from engrave.typefaces.read.single_line_source import SingleSource
from engrave.typefaces.read.spelling import SetGlyph, Spelling

__all__ = ["OutlineSource", "SetGlyph", "SingleSource", "Spelling", "accept"]
