"""What limits the size, drawn: letters that touch and what they touch ringed and named, other breaks small below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from PIL import Image, ImageDraw
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from engrave.geometry.regions import centre_lines, polygons, region
from engrave.output.numbers import count
from engrave.output.pictures.labels import PLAIN, STRONG, Labels
from engrave.output.pictures.lid_rendering import Frame, frame_for, mask
from engrave.output.pictures.paper import DARK, EDGE, PAPER, SMALL, SOFT, WIDE
from engrave.output.pictures.scenes import CHORD, Scene, mixed
from engrave.shop import room

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.setting import Lettering, Mark, RunnerUp, Touch, Why
    from engrave.tasks import Task

LID_HIGH = 640
"""Pixels the lid may be high: the sentence and the other breaks are then on the same screen."""

SMALL_WIDE, SMALL_HIGH = 330, 250
"""Pixels for the lid of another break; three stand side by side."""

RING = 20
"""Radius of a ring in pixels: a letter's touching part with some air on most lids."""

MOST_RINGS = 8
"""Places ringed and named: more would hide the words, and the list would not be read."""

DASH, BLANK = 7.0, 6.0
"""Pixels of the room's dashed border."""

TOUCHING, OTHER = "#5a2d18", "#a98f76"
"""Letters that touch, and those that do not."""


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A lid being drawn: its frame in the picture and the place of its corner there."""

    picture: Picture
    frame: Frame
    at: tuple[int, int]

    def paint(self, shape: BaseGeometry, colour: str) -> None:
        """Paint a region (mm) in a colour."""
        if not shape.is_empty:
            whole = self.frame.whole
            cover = Image.fromarray((mask(shape, self.frame, whole) * 255.0).astype("uint8"))
            self.picture.paste(Image.new("RGB", cover.size, colour), self.at, cover)

    def pixel(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point (mm) of the lid is in the picture."""
        f = self.frame
        return self.at[0] + f.pad + x * f.scale, self.at[1] + f.pad + y * f.scale


def stacked(above: Picture, below: Picture) -> Picture:
    """Return one picture over the other."""
    both = Image.new("RGB", (max(above.width, below.width), above.height + below.height), PAPER)
    both.paste(above, (0, 0))
    both.paste(below, (0, above.height))
    return both


def limit_drawing(seen: Scene, task: Task, laid: Lettering, reason: Why, labels: Labels) -> Picture:
    """Return the picture of what limits the size of words set on a lid, and of the next best line breaks."""
    frame = frame_for(seen, WIDE - 2 * EDGE, LID_HIGH, EDGE)
    touches = _ringed(reason) if reason.limit == "room" else []
    says = _says(reason, touches, labels)
    text_top = frame.height + 30
    others_top = text_top + 27 * len(says) + 40
    others = SMALL_HIGH + 90 if reason.runners_up else 0
    picture = Image.new("RGB", (WIDE, round(others_top + others)), PAPER)
    sheet = _Sheet(picture, frame, ((WIDE - frame.width) // 2, 24))
    within = seen.view.shape(room(task.area, task.tool.machine, task.tool.cutter))
    marked = {t.mark for t in touches}
    _lid(sheet, seen)
    _border(sheet, within)
    sheet.paint(_cut(seen, laid, [m for i, m in enumerate(laid.marks) if i not in marked]), OTHER if marked else DARK)
    sheet.paint(_cut(seen, laid, [laid.marks[i] for i in sorted(marked)]), TOUCHING)
    _rings(sheet, seen, touches, labels)
    for i, (line, face) in enumerate(says):
        labels.draw(picture, (EDGE, text_top + 24 + 27 * i), line, SMALL, DARK, face)
    for i, other in enumerate(reason.runners_up):
        _other(picture, seen, laid, other, (EDGE + i * (SMALL_WIDE + 41), others_top), labels)
    return picture


def _ringed(reason: Why) -> list[Touch]:
    """Return the touches to be ringed: the nearest, in reading order."""
    return sorted(reason.touches[:MOST_RINGS], key=lambda t: t.mark)


def _lid(sheet: _Sheet, seen: Scene) -> None:
    pale = mixed(seen.wood.colour, "#fffaf0", 0.72)
    sheet.paint(seen.body, mixed(pale, "#5a4632", 0.25))
    sheet.paint(seen.flat.intersection(seen.body), pale)
    for keep in seen.keep_outs:
        sheet.paint(region(keep.outline, CHORD), mixed(seen.wood.colour, "#ffffff", 0.35))


def _border(sheet: _Sheet, within: BaseGeometry) -> None:
    """Draw the border of the room as a dashed line."""
    draw = ImageDraw.Draw(sheet.picture)
    step, dash = (DASH + BLANK) / sheet.frame.scale, DASH / sheet.frame.scale
    for polygon in polygons(within):
        for ring in (polygon.exterior, *polygon.interiors):
            count = max(1, round(ring.length / step))
            for k in range(count):
                at = k * ring.length / count
                piece = substring(ring, at, at + dash)
                draw.line([sheet.pixel(x, y) for x, y in piece.coords], fill=SOFT, width=2)


def _cut(seen: Scene, laid: Lettering, marks: Sequence[Mark]) -> BaseGeometry:
    """Return the region that letters cover: grooves at their width, or outlines."""
    contours = [c for mark in marks for c in seen.view.path(mark.path())]
    if laid.kind == "single-line" and contours:
        return centre_lines(contours, CHORD).buffer(laid.groove / 2.0)
    return shapely.union_all([region(seen.view.path(m.path()), CHORD) for m in marks])


def _rings(sheet: _Sheet, seen: Scene, touches: Sequence[Touch], labels: Labels) -> None:
    draw = ImageDraw.Draw(sheet.picture)
    middle = sheet.pixel(seen.view.width / 2, seen.view.height / 2)
    for number, touch in enumerate(touches, 1):
        x, y = sheet.pixel(*seen.view.point(touch.x, touch.y))
        for radius, colour, width in ((RING + 1, "#fffaf0", 5), (RING, DARK, 2)):
            draw.ellipse((x - radius, y - radius, x + radius, y + radius), outline=colour, width=width)
        right = x >= middle[0]
        labels.draw(
            sheet.picture, (x + (RING + 8) * (1 if right else -1), y + SMALL / 2), str(number), SMALL, DARK, STRONG,
            align=0.0 if right else 1.0,
        )  # fmt: skip


def _says(reason: Why, touches: Sequence[Touch], labels: Labels) -> list[tuple[str, Sequence[str]]]:
    """Return the lines below the lid, each with its typefaces: the sentence, then what is ringed."""
    size, _, _ = reason.says.partition(";")
    told = f"{size}; larger, these would come too near each other:" if touches else reason.says
    lines: list[tuple[str, Sequence[str]]] = [(line, STRONG) for line in labels.wrapped(told, SMALL, WIDE - 2 * EDGE)]
    for number, t in enumerate(touches, 1):
        what = "margin at the edge" if t.what == "edge" else t.what
        left = f"{t.gap:.2f} mm" if t.gap >= 0.005 else "nothing"
        lines.append((f"{number}   {t.named} and the {what}: {left} to spare", PLAIN))
    return lines


def _other(
    picture: Picture, seen: Scene, laid: Lettering, other: RunnerUp, at: tuple[int, int], labels: Labels
) -> None:
    frame = frame_for(seen, SMALL_WIDE - 20, SMALL_HIGH - 20, 10)
    sheet = _Sheet(picture, frame, (at[0] + (SMALL_WIDE - frame.width) // 2, at[1] + (SMALL_HIGH - frame.height) // 2))
    _lid(sheet, seen)
    sheet.paint(_cut(seen, laid, other.marks), TOUCHING)
    size = f"or {other.cap_mm:.1f} mm, in {count(len(other.lines), 'line')}"
    labels.draw(picture, (at[0] + SMALL_WIDE / 2, at[1] + SMALL_HIGH + 34), size, SMALL, SOFT, align=0.5)
