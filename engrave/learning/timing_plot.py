"""Times as reckoned against times as taken, before and after a machine was learned: one picture."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw

from engrave.output.numbers import count
from engrave.output.pictures.labels import STRONG, Labels, labels_for
from engrave.output.pictures.paper import DARK, EDGE, NAME, PAPER, RULE, SMALL, SOFT, TINY, WIDE, as_png
from engrave.units import duration

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.learning.learned import Learned
    from engrave.typefaces import Shelf

SIDE = 820
"""Pixels: side of the square field; both axes have one scale, so that a true estimate lies on its diagonal."""

TOP = 168
LEFT = 150

BEFORE, AFTER, ODD = "#b08d57", "#27566b", "#9c2f24"
"""Old brass before, river blue after, red lead for what was interrupted: told apart by form as well."""

FIELD, BAND = "#fffdf8", "#e3ded2"
"""The square, and in it where nine of ten runs should fall."""

DOT = 8
"""Pixels: radius of a mark; a lid's run is one mark."""

FINE = 3
"""The field is drawn so many times larger and reduced, for smooth edges."""

TICKS = (1, 2, 5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 300, 600, 900, 1800, 2700, 3600, 7200, 18000, 36000, 86400)
"""Seconds that a clock's face knows."""

LEAST_GAP = 64
"""Pixels between two figures on an axis: what 'four signs' need."""

Scale = Callable[[float], float]


def timing_png(learned: Learned, shelf: Shelf, shop_name: str = "") -> bytes:
    """Return the picture as PNG: a hollow mark a run as reckoned before, a full one as reckoned now."""
    labels = labels_for(shelf)
    low, high = _span(learned)
    picture = Image.new("RGB", (WIDE, TOP + SIDE + 170), PAPER)
    labels.draw(picture, (EDGE, 62), f"{learned.machine.title}: estimated and real", NAME, DARK, STRONG)
    runs = count(len(learned.points), "run")
    before, after = (f"{100 * e:.1f} %" for e in (learned.error_before, learned.error_after))
    off = f"{runs}; half of the estimates were more than {before} off, and now {after}"
    labels.draw(picture, (EDGE, 104), off, SMALL, SOFT)
    if shop_name:
        labels.draw(picture, (WIDE - EDGE, 62), shop_name, SMALL, SOFT, align=1.0)

    def along(seconds: float) -> float:
        return SIDE * math.log(seconds / low) / math.log(high / low)

    picture.paste(_field(learned, along).reduce(FINE), (LEFT, TOP))
    _axes(picture, labels, list(_ticks(low, high, along)))
    _key(picture, labels, learned)
    _names_of_odd_runs(picture, labels, learned, along)
    return as_png(picture)


def _span(learned: Learned) -> tuple[float, float]:
    """Return the seconds at the ends of both axes: all that is drawn, and a little room."""
    every = [s for p in learned.points for s in (p.real, p.before, p.after)]
    low, high = min(every), max(every)
    room = max(1.15, (high / low) ** 0.06)
    return low / room, high * room


def _ticks(low: float, high: float, along: Scale) -> Iterator[tuple[float, float]]:
    """Yield (seconds, pixels) that are told on an axis."""
    last = -LEAST_GAP * 1.0
    for seconds in TICKS:
        if low <= seconds <= high and along(seconds) - last >= LEAST_GAP:
            last = along(seconds)
            yield seconds, last


def _field(learned: Learned, along: Scale) -> Picture:
    """Return the square with band, diagonal and marks, drawn `FINE` times larger."""
    image = Image.new("RGB", (SIDE * FINE, SIDE * FINE), FIELD)
    draw = ImageDraw.Draw(image)
    share = math.log1p(learned.machine.scatter)
    shift = FINE * (along(math.exp(share) * 10) - along(10))
    size = SIDE * FINE
    draw.polygon([(0, size - shift), (0, size + shift), (size, shift), (size, -shift)], fill=BAND)
    draw.line([(0, size), (size, 0)], fill=SOFT, width=FINE)
    for point in learned.points:
        x, was, now = (FINE * along(s) for s in (point.real, point.before, point.after))
        draw.line([(x, size - was), (x, size - now)], fill=RULE, width=FINE)
    for point in learned.points:
        x, was = FINE * along(point.real), size - FINE * along(point.before)
        _ring(draw, x, was, DOT, BEFORE)
    for point in learned.points:
        x, now = FINE * along(point.real), size - FINE * along(point.after)
        if point.outlier:
            _cross(draw, x, now)
        else:
            draw.ellipse(_box(x, now, DOT - 1), fill=AFTER)
    draw.rectangle([0, 0, size - 1, size - 1], outline=SOFT, width=FINE)
    return image


def _box(x: float, y: float, radius: float) -> tuple[float, float, float, float]:
    return (x - FINE * radius, y - FINE * radius, x + FINE * radius, y + FINE * radius)


def _ring(draw: ImageDraw.ImageDraw, x: float, y: float, radius: float, colour: str) -> None:
    draw.ellipse(_box(x, y, radius), fill=FIELD, outline=colour, width=2 * FINE)


def _cross(draw: ImageDraw.ImageDraw, x: float, y: float) -> None:
    arm = FINE * DOT
    draw.line([(x - arm, y - arm), (x + arm, y + arm)], fill=ODD, width=3 * FINE)
    draw.line([(x - arm, y + arm), (x + arm, y - arm)], fill=ODD, width=3 * FINE)


def _axes(picture: Picture, labels: Labels, ticks: list[tuple[float, float]]) -> None:
    draw = ImageDraw.Draw(picture)
    for seconds, at in ticks:
        draw.line([(LEFT + at, TOP + SIDE), (LEFT + at, TOP + SIDE + 8)], fill=SOFT, width=2)
        draw.line([(LEFT - 8, TOP + SIDE - at), (LEFT, TOP + SIDE - at)], fill=SOFT, width=2)
        labels.draw(picture, (LEFT + at, TOP + SIDE + 30), duration(seconds), TINY, SOFT, align=0.5)
        labels.draw(picture, (LEFT - 14, TOP + SIDE - at + TINY / 2), duration(seconds), TINY, SOFT, align=1.0)
    labels.draw(picture, (LEFT + SIDE / 2, TOP + SIDE + 66), "as timed beside the machine", SMALL, DARK, align=0.5)
    labels.draw(picture, (LEFT, TOP - 16), "as estimated", SMALL, DARK)


def _key(picture: Picture, labels: Labels, learned: Learned) -> None:
    """Draw what the marks mean, below the field."""
    image = Image.new("RGB", (WIDE * FINE, 40 * FINE), PAPER)
    draw = ImageDraw.Draw(image)
    share = f"nine of ten runs should lie within {100 * learned.machine.scatter:.0f} %"
    odd = any(p.outlier for p in learned.points)
    says = ["before", "now", *(["now, but taken for interrupted"] if odd else []), share]
    at = [LEFT + 10.0]
    for text in says[:-1]:
        at.append(at[-1] + labels.width(text, SMALL) + 60)
    _ring(draw, FINE * at[0], FINE * 20, DOT, BEFORE)
    draw.ellipse(_box(FINE * at[1], FINE * 20, DOT - 1), fill=AFTER)
    if odd:
        _cross(draw, FINE * at[2], FINE * 20)
    draw.rectangle(_box(FINE * at[-1], FINE * 20, DOT + 2), fill=BAND)
    picture.paste(image.reduce(FINE), (0, TOP + SIDE + 92))
    for x, text in zip(at, says, strict=True):
        labels.draw(picture, (x + 20, TOP + SIDE + 92 + 20 + SMALL / 2), text, SMALL, DARK)


def _names_of_odd_runs(picture: Picture, labels: Labels, learned: Learned, along: Scale) -> None:
    for point in learned.points:
        if point.outlier:
            x, y = LEFT + along(point.real), TOP + SIDE - along(point.after)
            length = labels.width(point.log.name, TINY)
            side = 1.0 if x + length + 2 * DOT > LEFT + SIDE else 0.0
            labels.draw(picture, (x + (1 - 2 * side) * 2 * DOT, y + TINY / 2), point.log.name, TINY, ODD, align=side)
