"""Words set on a lid: real geometry in the area's frame (mm, origin at the top left of the lid's box, y down)."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.geometry.affine import Matrix
from engrave.geometry.paths import Path, transformed
from engrave.problems import Problem
from engrave.typefaces.characters import capitals_or_letters
from engrave.typefaces.run import ORNAMENT, Glyph, TypefaceKind

NO_LINE = -1
"""Line of a mark that belongs to no line of words."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One glyph on the lid: `matrix` takes cap heights (y up) to the area's mm (y down).

    line: index of its line; NO_LINE for an ornament, whose `text` is what it is called.
    """

    glyph: Glyph
    matrix: Matrix
    text: str
    line: int

    @property
    def cap_mm(self) -> float:
        """Height in mm that one cap height of this glyph has on the lid."""
        a, b, c, d, _, _ = self.matrix
        return float(abs(a * d - b * c) ** 0.5)

    @property
    def is_ornament(self) -> bool:
        """Tell an ornament from a letter."""
        return self.glyph.key.startswith(f"{ORNAMENT}/")

    def path(self) -> Path:
        """Return the glyph's contours on the lid."""
        return transformed(self.glyph.path, self.matrix)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of words as set. baseline: mm from the area's top, read with the front towards one (0 on a rim).

    weight: mm that its single lines are drawn wide, as an outline; 0 for plain lines and letters with a body. joined:
    whether its letters touch by design.
    """

    text: str
    field: str
    cap_mm: float
    x_mm: float
    baseline: float
    weight: float = 0.0
    joined: bool = False


@dataclass(frozen=True, slots=True)
class Lettering:
    """A piece's words, set. kind 'single-line': paths are centre lines of grooves `groove` mm wide.

    Single lines with a weight are outlines: each line of words knows how wide they are drawn.
    """

    kind: TypefaceKind
    setting: str
    marks: tuple[Mark, ...]
    lines: tuple[Line, ...]
    groove: float
    problems: tuple[Problem, ...] = ()

    @property
    def cap_mm(self) -> float:
        """Cap height in mm of the first field that is not empty; 0 when nothing is set."""
        return self.lines[0].cap_mm if self.lines else 0.0

    @property
    def size_is_of(self) -> str:
        """What its size is told of: 'capitals', or 'letters' where its words' scripts have none."""
        return capitals_or_letters("".join(line.text for line in self.lines))
