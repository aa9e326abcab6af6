"""Withy's ornaments as glyphs that a tool can make: single lines where it follows lines, else the body of a pen."""

from __future__ import annotations

from dataclasses import dataclass

from engrave.geometry.affine import Matrix
from engrave.geometry.paths import Contour, Path, transformed
from engrave.tasks import Task, Tool
from engrave.typefaces import Glyph, Placed, Shelf
from engrave.typefaces.contours.outline_union import stroked
from engrave.typefaces.letter_form import LetterForm, glyph
from engrave.typefaces.run import ORNAMENT, TypefaceKind
from engrave.typefaces.supply.ornaments import LEAFY, Strokes, inked

SIGNS = {"rule": "⸺", "lozenge-rule": "⸻", "sprig": "🌿", "leaf": "❦", "heart": "♥", "star": "✦", "lozenge": "♦"}
"""Withy's sign for each ornament that a setting may name."""

CORNERS = ("🙙", "🙛", "🙘", "🙚")
"""Withy's corner sprigs: bottom left, bottom right, top left, top right."""

RULE = Contour((0.0, 0.383), (((2.1875, 0.383),),), False)
"""The tapered rule where a tool follows lines: its middle alone, as the two sides would leave a sliver of wood."""

SPRIG_APART = 0.1
"""Cap heights from the middle to each of the two sprigs that make one: a leaf's width lies between them."""

FINE = 0.4
"""Share of the pen with which leaves and tapered rules are inked, which are filled besides: a whole one makes clots."""

PEN_OVER_TOOL = 1.3
"""An ornament's line over the thinnest that the tool makes: a tenth for the check's slack, the rest so that it is seen."""


@dataclass(frozen=True, slots=True)
class Inker:
    """What draws ornaments: Withy's strokes, and the pen in cap heights that inks them (None: single lines).

    least: the thinnest pen with which the tool still makes them as they are laid.
    """

    kind: TypefaceKind
    strokes: Strokes
    pen: float | None
    least: float = 0.0

    def ornament(self, name: str) -> Glyph | None:
        """Return an ornament by its name in the settings; None if Withy is not at hand."""
        if name == "rule" and self.kind == "single-line":
            return self.line((RULE,), name, 0.0)
        if name == "sprig":
            return self._drawn(SIGNS[name], _spray(self.strokes), name)
        if name == "leaf":  # filled as leaves are: its heart, left open, closes up where it is small
            return self._drawn(SIGNS["sprig"], self.strokes.form(SIGNS[name]), name)
        return self.sign(SIGNS[name], name)

    def sign(self, sign: str, name: str) -> Glyph | None:
        """Return one of Withy's signs, called `name` in its key."""
        return self._drawn(sign, self.strokes.form(sign), name)

    def line(self, path: Path, name: str, pen: float) -> Glyph:
        """Return lines in cap heights as they are followed, or with the body of a pen `pen` cap heights thick."""
        inked_path = path if self.kind == "single-line" else stroked(path, pen)
        return glyph(ORNAMENT, name, self.kind, LetterForm(inked_path, 0.0))

    def _drawn(self, sign: str, form: LetterForm | None, name: str) -> Glyph | None:
        if form is None:
            return None
        pen = self.pen and max(self.pen * (FINE if sign in LEAFY else 1.0), self.least)
        found = inked(sign, _Only(form), pen)
        return glyph(ORNAMENT, name, self.kind, found) if found is not None else None


@dataclass(frozen=True, slots=True)
class _Nothing:
    """Strokes of a typeface that is not at hand."""

    def form(self, char: str) -> LetterForm | None:
        return None


@dataclass(frozen=True, slots=True)
class _Only:
    """Strokes that are one form, whatever is asked for."""

    only: LetterForm

    def form(self, char: str) -> LetterForm | None:
        return self.only


def _spray(strokes: Strokes) -> LetterForm | None:
    """Return two sprigs that grow away from each other, lying, with their middle at the half of the capitals' height."""
    form = strokes.form(SIGNS["sprig"])
    box = form.box if form is not None else None
    if form is None or box is None:
        return None
    stem = (box[0] + box[2]) / 2
    ways: tuple[Matrix, ...] = (
        (0.0, -1.0, 1.0, 0.0, SPRIG_APART, 0.5 + stem), (0.0, -1.0, -1.0, 0.0, -SPRIG_APART, 0.5 + stem),
    )  # fmt: skip
    return LetterForm(tuple(c for way in ways for c in transformed(form.path, way)), 0.0)


def inker_for(task: Task, shelf: Shelf, kind: TypefaceKind) -> Inker:
    """Return what draws a task's ornaments with the pen of its first typeface; where Withy is not at hand, none."""
    strokes: Strokes = shelf.strokes("") or _Nothing()
    if kind == "single-line":
        return Inker(kind, strokes, None)
    field, ident = task.typefaces[0]
    pen = task.weight(field) or shelf.get(ident).pen + task.thicken
    return Inker(kind, strokes, pen)


def least_line(tool: Tool) -> float:
    """Return the thinnest line in mm that an ornament may have where its body is cleared or burnt."""
    return max(PEN_OVER_TOOL * tool.diameter, tool.recipe.least_stroke or 0.0)


def placed(drawn: Glyph, says: str, x: float = 0.0, y: float = 0.0, scale: float = 1.0) -> Placed:
    """Return an ornament placed among letters; says: what it is called in front of people."""
    return Placed(drawn, x, y, says, 0, scale)
