"""The lid as SVG, in its normal form: true size in mm, two groups, nothing inside them but paths in cutting order.

One user unit is one millimetre in any reader, because width and height are stated in mm and the viewBox has the same
numbers. No text, transform, CSS, clip or image: an importer has nothing to interpret, and cuts what it sees.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from engrave.geometry.paths import Contour, Path, Point, StraightLine
from engrave.output.numbers import FILE_DECIMALS, plain
from engrave.output.point_texts import points_told
from engrave.output.svg.compound_paths import compounds
from engrave.problems import NOT_APPROVED
from engrave.shop.models import Area, Machine, Shop
from engrave.tasks import Task

if TYPE_CHECKING:
    import svgwrite

    from engrave.making import Piece

LETTERING_INK = "#4a2c17"
"""Lettering: a dark brown. Colours carry no meaning, so that no program can take a hue for a setting."""

LID = "#8a857d"
"""Outline and keep-outs: a grey that is seen on white (3.7 to 1), and far from the lettering's brown."""

LID_LINE = 0.2
"""mm: width of the outline's line in the picture; it is for placing only and says nothing about a cut."""

ARM = 4.0
"""mm: greatest length of each arm of the cross at the datum; in a lid's file it must fit into the blank around the lid."""

OFF_WOOD = 0.5
"""mm that the arms stay off the lid in a file that is cut: more than half of any beam's or bit's finest line."""


class NothingToCut(ValueError):
    """A piece without lettering or without a toolpath has no SVG."""


def path_data(contours: Iterable[Contour], dx: float = 0.0, dy: float = 0.0) -> str:
    """Return the `d` of contours moved by (dx, dy): absolute M, L, Q, C and Z only, rounded for the file."""
    return " ".join(_contour_data(c, dx, dy) for c in contours)


def _contour_data(contour: Contour, dx: float, dy: float) -> str:
    parts = ["M", *_pair(contour.start, dx, dy)]
    segments = contour.segments
    if contour.closed and segments and len(segments[-1]) == 1 and segments[-1][0] == contour.start:
        segments = segments[:-1]  # Z draws the last straight side
    if not segments:  # a dot: a stroke of no length, which round caps make a round mark
        parts += ["L", *_pair(contour.start, dx, dy)]
    for segment in segments:
        parts.append("LQC"[len(segment) - 1])
        for point in segment:
            parts += _pair(point, dx, dy)
    if contour.closed:
        parts.append("Z")
    return " ".join(parts)


def _pair(point: Point, dx: float, dy: float) -> tuple[str, str]:
    return plain(point[0] + dx), plain(point[1] + dy)


def lid_svg(piece: Piece, shop: Shop) -> str:
    """Return the piece's SVG: `engrave` in cutting order, and, as the shop has it, `lid` (outline) and `datum` (cross).

    What may not be cut yet says so, and why, first thing in its description. Raises NothingToCut for a piece that is not made.
    """
    if piece.task is None or piece.lettering is None or piece.toolpath is None or not piece.toolpath.strokes:
        raise NothingToCut(f"order {piece.order.id}, piece {piece.piece}: there is no lettering to write")
    margin = shop.defaults.svg_margin
    drawing = _sheet(piece.task.area, margin, _title(piece), describe(piece, piece.task, margin))
    engrave = drawing.g(id="engrave")
    if piece.lettering.kind == "single-line" or piece.task.tool.method == "side-by-side":
        for data in _stroke_data(piece.toolpath.strokes, margin):
            engrave.add(_line(drawing, data, piece.lettering.groove or piece.task.tool.groove))
    else:
        for data in _shape_data(piece.toolpath.strokes, margin):
            engrave.add(_filled(drawing, data))
    drawing.add(engrave)
    if shop.defaults.outline_in_svg == "in":
        drawing.add(_lid_group(drawing, piece.task.area, margin))
    if shop.defaults.datum_cross:
        at = _datum_at(piece.task.tool.machine, piece.task.area, margin)
        drawing.add(_datum_group(drawing, at, [(OFF_WOOD, margin)]))
    return _written(drawing)


MEANT_AGAIN = 16
"""Letterings whose data are kept: a lid's file is kept with its proof, written, and written anew with what was looked at."""


def _stroke_data(strokes: Path, margin: float) -> Sequence[str]:
    """Return the data of each stroke: of lines side by side, which are many points, all at once."""
    straight = [stroke for stroke in strokes if isinstance(stroke, StraightLine)]
    return _line_data(straight, margin) if len(straight) == len(strokes) else _each_data(strokes, margin)


def _line_data(lines: Sequence[StraightLine], margin: float) -> list[str]:
    sizes = np.array([len(line.line) for line in lines])
    commands = np.full(sizes.sum(), b" L ", dtype="S4")
    commands[np.cumsum(sizes) - sizes] = b"\nM "
    points = np.concatenate([line.line for line in lines]) + margin
    return points_told(points, FILE_DECIMALS, commands, b" ", trimmed=True).split("\n")[1:]


@lru_cache(maxsize=MEANT_AGAIN)
def _each_data(strokes: Path, margin: float) -> tuple[str, ...]:
    return tuple(path_data([stroke], margin, margin) for stroke in strokes)


@lru_cache(maxsize=MEANT_AGAIN)
def _shape_data(strokes: Path, margin: float) -> tuple[str, ...]:
    """Return the data of each filled shape."""
    return tuple(path_data(shape, margin, margin) for shape in compounds(strokes))


def outline_svg(piece: Piece, shop: Shop) -> str:
    """Return outline, keep-outs and a cross at the datum, on a sheet of the same size and place as the lettering's."""
    if piece.task is None:
        raise NothingToCut(f"order {piece.order.id}, piece {piece.piece}: it has no lid")
    margin = shop.defaults.svg_margin
    says = f"Outline and keep-outs of {piece.task.lid.title}, for placing only: not to be cut. {_corner_says(margin)}"
    machine, area = piece.task.tool.machine, piece.task.area
    says += f" The cross marks the datum. {datum_says(machine, area, margin)}"
    drawing = _sheet(area, margin, f"{piece.task.lid.title}: outline", says)
    drawing.add(_lid_group(drawing, area, margin))
    drawing.add(_datum_group(drawing, _datum_at(machine, area, margin), [(0.0, margin), (0.0, -ARM)]))
    return _written(drawing)


def drawn_svg(
    width: float, height: float, title: str, says: str, shapes: Iterable[Path], lines: Iterable[tuple[Contour, float]]
) -> str:
    """Return any drawing in the normal form, size in mm: filled shapes first, then lines with their groove's width."""
    drawing = _blank(width, height, title, says)
    engrave = drawing.g(id="engrave")
    for shape in shapes:
        engrave.add(_filled(drawing, path_data(shape)))
    for line, groove in lines:
        engrave.add(_line(drawing, path_data([line]), groove))
    drawing.add(engrave)
    return _written(drawing)


def _sheet(area: Area, margin: float, title: str, says: str) -> svgwrite.Drawing:
    return _blank(area.width + 2 * margin, area.height + 2 * margin, title, says)


def _blank(wide: float, high: float, title: str, says: str) -> svgwrite.Drawing:
    width, height = plain(wide), plain(high)
    import svgwrite  # here: it builds a grammar as it loads, which no command without a file should wait for

    drawing = svgwrite.Drawing(size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False)
    drawing.elements = [e for e in drawing.elements if e is not drawing.defs]  # an empty <defs> is not in the form
    drawing.set_desc(title=_clean(title), desc=_clean(says))
    return drawing


def _written(drawing: svgwrite.Drawing) -> str:
    return '<?xml version="1.0" encoding="utf-8"?>\n' + str(drawing.tostring()).replace("><", ">\n<") + "\n"


def _line(drawing: svgwrite.Drawing, data: str, groove: float) -> object:
    return drawing.path(
        d=data,
        fill="none",
        stroke=LETTERING_INK,
        stroke_width=plain(groove),
        stroke_linecap="round",
        stroke_linejoin="round",
    )


def _filled(drawing: svgwrite.Drawing, data: str) -> object:
    return drawing.path(d=data, fill=LETTERING_INK, fill_rule="evenodd", stroke="none")


def _lid_group(drawing: svgwrite.Drawing, area: Area, margin: float) -> object:
    group = drawing.g(id="lid")
    for path in (area.outline, *(k.outline for k in area.keep_outs)):
        group.add(
            drawing.path(d=path_data(path, margin, margin), fill="none", stroke=LID, stroke_width=plain(LID_LINE))
        )
    return group


def _datum_group(
    drawing: svgwrite.Drawing, at: tuple[float, float, float, float], arms: Iterable[tuple[float, float]]
) -> object:
    """Return the cross at the datum. at: its place, and the signs of the ways off the lid; arms: (from, to) mm off it."""
    x, y, right, down = at
    group = drawing.g(id="datum")
    for start, end in arms:
        near, far = math.copysign(min(start, abs(end) / 2), end), math.copysign(min(abs(end), ARM), end)
        if far == 0.0:
            continue
        for line in (
            Contour((x + right * near, y), (((x + right * far, y),),), False),
            Contour((x, y + down * near), (((x, y + down * far),),), False),
        ):
            group.add(drawing.path(d=path_data([line]), fill="none", stroke=LID, stroke_width=plain(LID_LINE)))
    return group


def _datum_at(machine: Machine, area: Area, margin: float) -> tuple[float, float, float, float]:
    """Return where the machine's zero corner of the lid's box is in the drawing, and the signs that lead off the box."""
    end, side = machine.datum.split("-")
    right, down = side == "right", end == "front"
    x, y = margin + (area.width if right else 0.0), margin + (area.height if down else 0.0)
    return x, y, 1.0 if right else -1.0, 1.0 if down else -1.0


def _title(piece: Piece) -> str:
    return f"Order {piece.order.id}, piece {piece.piece}: {_one_line(piece)}"


def _one_line(piece: Piece) -> str:
    lines = piece.lettering.lines if piece.lettering else ()
    return " / ".join(line.text for line in lines)


def describe(piece: Piece, task: Task, margin: float) -> str:
    """Return what the file is for: order, piece, words, lid, wood, cutter, depth, and where the datum is."""
    tool = task.tool
    area = "" if task.area.name == "lid" else f", {task.area.name}"
    return (
        f"{_not_yet(piece)}Order {piece.order.id}, piece {piece.piece}. Words: {_one_line(piece)}. "
        f"Lid: {task.lid.title}{area}, {plain(task.area.width, 2)} x {plain(task.area.height, 2)} mm, "
        f"{task.wood.title}. Cutter: {tool.cutter.title} ({tool.method}), depth {plain(tool.depth, 2)} mm. "
        f"{_corner_says(margin)} {datum_says(tool.machine, task.area, margin)} "
        "Group 'engrave' is to be cut; groups 'lid' and 'datum', where there are any, are for placing only."
    )


def _not_yet(piece: Piece) -> str:
    """Return why a piece may not be cut yet; '' if it may."""
    if piece.may_be_cut:
        return ""
    asked = " ".join(p.says for p in piece.problems if p.level != "note" or p.code == NOT_APPROVED)
    return f"NOT YET TO BE CUT. {asked} When that is answered, run the week again. "


def _corner_says(margin: float) -> str:
    at = plain(margin)
    return f"All in millimetres; the lid's box has its top left corner at x = {at}, y = {at}."


def datum_says(machine: Machine, area: Area, margin: float) -> str:
    """Return where the machine's zero corner lies on this drawing, and which way its axes run."""
    end, side = machine.datum.split("-")
    x, y = (plain(v) for v in _datum_at(machine, area, margin)[:2])
    axes = f"x to the {machine.axes[0]} and y to the {machine.axes[1]}"
    return (
        f"Datum of the {machine.title}: {end} {side} corner of the lid's box, here x = {x}, y = {y}; "
        f"the machine counts {axes} (y runs down in this drawing)."
    )


def _clean(text: str) -> str:
    """Return the text without characters that XML 1.0 does not allow; intake refuses them in words already."""
    return "".join(c for c in text if c in "\t\n" or (c >= " " and not 0xD800 <= ord(c) <= 0xDFFF and c not in "￾￿"))
