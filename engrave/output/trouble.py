"""Where the cut fails: lost parts and thin wood in two tones over the lettering, the places ringed and magnified."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw
from shapely import box as rectangle
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import region
from engrave.output.board import Box, Frame, cut_shape, frame_for, mask
from engrave.output.labels import PLAIN, STRONG, Labels, labels_for
from engrave.output.pictures import LOST, THIN
from engrave.output.proof import DARK, EDGE, PAPER, SMALL, SOFT, WIDE, as_png
from engrave.output.view import CHORD, NOTHING, Scene, mixed, rgb, scene
from engrave.output.why_picture import stacked, why_picture

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.making import Piece
    from engrave.setting import Why
    from engrave.typefaces import Shelf

LETTER, CORNER = "#8a6b50", "#c4a98b"
"""Lettering that is cut as drawn, and corners that a round bit cannot reach: those are no fault."""

LENS_MM = 8.0
"""Side of a magnified square on the lid, mm."""

LENS = 300
"""Side of its picture in pixels: some forty times true size on a common screen."""

MOST_LENSES = 3
"""Places magnified: the worst; all are ringed."""

MOST_RINGS = 12


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


def trouble_png(piece: Piece, shelf: Shelf, reason: Why | None = None) -> bytes:
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
    limits = why_picture(seen, piece.task, piece.lettering, reason, labels)
    return as_png(stacked(_trouble(piece, seen, labels), limits) if seen.spots else limits)


def _trouble(piece: Piece, seen: Scene, labels: Labels) -> Picture:
    frame = frame_for(seen, WIDE - 2 * EDGE, 700, EDGE)
    layers = _layers(seen)
    spots = piece.fitness.weak if piece.fitness else ()
    says = _says(piece, labels)
    shown = min(len(spots), MOST_LENSES)
    lens_top = frame.height + 40
    text_top = lens_top + (LENS + 60 if shown else 0)
    picture = Image.new("RGB", (WIDE, round(text_top + 70 + 27 * len(says))), PAPER)
    left = (WIDE - frame.width) // 2
    layers.onto(picture, (left, 24), frame, frame.whole)
    _rings(picture, seen, frame, (left, 24), labels)
    for number in range(shown):
        x = EDGE + number * (LENS + 54)
        words = f"{number + 1}  {spots[number].width:.2f} mm" + (
            f" at {spots[number].text}" if spots[number].text else ""
        )
        _lens(picture, layers, seen.spots[number], (x, lens_top), labels, words)
    _key(picture, labels, text_top, seen)
    for i, line in enumerate(says):
        labels.draw(picture, (EDGE, text_top + 62 + 27 * i), line, SMALL, DARK)
    return picture


def _layers(seen: Scene) -> _Layers:
    cut = cut_shape(seen)
    drawn = NOTHING if seen.single else region(seen.strokes, CHORD)
    corners = drawn.difference(cut).difference(seen.lost) if not seen.beam and not drawn.is_empty else NOTHING
    pale = mixed(seen.wood.colour, "#fffaf0", 0.72)
    keep = mixed(seen.wood.colour, "#ffffff", 0.35)
    knobs = tuple((region(k.outline, CHORD), keep) for k in seen.keep_outs)
    return _Layers(
        ((seen.body, mixed(pale, "#5a4632", 0.25)), (seen.flat.intersection(seen.body), pale), *knobs, (cut, LETTER),
         (corners, CORNER), (seen.thin, THIN), (seen.lost, LOST))
    )  # fmt: skip


def _rings(picture: Picture, seen: Scene, frame: Frame, at: tuple[int, int], labels: Labels) -> None:
    draw = ImageDraw.Draw(picture)
    for number, (x, y) in enumerate(seen.spots[:MOST_RINGS], 1):
        cx, cy = at[0] + frame.pad + x * frame.scale, at[1] + frame.pad + y * frame.scale
        for radius, colour, width in ((23, "#fffaf0", 5), (22, DARK, 2)):
            draw.ellipse((cx - radius, cy - radius, cx + radius, cy + radius), outline=colour, width=width)
        if number <= MOST_LENSES:
            labels.draw(picture, (cx + 26, cy - 16), str(number), SMALL, DARK, STRONG)


def _lens(
    picture: Picture, layers: _Layers, spot: tuple[float, float], at: tuple[int, int], labels: Labels, says: str
) -> None:
    scale = LENS / LENS_MM
    close = Frame(scale, 0, 0, 0)
    left, top = round((spot[0] - LENS_MM / 2) * scale), round((spot[1] - LENS_MM / 2) * scale)
    round_ = Image.new("L", (LENS * 2, LENS * 2), 0)
    ImageDraw.Draw(round_).ellipse((4, 4, LENS * 2 - 4, LENS * 2 - 4), fill=255)
    glass = Image.new("RGB", (LENS, LENS), mixed(PAPER, DARK, 0.12))
    layers.onto(glass, (0, 0), close, (left, top, left + LENS, top + LENS))
    picture.paste(glass, at, round_.reduce(2))
    draw = ImageDraw.Draw(picture)
    draw.ellipse((at[0], at[1], at[0] + LENS, at[1] + LENS), outline=SOFT, width=2)
    labels.draw(picture, (at[0] + LENS / 2, at[1] + LENS + 30), says, SMALL, DARK, align=0.5)


def _key(picture: Picture, labels: Labels, top: float, seen: Scene) -> None:
    """Name the tones that are in the picture."""
    tones = [(LETTER, "cut as drawn")]
    if not seen.lost.is_empty:
        tones.append((LOST, "drawn, not cut"))
    if not seen.thin.is_empty:
        tones.append((THIN, "wood left too thin"))
    if not seen.beam and not seen.single:
        tones.append((CORNER, "corner, as round as the bit"))
    x, draw = float(EDGE), ImageDraw.Draw(picture)
    for colour, says in tones:
        draw.rounded_rectangle((x, top + 10, x + 20, top + 26), radius=3, fill=rgb(colour))
        x += 30 + labels.draw(picture, (x + 30, top + 24), says, SMALL, SOFT) + 40


def _says(piece: Piece, labels: Labels) -> Sequence[str]:
    """Return the findings in lines that fit below the picture."""
    serious = [p for p in piece.problems if p.level != "note"]
    told = [f"{p.level}: {p.says}" for p in serious] or ["Nothing is lost, and no wood is left too thin."]
    return [line for says in told for line in labels.wrapped(says, SMALL, WIDE - 2 * EDGE, PLAIN)]
