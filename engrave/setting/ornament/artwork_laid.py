"""A shop's own drawing on the lid: as a tool can make it, fitted into its part of the room, the words in the rest."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shapely import box as rectangle
from shapely.geometry.base import BaseGeometry

from engrave.geometry.affine import inverse_matrix, map_shape
from engrave.geometry.paths import Contour, Path, transformed
from engrave.geometry.regions import centre_lines, region
from engrave.problems import Problem
from engrave.setting.compose.composition import Sizes, compose_largest
from engrave.setting.compose.containment import is_inside
from engrave.setting.compose.lay import lines_of, settled
from engrave.setting.lettering import Lettering, Mark
from engrave.setting.ornament.inking import Inker, placed
from engrave.setting.ornament.ornament_lines import word_of
from engrave.setting.reading_frame import ReadingFrame, part_of
from engrave.setting.text.fields import ShapedField
from engrave.shop.artwork import Artwork
from engrave.tasks import Task
from engrave.typefaces import Glyph, Typeface
from engrave.typefaces.contours.outline_union import layered, stroked
from engrave.typefaces.letter_form import LetterForm, glyph
from engrave.typefaces.run import ORNAMENT

OF_ARTWORK = "artwork-"
"""Begins the name of a drawing in its glyph's key; the file's digest follows."""

UNITS = 6.0
"""Cap heights that count for the longer side of a drawing: one of 60 mm is measured as letters of 10 mm are."""

LEAST_UNIT = 0.5
"""mm: a drawing with its longer side under six times this is a dot, not a picture."""

APART = 0.05
"""Wood between a drawing and the words' part of the room, over the lid's lesser side (our eye, no source)."""

BESIDE_SHARE = 0.92
"""Share of what fits at which a drawing stands beside or above words: it does not touch the room's edge (our eye)."""


@dataclass(frozen=True, slots=True)
class WithArtwork:
    """A drawing laid. frame: the place that is left for words; None where the drawing has an area of its own."""

    marks: tuple[Mark, ...]
    frame: ReadingFrame | None
    problems: tuple[Problem, ...] = ()


def with_artwork(
    task: Task, frame: ReadingFrame, art: Artwork, inker: Inker, typeface: Typeface
) -> WithArtwork | Problem:
    """Lay a task's drawing where its setting has it; a Problem where there is no room for it."""
    drawn = artwork_glyph(art, inker)
    if not drawn.path:
        return _nothing_left(art)
    if not task.words.filled():
        marks = _fitted(task, frame, drawn, art, typeface, task.setting.fill)
        return WithArtwork(marks, None, _told(art, inker)) if marks else _no_room(task, art)
    if task.setting.artwork == "behind":
        return _behind(task, frame, drawn, art, inker, typeface)
    there, rest = _parts(task, frame)
    marks = _fitted(task, there, drawn, art, typeface, BESIDE_SHARE) if there is not None else ()
    if not marks or rest is None:
        return _no_room(task, art)
    return WithArtwork(marks, rest, _told(art, inker))


def artwork_glyph(art: Artwork, inker: Inker) -> Glyph:
    """Return a drawing as a glyph: shapes united, lines with the pen's body, or all as lines where a tool follows them."""
    flip = (UNITS, 0.0, 0.0, -UNITS, 0.0, art.height * UNITS)
    parts = [(p.ink, transformed(p.contours, flip), p.evenodd) for p in art.parts]
    layers = [(_closed(path), evenodd, ink == "shape") for ink, path, evenodd in parts if ink != "line"]
    lines = tuple(c for ink, path, _ in parts if ink == "line" for c in path)
    if inker.kind == "single-line":
        path = (*layered(layers), *lines)
    else:
        inked = [(stroked(lines, inker.pen or 0.0), False, True)] if lines else []
        path = layered([*layers, *inked])
    return glyph(ORNAMENT, f"{OF_ARTWORK}{art.digest[:12]}", inker.kind, LetterForm(path, 0.0))


def is_artwork(mark: Mark) -> bool:
    """Tell a shop's own drawing from letters and from our ornaments."""
    return mark.glyph.key.startswith(f"{ORNAMENT}/{OF_ARTWORK}")


def _closed(path: Path) -> Path:
    """Return contours closed, as what fills them does."""
    return tuple(c if c.closed else Contour(c.start, (*c.segments, (c.start,)), True) for c in path)


def _told(art: Artwork, inker: Inker) -> tuple[Problem, ...]:
    if inker.kind != "single-line" or all(p.ink == "line" for p in art.parts):
        return ()
    says = f"The filled shapes of '{art.name}' are cut as their outlines, as this piece is cut along lines."
    return (Problem("artwork-as-outlines", "note", says, where="artwork"),)


def _nothing_left(art: Artwork) -> Problem:
    says = f"The drawing '{art.name}' leaves nothing to cut: what is white covers the rest. Give it a fill that is not white."
    return Problem("no-room-for-artwork", "hold", says, where="artwork")


def _no_room(task: Task, art: Artwork) -> Problem:
    says = (
        f"There is no room for the drawing '{art.name}' on {task.lid.title} with these words. Fewer words, another setting or "
        "a larger lid would help."
    )
    return Problem("no-room-for-artwork", "hold", says, where="artwork")


def _fitted(
    task: Task, frame: ReadingFrame, drawn: Glyph, art: Artwork, typeface: Typeface, share: float
) -> tuple[Mark, ...]:
    """Return a drawing as large as a share of what fits a place, in its middle; nothing where it does not fit."""
    word = word_of((placed(drawn, f"the drawing {art.name}"),), "", (0, 0))
    if word is None:
        return ()
    low, high = word.unit.hull.min(axis=0), word.unit.hull.max(axis=0)
    left, bottom, right, top = frame.room.bounds
    ceiling = min((right - left) / max(high[0] - low[0], 0.1), (top - bottom) / max(high[1] - low[1], 0.1))
    field = ShapedField(ORNAMENT, 1.0, 1.0, 0.0, typeface, "", (word,), False)
    setting = replace(task.setting, align="centre", air=0.0, fill=share)
    composed = compose_largest(frame, (field,), setting, Sizes(ceiling, min(LEAST_UNIT, ceiling)), task.area.border)
    if composed is None:
        return ()
    _, marks = settled(lines_of(frame, composed, composed.size))
    whole = Lettering(drawn.kind, task.setting.id, marks, (), 0.0)
    return marks if is_inside(whole, frame) else ()


def _parts(task: Task, frame: ReadingFrame) -> tuple[ReadingFrame | None, ReadingFrame | None]:
    """Return the parts of a place for the drawing and for the words: above and below, or side by side."""
    left, bottom, right, top = frame.room.bounds
    gap = APART * min(frame.width, frame.height) / 2
    share = task.setting.artwork_size
    if task.setting.artwork == "above":
        y = top - share * (top - bottom)
        one, two = rectangle(left, y + gap, right, top), rectangle(left, bottom, right, y - gap)
        axis = frame.axis
    else:
        x = left + share * (right - left)
        one, two = rectangle(left, bottom, x - gap, top), rectangle(x + gap, bottom, right, top)
        axis = None
    first, second = (_place(frame, frame.room.intersection(half), axis) for half in (one, two))
    return first, second


def _place(frame: ReadingFrame, part: BaseGeometry, axis: float | None) -> ReadingFrame | None:
    """Return a part of a place as a place of its own, with its own axis and middle."""
    found = part_of(frame, part)
    if found is None:
        return None
    _, low, _, high = part.bounds
    return replace(found, axis=axis, middle=(low + high) / 2)


def _behind(
    task: Task, frame: ReadingFrame, drawn: Glyph, art: Artwork, inker: Inker, typeface: Typeface
) -> WithArtwork | Problem:
    """Let a drawing fill the room, and the words stand where it leaves wood."""
    marks = _fitted(task, frame, drawn, art, typeface, 1.0)
    if not marks:
        return _no_room(task, art)
    lines = inker.kind == "single-line"
    taken = (centre_lines if lines else region)(marks[0].path())
    air = APART * min(frame.width, frame.height) + (task.tool.groove if lines else 0.0)
    covered = map_shape(taken.buffer(air), inverse_matrix(frame.to_area))
    left = _place(frame, frame.room.difference(covered), frame.axis)
    return (
        _no_room(task, art)
        if left is None
        else WithArtwork(marks, replace(left, middle=frame.middle), _told(art, inker))
    )
