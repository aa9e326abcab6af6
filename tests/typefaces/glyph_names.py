"""Glyphs of a run by the names that their font has for them."""

from __future__ import annotations

from engrave.typefaces.run import Run


def glyph_names(run: Run) -> list[str]:
    """Return them in the order in which they stand."""
    return [p.glyph.key.split("/")[1] for p in run.placed]
