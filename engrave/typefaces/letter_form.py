"""A letter's form in cap heights, and the glyph that is made of it."""

from __future__ import annotations

import hashlib
import struct
from dataclasses import dataclass

from engrave.geometry.flattening import bounds
from engrave.geometry.paths import Path, transformed
from engrave.typefaces.run import Glyph, TypefaceKind

FormBox = tuple[float, float, float, float]
"""Least x, least y, greatest x, greatest y."""

_FLAT = 0.002
"""Cap heights: chords for boxes of letters; 0.02 mm at 10 mm."""


@dataclass(frozen=True, slots=True)
class LetterForm:
    """A path and its advance, in cap heights, y up, baseline at 0."""

    path: Path
    advance: float

    @property
    def box(self) -> FormBox | None:
        """Bounding box of the path; None if it draws nothing."""
        return bounds(self.path, _FLAT)

    def moved(self, dx: float, dy: float) -> LetterForm:
        """Return the form shifted, its advance as before."""
        return LetterForm(shifted(self.path, dx, dy), self.advance)


def shifted(path: Path, dx: float, dy: float) -> Path:
    """Return a path shifted."""
    return transformed(path, (1.0, 0.0, 0.0, 1.0, dx, dy))


def glyph(typeface: str, name: str, kind: TypefaceKind, form: LetterForm) -> Glyph:
    """Return a form as a glyph whose key is equal only for equal paths."""
    return Glyph(f"{typeface}/{name}/{_digest(form.path)}", kind, form.path, form.advance)


def _digest(path: Path) -> str:
    """Return a short digest of a path's figures, the same on every computer."""
    found = hashlib.sha256()
    for contour in path:
        points = contour.points
        found.update(struct.pack(f"<{2 * len(points)}d", *(v for p in points for v in p)))
        found.update(bytes([contour.closed, *(len(s) for s in contour.segments)]))
    return found.hexdigest()[:12]
