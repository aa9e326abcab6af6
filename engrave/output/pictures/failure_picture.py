"""Where the cut fails: lost parts and thin wood in two tones over the lettering, the places ringed and magnified."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw
from shapely import box as rectangle
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import region
from engrave.output.pictures.labels import PLAIN, STRONG, Labels, labels_for
from engrave.output.pictures.lid_rendering import Box, Frame, cut_shape, frame_for, mask
from engrave.output.pictures.limit_picture import limit_drawing, stacked
from engrave.output.pictures.paper import DARK, EDGE, LOST, PAPER, SMALL, SOFT, THIN, WIDE, as_png
from engrave.output.pictures.scenes import CHORD, NOTHING, Scene, mixed, rgb, scene

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.cutting import Spot
    from engrave.making import Piece
    from engrave.setting import Why
    from engrave.typefaces import Shelf

LETTER, CORNER, FLOOR = "#8a6b50", "#c4a98b", "#5b4331"
"""Lettering that is cut as drawn; corners that a round bit cannot reach, which are no fault; and the flat floor where
a V-bit goes no deeper."""

LENS_MM = 8.0
"""Side of a magnified square on the lid, mm."""

LENS = 300
"""Side of its picture in pixels: some forty times true size on a common screen."""

MOST_LENSES = 3
"""Places magnified and numbered: the worst stroke, the worst web, and others that are not the same again."""

MOST_RINGS = 12
"""Further places ringed at most: more hide what they mark."""

RING, FURTHER, CLOSE = 22, 14, 16
"""Pixels: radius of a numbered ring and of the others, and how near others may lie to a ring that is there."""

SPOT = 0.8
"""mm: radius of the ring that shows the very place within a magnified square."""

SEEN = LENS_MM / LENS / 2.0
"""mm: half a pixel of a magnified square; what is narrower than a pixel is in no picture, nor in its key."""

UNDER_LENS = 92
"""Pixels below a magnified place, for its two lines."""

LEFT_TO_RIGHT = "\u200e"
"""Begins a line that is English, whatever script the first name in it has (Unicode annex 9, left-to-right mark)."""


@dataclass(frozen=True, slots=True)
class _Layers:
    """What is painted over the bare lid, in this order: region and colour."""

    parts: tuple[tuple[BaseGeometry, str], ...]

    def onto(self, picture: Picture, at: tuple[int, int], frame: Frame, box: Box) -> None:
        """Paint a box of the frame with its corner at a place of the picture."""
        size = (box[2] - box[0], box[3] - box[1])
        window = _window(frame, box)
        for shape, colour in self.parts:
            seen = shape.intersection(window)
            if not seen.is_empty:
                cover = Image.fromarray((mask(seen, frame, box) * 255.0).astype("uint8"))
                picture.paste(Image.new("RGB", size, colour), at, cover)


def _window(frame: Frame, box: Box) -> BaseGeometry:
    """Return a box of pixels as a region on the lid, a little larger."""
    left, top, right, bottom = ((v - frame.pad) / frame.scale for v in box)
    return rectangle(left - 1.0, top - 1.0, right + 1.0, bottom + 1.0)


def failure_png(piece: Piece, shelf: Shelf, reason: Why | None = None) -> bytes:
    """Return the picture of what is lost and too thin, as PNG; a piece without trouble shows its cut as it is.

    With a reason, what limits the size is drawn below it, or alone where nothing is lost or too thin.
    Raises ValueError for a piece that was never set on a lid.
    """
    seen = scene(piece)
    if seen is None or not seen.strokes or piece.task is None or piece.lettering is None:
        raise ValueError(f"order {piece.order.id}, piece {piece.piece}: no words are set on a lid yet")
    labels = labels_for(shelf)
    if reason is None:
        return as_png(_trouble(piece, seen, labels))
    limits = limit_drawing(seen, piece.task, piece.lettering, reason, labels)
    return as_png(stacked(_trouble(piece, seen, labels), limits) if seen.spots else limits)


def _trouble(piece: Piece, seen: Scene, labels: Labels) -> Picture:
    frame = frame_for(seen, WIDE - 2 * EDGE, 700, EDGE)
    tones = _tones(piece, seen)
    layers = _layers(seen, tones)
    spots = piece.fitness.weak if piece.fitness else ()
    shown = chosen(spots)
    says = _says(piece, labels)
    lens_top = frame.height + 40
    text_top = lens_top + (LENS + UNDER_LENS if shown else 0)
    picture = Image.new("RGB", (WIDE, round(text_top + 70 + 27 * len(says))), PAPER)
    left = (WIDE - frame.width) // 2
    layers.onto(picture, (left, 24), frame, frame.whole)
    _rings(picture, [_on(frame, (left, 24), p) for p in seen.spots], shown, labels)
    for number, which in enumerate(shown, 1):
        x = EDGE + (number - 1) * (LENS + 54)
        _lens(picture, layers, seen.spots[which], (x, lens_top))
        _lens_says(picture, labels, number, spots[which], (x + LENS / 2, lens_top + LENS))
    _key(picture, labels, text_top, tones)
    for i, line in enumerate(says):
        labels.draw(picture, (EDGE, text_top + 62 + 27 * i), line, SMALL, DARK)
    return picture


def chosen(spots: Sequence[Spot]) -> list[int]:
    """Return the indices of the places to be magnified: the worst of each kind, then others in turn.

    The same letters are not shown twice, nor a place that another square shows already.
    """
    kinds = list(dict.fromkeys(s.kind for s in spots))
    first = [next(i for i, s in enumerate(spots) if s.kind == kind) for kind in kinds]
    found: list[int] = []
    for i in dict.fromkeys([*first, *range(len(spots))]):
        spot, others = spots[i], [spots[k] for k in found]
        again = any(o.kind == spot.kind and o.text == spot.text for o in others)
        near = any(math.dist((o.x, o.y), (spot.x, spot.y)) < LENS_MM / 3.0 for o in others)
        if i in first or not (again or near):
            found.append(i)
    return found[:MOST_LENSES]


@dataclass(frozen=True, slots=True)
class _Tone:
    """A tone of the picture: where, in which colour, and what the key says of it."""

    shape: BaseGeometry
    colour: str
    says: str


def _tones(piece: Piece, seen: Scene) -> list[_Tone]:
    """Return what is painted over the lettering, the later over the earlier; what is too small to see is left out."""
    cut = cut_shape(seen)
    drawn = NOTHING if seen.single else region(seen.strokes, CHORD)
    corners = drawn.difference(cut).difference(seen.lost) if not seen.beam and not drawn.is_empty else NOTHING
    tones = [
        _Tone(cut, LETTER, "cut" if seen.single or seen.beam else "cut as drawn"),
        _Tone(_floor(piece, drawn), FLOOR, "flat floor"),
        _Tone(corners, CORNER, "corner, as round as the bit"),
        _Tone(seen.thin, THIN, "wood too thin, or none left"),
        _Tone(seen.lost, LOST, "drawn, not cut"),
    ]
    return [t for t in tones if not t.shape.is_empty and not t.shape.buffer(-SEEN).is_empty]


def _floor(piece: Piece, drawn: BaseGeometry) -> BaseGeometry:
    """Return where strokes are wider than a V-bit cuts at its deepest, if the piece is said to have such."""
    most = next((p.limit for p in piece.problems if p.code == "wide-for-vee"), None)
    return NOTHING if not isinstance(most, float) else drawn.buffer(-most / 2.0)


def _layers(seen: Scene, tones: Sequence[_Tone]) -> _Layers:
    pale = mixed(seen.wood.colour, "#fffaf0", 0.72)
    keep = mixed(seen.wood.colour, "#ffffff", 0.35)
    knobs = tuple((region(k.outline, CHORD), keep) for k in seen.keep_outs)
    painted = tuple((t.shape, t.colour) for t in tones)
    return _Layers(
        ((seen.body, mixed(pale, "#5a4632", 0.25)), (seen.flat.intersection(seen.body), pale), *knobs, *painted)
    )


def _on(frame: Frame, at: tuple[int, int], place: tuple[float, float]) -> tuple[float, float]:
    """Return a place of the lid in pixels of the picture."""
    return (at[0] + frame.pad + place[0] * frame.scale, at[1] + frame.pad + place[1] * frame.scale)


def _rings(picture: Picture, places: Sequence[tuple[float, float]], shown: Sequence[int], labels: Labels) -> None:
    """Ring the numbered places, and others smaller where they do not crowd; numbers stand above all rings."""
    draw = ImageDraw.Draw(picture)
    ringed = [places[i] for i in shown]
    for place in places:
        if len(ringed) >= len(shown) + MOST_RINGS:
            break
        if all(math.dist(place, other) >= CLOSE for other in ringed):
            ringed.append(place)
            _ring(draw, place, FURTHER, 1)
    for i in shown:
        _ring(draw, places[i], RING, 3)
    for number, (x, y) in enumerate((places[i] for i in shown), 1):
        _badge(picture, draw, labels, str(number), (x + 0.8 * RING, y - 0.8 * RING - 4))


def _ring(draw: ImageDraw.ImageDraw, at: tuple[float, float], radius: float, width: int) -> None:
    x, y = at
    for r, colour, wide in ((radius + 1.5, "#fffaf0", width + 3), (radius, DARK, width)):
        draw.ellipse((x - r, y - r, x + r, y + r), outline=colour, width=wide)


def _badge(picture: Picture, draw: ImageDraw.ImageDraw, labels: Labels, text: str, at: tuple[float, float]) -> None:
    """Draw a number on a dark disc, so that it is read over whatever it stands on."""
    x, y = at
    draw.ellipse((x - 14, y - 14, x + 14, y + 14), fill=DARK, outline="#fffaf0", width=2)
    labels.draw(picture, (x, y + SMALL / 2), text, SMALL, PAPER, STRONG, align=0.5)


def _lens(picture: Picture, layers: _Layers, spot: tuple[float, float], at: tuple[int, int]) -> None:
    scale = LENS / LENS_MM
    close = Frame(scale, 0, 0, 0)
    left, top = round((spot[0] - LENS_MM / 2) * scale), round((spot[1] - LENS_MM / 2) * scale)
    round_ = Image.new("L", (LENS * 2, LENS * 2), 0)
    ImageDraw.Draw(round_).ellipse((4, 4, LENS * 2 - 4, LENS * 2 - 4), fill=255)
    glass = Image.new("RGB", (LENS, LENS), mixed(PAPER, DARK, 0.12))
    layers.onto(glass, (0, 0), close, (left, top, left + LENS, top + LENS))
    _ring(ImageDraw.Draw(glass), (LENS / 2, LENS / 2), SPOT * scale, 1)
    picture.paste(glass, at, round_.reduce(2))
    draw = ImageDraw.Draw(picture)
    draw.ellipse((at[0], at[1], at[0] + LENS, at[1] + LENS), outline=SOFT, width=2)


def _lens_says(picture: Picture, labels: Labels, number: int, spot: Spot, at: tuple[float, float]) -> None:
    """Write below a magnified place what is how wide there, and what that is held against."""
    what = {"stroke": "stroke", "web": "wood"}[spot.kind]
    figure = f"{spot.width:.2f} mm"
    below = "just under " if spot.needs.endswith(figure) else ""
    says = f"{what} {below}{figure}" if spot.width > 0.0 else "fills up"
    where = f" at {spot.text}" if spot.text.strip() else ""
    _badge(picture, ImageDraw.Draw(picture), labels, str(number), (at[0], at[1] + 2))
    labels.draw(picture, (at[0], at[1] + 40), f"{LEFT_TO_RIGHT}{says}{where}", SMALL, DARK, align=0.5)
    labels.draw(picture, (at[0], at[1] + 66), spot.needs, SMALL - 1, SOFT, align=0.5)


def _key(picture: Picture, labels: Labels, top: float, tones: Sequence[_Tone]) -> None:
    """Name the tones that are in the picture."""
    x, draw = float(EDGE), ImageDraw.Draw(picture)
    for tone in tones:
        draw.rounded_rectangle((x, top + 10, x + 20, top + 26), radius=3, fill=rgb(tone.colour))
        x += 30 + labels.draw(picture, (x + 30, top + 24), tone.says, SMALL, SOFT) + 40


def _says(piece: Piece, labels: Labels) -> Sequence[str]:
    """Return the findings in lines that fit below the picture."""
    serious = [p for p in piece.problems if p.level != "note"]
    told = [f"{p.level}: {p.says}" for p in serious] or ["Nothing is lost, and no wood is left too thin."]
    lines = [line for says in told for line in labels.wrapped(says, SMALL, WIDE - 2 * EDGE, PLAIN)]
    return [f"{LEFT_TO_RIGHT}{line}" for line in lines]
