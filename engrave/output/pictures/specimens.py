"""Words in a typeface's own letters, as a drawing on a sheet: single lines as wide as on a technical drawing."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.geometry.affine import Matrix
from engrave.geometry.paths import Path, transformed
from engrave.output.pictures.vectors import drawing
from engrave.output.svg.lid_file import path_data
from engrave.typefaces.run import Placed, Run

STROKE = 0.11
"""Width of a single-line letter's stroke in cap heights: ISO 3098-1 type B has a tenth of the height."""

ABOVE, BELOW = 1.75, 0.75
"""Cap heights over and under the baseline that the drawing holds: two marks over a capital, a tail below the line."""

ASIDE = 0.35
"""Cap heights of room on either side, for letters that reach beyond their own width."""


@dataclass(frozen=True, slots=True)
class Specimen:
    """A line of words as SVG. width, height: of the drawing; advance: of the words; all in cap heights."""

    svg: bytes
    width: float
    advance: float
    height: float = ABOVE + BELOW


def specimen(run: Run, colour: str) -> Specimen:
    """Return a shaped line of words as a drawing, its baseline `ABOVE` under the top, its start `ASIDE` from the left."""
    width = run.advance + 2 * ASIDE
    parts = [_letter(placed, colour) for placed in run.placed if placed.glyph.path]
    return Specimen(drawing((-ASIDE, -ABOVE, width, ABOVE + BELOW), parts), width, run.advance)


def _letter(placed: Placed, colour: str) -> str:
    scale = placed.scale
    matrix: Matrix = (scale, 0.0, 0.0, -scale, placed.x, -placed.y)
    path: Path = transformed(placed.glyph.path, matrix)
    if placed.glyph.kind == "outline":
        return f'<path d="{path_data(path)}" fill="{colour}"/>'
    pen = f'stroke="{colour}" stroke-width="{STROKE * scale:.3f}" stroke-linecap="round" stroke-linejoin="round"'
    return f'<path d="{path_data(path)}" fill="none" {pen}/>'
