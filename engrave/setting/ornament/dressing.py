"""A task's fields dressed as its setting asks: parted by ornaments, made a monogram, put into a frame."""

from __future__ import annotations

from dataclasses import dataclass, replace

from engrave.problems import Problem
from engrave.setting.lettering import Lettering, Mark
from engrave.setting.ornament.artwork_laid import with_artwork
from engrave.setting.ornament.initials import RING_SHARE, monogram, no_initials, signs_left_out
from engrave.setting.ornament.inking import Inker, inker_for, least_line
from engrave.setting.ornament.ornament_lines import PAIR_RATIO, as_pair, ending, ornament_field, with_ornament
from engrave.setting.ornament.outline_frames import framed
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.fields import ShapedField
from engrave.shop.artwork import Artwork
from engrave.tasks import Task
from engrave.typefaces import Shelf, Typeface
from engrave.typefaces.run import TypefaceKind

RING_PEN = 0.6
"""Thickness of a monogram's ring over the pen that draws marks beside its letters: it is large, and would be heavy."""

IN_RING = 1.6
"""Size of an ornament in the middle of a rim, over the capitals there: it stands alone and may be seen."""


@dataclass(frozen=True, slots=True)
class Dressed:
    """What is to be laid, and where. marks: the frame's and the drawing's. spare: an ornament for a middle in which no words stand."""

    task: Task
    frame: ReadingFrame
    fields: tuple[ShapedField, ...]
    marks: tuple[Mark, ...] = ()
    spare: ShapedField | None = None
    problems: tuple[Problem, ...] = ()


def dressed(
    task: Task, shelf: Shelf, frame: ReadingFrame, fields: tuple[ShapedField, ...], kind: TypefaceKind, pen: float = 0.0
) -> Dressed | Problem:
    """Return a task's fields as its setting dresses them; a Problem where it cannot be done.

    pen: least thickness of the ornaments' lines in cap heights, where they have a body.
    """
    setting = task.setting
    if is_undressed(task):
        return Dressed(task, frame, fields)
    inker = inker_for(task, shelf, kind)
    inker = inker if inker.pen is None else replace(inker, pen=max(inker.pen, pen), least=pen)
    found = _in_frame(task, frame, inker)
    if not isinstance(found, Problem) and task.artwork is not None:
        found = _with_artwork(found, task.artwork, inker, shelf.get(task.typefaces[0][1]))
    if isinstance(found, Problem):
        return found
    if not fields:
        return found
    if setting.kind == "monogram":
        return _monogram(found, fields, inker)
    return replace(found, fields=_parted(task, fields, inker), spare=_spare(task, fields, inker))


def is_undressed(task: Task) -> bool:
    """Tell whether a task's words stand alone: nothing of ours is drawn with them, by whatever tool they are cut."""
    setting = task.setting
    return setting.kind == "stack" and setting.ornament == "none" and setting.frame == "none" and task.artwork is None


def _in_frame(task: Task, frame: ReadingFrame, inker: Inker) -> Dressed | Problem:
    if task.setting.frame == "none":
        return Dressed(task, frame, ())
    plain = replace(inker, least=0.0)  # one frame, whatever the words
    web = max(task.wood.web_along, task.wood.web_across)
    found = framed(frame, task.setting.frame, plain, task.tool.groove, least_line(task.tool), web)
    if found is None:
        says = f"The {task.lid.title} has no room for a frame with words in it. Take a setting without a frame."
        return Problem("no-frame", "hold", says, where=task.lid.id)
    return Dressed(task, found.inner, (), found.marks)


def _with_artwork(found: Dressed, art: Artwork, inker: Inker, typeface: Typeface) -> Dressed | Problem:
    """Return what is dressed so far with a drawing, and the place that it leaves for words."""
    laid = with_artwork(found.task, found.frame, art, inker, typeface)
    if isinstance(laid, Problem):
        return laid
    told = replace(found, marks=(*found.marks, *laid.marks), problems=laid.problems)
    return told if laid.frame is None else replace(told, frame=laid.frame)


def _monogram(found: Dressed, fields: tuple[ShapedField, ...], inker: Inker) -> Dressed | Problem:
    first = fields[0]
    made = monogram(first, inker, max(RING_PEN * (inker.pen or 0.0), inker.least)) if first.field == "name" else None
    if made is None:
        return no_initials(first.text)
    name, ring = made
    most = RING_SHARE / ring
    setting = found.task.setting
    smaller = replace(
        setting, greatest_round=min(setting.greatest_round, most), greatest_long=min(setting.greatest_long, most),
        greatest_rectangle=min(setting.greatest_rectangle, most),
    )  # fmt: skip
    told = (*found.problems, *signs_left_out(first.text))
    return replace(found, task=replace(found.task, setting=smaller), fields=(name, *fields[1:]), problems=told)


def _parted(task: Task, fields: tuple[ShapedField, ...], inker: Inker) -> tuple[ShapedField, ...]:
    setting = task.setting
    if setting.ornament == "none" or setting.kind not in ("stack", "pair"):
        return fields
    part = as_pair if setting.kind == "pair" else with_ornament
    return part(fields, setting.ornament, inker, setting.ornament_size)


def _spare(task: Task, fields: tuple[ShapedField, ...], inker: Inker) -> ShapedField | None:
    setting = task.setting
    ring = setting.kind == "rim" and setting.rim_where in ("both", "around")
    if setting.ornament == "none" or not (ring or setting.kind == "arch"):
        return None
    size = setting.ornament_size * (IN_RING if ring else 1.0)
    if len(fields) == 1 and not ring:
        return ending(replace(fields[0], ratio=1.0), setting.ornament, inker, size)
    return ornament_field(setting.ornament, inker, replace(fields[0], ratio=PAIR_RATIO), size)


def pen_wanted(task: Task, laid: Lettering) -> float:
    """Return how thick ornaments' lines must be drawn, in cap heights, for the tool to make them as they were laid."""
    sizes = [m.cap_mm for m in laid.marks if m.is_ornament and "~" not in m.glyph.key.split("/")[1]]
    return least_line(task.tool) / min(sizes) if sizes and laid.kind == "outline" else 0.0
