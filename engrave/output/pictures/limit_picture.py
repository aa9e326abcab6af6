"""What limits the size, drawn: letters that touch and what they touch ringed and named, other breaks small below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import shapely
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import centre_lines, region
from engrave.output.numbers import count
from engrave.output.pictures.frames import Frame, frame_for
from engrave.output.pictures.paper import DARK, EDGE, SOFT, WIDE
from engrave.output.pictures.scenes import CHORD, Scene, mixed
from engrave.output.pictures.vectors import dashed, drawing, filled
from engrave.output.quotation import quoted
from engrave.shop import room

if TYPE_CHECKING:
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

BORDER, DASH, BLANK = 2.0, 7.0, 6.0
"""Pixels of the room's dashed border: its line's width, a dash, a blank."""

TOUCHING, OTHER = "#5a2d18", "#a98f76"
"""Letters that touch, and those that do not."""


def limits_told(seen: Scene, task: Task, laid: Lettering, reason: Why, pictures: dict[str, bytes]) -> dict[str, Any]:
    """Return what the template is told of what limits the size, and of the next best line breaks, lengths in pixels.

    Their drawings are put among `pictures`.
    """
    frame = frame_for(seen, WIDE - 2 * EDGE, LID_HIGH, EDGE)
    touches = _ringed(reason) if reason.limit == "room" else []
    within = seen.view.shape(room(task.area, task.tool.machine, task.tool.cutter))
    marked = {t.mark for t in touches}
    others = [m for i, m in enumerate(laid.marks) if i not in marked]
    pictures["limits-lid.svg"] = drawing(
        frame.window,
        [
            *_lid(seen),
            dashed(within, SOFT, BORDER / frame.scale, DASH / frame.scale, BLANK / frame.scale),
            filled(_cut(seen, laid, others), OTHER if marked else DARK),
            filled(_cut(seen, laid, [laid.marks[i] for i in sorted(marked)]), TOUCHING),
        ],
    )
    size, _, _ = reason.says.partition(";")
    return {
        "lid": {
            "picture": "limits-lid.svg",
            "width": frame.width,
            "height": frame.height,
            "alt": "What limits the size",
        },
        "rings": _rings(seen, frame, touches),
        "says": f"{size}; larger, these would come too near each other:" if touches else quoted(reason.says),
        "touches": [_touch(number, touch) for number, touch in enumerate(touches, 1)],
        "others": [_other(seen, laid, other, n, pictures) for n, other in enumerate(reason.runners_up)],
    }


def _ringed(reason: Why) -> list[Touch]:
    """Return the touches to be ringed: the nearest, in reading order."""
    return sorted(reason.touches[:MOST_RINGS], key=lambda t: t.mark)


def _lid(seen: Scene) -> list[str]:
    pale = mixed(seen.wood.colour, "#fffaf0", 0.72)
    return [
        filled(seen.body, mixed(pale, "#5a4632", 0.25)),
        filled(seen.flat.intersection(seen.body), pale),
        *(filled(region(keep.outline, CHORD), mixed(seen.wood.colour, "#ffffff", 0.35)) for keep in seen.keep_outs),
    ]


def _cut(seen: Scene, laid: Lettering, marks: Sequence[Mark]) -> BaseGeometry:
    """Return the region that letters cover: grooves at their width, or outlines."""
    contours = [c for mark in marks for c in seen.view.path(mark.path())]
    if laid.kind == "single-line" and contours:
        return centre_lines(contours, CHORD).buffer(laid.groove / 2.0)
    return shapely.union_all([region(seen.view.path(m.path()), CHORD) for m in marks])


def _rings(seen: Scene, frame: Frame, touches: Sequence[Touch]) -> list[dict[str, Any]]:
    """Return the rings, their numbers on the side away from the lid's middle."""
    middle = frame.pixel(seen.view.width / 2, 0.0)[0]
    places = [frame.pixel(*seen.view.point(t.x, t.y)) for t in touches]
    return [
        {"at": at, "radius": RING, "line": 2, "number": str(number), "right": at[0] >= middle}
        for number, at in enumerate(places, 1)
    ]


def _touch(number: int, touch: Touch) -> tuple[str, str]:
    """Return a ringed place's number and what it says."""
    what = "margin at the edge" if touch.what == "edge" else touch.what
    left = f"{touch.gap:.2f} mm" if touch.gap >= 0.005 else "nothing"
    return str(number), quoted(f"{touch.named} and the {what}: {left} to spare")


def _other(seen: Scene, laid: Lettering, other: RunnerUp, number: int, pictures: dict[str, bytes]) -> dict[str, Any]:
    """Return another break: its small drawing, and its size."""
    frame = frame_for(seen, SMALL_WIDE - 20, SMALL_HIGH - 20, 10)
    name = f"limits-{number}.svg"
    pictures[name] = drawing(frame.window, [*_lid(seen), filled(_cut(seen, laid, other.marks), TOUCHING)])
    return {
        "picture": name, "width": frame.width, "height": frame.height, "wide": SMALL_WIDE, "high": SMALL_HIGH,
        "says": f"or {other.cap_mm:.1f} mm, in {count(len(other.lines), 'line')}",
    }  # fmt: skip
