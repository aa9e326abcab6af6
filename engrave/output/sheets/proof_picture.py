"""The proof of a single lid for a message, put together: the lid's picture dot for dot, and round it what is set in type.

The typesetter would fit the picture to another grid of dots and write it in millions of colours, which takes longer than the
lid's drawing (`tests/speed/bench_proofs.py`). So it sets what stands round the lid in tiles; those that are alike on many
proofs are kept.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from PIL import Image, ImageChops, ImageDraw

from engrave.cache import CacheKind
from engrave.output.pictures.few_colours import in_colours_of
from engrave.output.pictures.frames import FINE, Frame
from engrave.output.pictures.paper import PAPER
from engrave.output.typesetting import typesetter_for
from engrave.units import MM_PER_INCH

if TYPE_CHECKING:
    from engrave.output.pictures import Scene
    from engrave.output.sheets.sheet_layout import Sheet
    from engrave.typefaces import Shelf

BESIDE_MM, ABOVE_MM, BELOW_MM = 9.0, 7.0, 10.0
"""mm round a lid: on each side, where its height stands on the right; above for its width; below for its foot."""

HINGE_MM = {"left": 6.0, "right": 6.0, "top": 5.6, "bottom": 5.2}
"""mm more on the side of the hinge, for its bar and name."""

TOP_MM, BOTTOM_MM = 11.0, 10.0
"""mm of paper above the heading and below the ruler."""

AIR_MM = {"lid": 4.0, "words": 5.5, "detail": 2.0, "closing": 4.2, "reply": 0.8, "ruler": 4.0}
"""mm of air above the lid, its words, what is said of the detail, the closing sentences, how to answer and the ruler, for
type of its own size."""

RIM_MM = 0.5
"""mm of paper round the detail's circle in its tile, for the half of its line that lies outside."""

PACKED = 1
"""How hard the PNG is packed, 1 to 9: harder costs twice the time for a tenth of its size."""

TILES: CacheKind[tuple[Image.Image, ...]] = CacheKind("tiles of proofs", 24)
"""Kept in memory, about a megabyte each: what stands round a lid, and the closing sentences of a size of sheet."""


@dataclass(frozen=True, slots=True)
class Face:
    """A lid's picture with the paper round it, and where the lid lies in it."""

    picture: Image.Image
    frame: Frame


def room_round(seen: Scene) -> dict[str, float]:
    """Return the mm that stand free on each side of a lid's drawing, for sizes, hinge and foot."""
    room = {"left": BESIDE_MM, "right": BESIDE_MM, "top": ABOVE_MM, "bottom": BELOW_MM}
    return {side: mm + (HINGE_MM[side] if seen.hinge == side else 0.0) for side, mm in room.items()}


def framed_png(
    face: Face, detail: Image.Image | None, seen: Scene, data: Mapping[str, Any], sheet: Sheet, shelf: Shelf
) -> bytes:
    """Return the proof of a single lid as PNG. data: as the template has it; detail: the enlarged place, if there is one."""
    laid = _laid_out(face.frame, data, sheet, shelf)
    picture = Image.new("RGB", laid.size, PAPER)
    for tile, at in laid.tiles:
        picture.paste(tile, at)
    picture.paste(face.picture, laid.face)
    for tile, at in laid.round_it:
        _lay(picture, tile, at)
    if laid.stamp is not None:
        picture.paste(*laid.stamp, laid.stamp[0])
    if detail is not None:
        corner = round(laid.circle[0] - detail.width / 2.0), round(laid.circle[1] - detail.width / 2.0)
        _lay(picture, detail, corner, _circle(detail.width))
    out = io.BytesIO()
    in_colours_of(picture, seen, PAPER, stamped=laid.stamp is not None).save(
        out, "PNG", compress_level=PACKED, dpi=(sheet.dpi, sheet.dpi)
    )
    return out.getvalue()


Dots = tuple[int, int]


@dataclass(frozen=True, slots=True)
class _Laid:
    """Where all lies on the sheet, in dots from its top left corner. round_it: what stands on the paper with the lid's
    shadow; circle: the middle of the detail's; stamp: what lies over a lid on hold, clear where the lid is seen."""

    size: Dots
    tiles: list[tuple[Image.Image, Dots]]
    round_it: list[tuple[Image.Image, Dots]]
    face: Dots
    circle: tuple[float, float]
    stamp: tuple[Image.Image, Dots] | None


def _laid_out(frame: Frame, data: Mapping[str, Any], sheet: Sheet, shelf: Shelf) -> _Laid:
    """Return the tiles of a sheet, one below the other, with air between them."""
    heading, words, reply, *rest = _tiles("proof_words.typ", data, sheet.dpi, shelf)
    caption, stamp = (rest, None) if data["code"] else (rest[:-1], rest[-1])
    sentences, ruler, circle = _kept("proof_still.typ", _still(data), sheet.dpi, shelf)

    def dots(mm: float) -> int:
        return round(mm * sheet.dpi / MM_PER_INCH)

    air = {above: dots(mm * sheet.type_scale) for above, mm in AIR_MM.items()}
    wide, margin, y = dots(sheet.width), dots(sheet.margin), dots(TOP_MM)
    tiles = [(heading, (margin, y))]
    round_it, lid, y = _round_lid(frame, y + heading.height + air["lid"], data, sheet, shelf)
    y += air["words"]
    tiles.append((words, (margin, y)))
    ends, middle = y + words.height, (0.0, 0.0)
    radius = (RIM_MM + data["lids"][0]["detail"]["size"] / 2.0) * sheet.dpi / MM_PER_INCH if caption else 0.0
    for tile in caption:
        x, under = wide - margin - tile.width, y + circle.height + air["detail"]
        left = x + (tile.width - circle.width) // 2
        middle = (left + radius, y + radius)
        tiles += [(circle, (left, y)), (tile, (x, under))]
        ends = max(ends, under + tile.height)
    y = ends
    for tile, above in ((sentences, "closing"), (reply, "reply"), (ruler, "ruler")):
        y += air[above]
        tiles.append((tile, (margin, y)))
        y += tile.height
    face = lid[0] - frame.pad, lid[1] - frame.pad
    return _Laid((wide, y + dots(BOTTOM_MM)), tiles, round_it, face, middle, _stamped(stamp, lid, data, dots))


def _stamped(
    stamp: Image.Image | None, lid: Dots, data: Mapping[str, Any], dots: Callable[[float], int]
) -> tuple[Image.Image, Dots] | None:
    """Return a stamp and its corner: its middle lies in the band of the lid that is clear of words."""
    if stamp is None:
        return None
    return stamp, (lid[0], lid[1] + dots(data["lids"][0]["clear"]) - stamp.height // 2)


def _round_lid(
    frame: Frame, y: int, data: Mapping[str, Any], sheet: Sheet, shelf: Shelf
) -> tuple[list[tuple[Image.Image, Dots]], Dots, int]:
    """Return what stands round a lid from y on, the lid's own corner, and where it ends."""
    above, right, below, left = _kept("proof_round.typ", _round(data), sheet.dpi, shelf)
    one = data["lids"][0]
    x = round((sheet.width - one["room"]["left"] - one["width"] - one["room"]["right"]) / 2.0 * sheet.dpi / MM_PER_INCH)
    lid = (x + left.width, y + above.height)
    foot = lid[1] + frame.height - 2 * frame.pad
    right_x = lid[0] + frame.width - 2 * frame.pad
    tiles = [(above, (x, y)), (left, (x, lid[1])), (right, (right_x, lid[1])), (below, (x, foot))]
    return tiles, lid, foot + below.height


def _still(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return what of a sheet's data is the same on many proofs."""
    detail = data["lids"][0]["detail"]
    told = {key: data[key] for key in ("page", "say", "closing", "ruler", "scale")}
    return told | {"enlarged": detail["size"] if detail else 1.0}


def _round(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return what of a sheet's data belongs to the lid, whatever stands on it."""
    lid = {key: data["lids"][0][key] for key in ("width", "height", "room", "across", "down", "hinge")}
    return {"page": data["page"], "say": data["say"], "lids": [lid]}


def _kept(template: str, data: Mapping[str, Any], dpi: int, shelf: Shelf) -> tuple[Image.Image, ...]:
    """Return the tiles of a template, from those that are kept if they are."""
    key = (template, json.dumps(data, sort_keys=True), dpi)
    return shelf.cache.get(TILES, key, lambda: _tiles(template, data, dpi, shelf))


def _tiles(template: str, data: Mapping[str, Any], dpi: int, shelf: Shelf) -> tuple[Image.Image, ...]:
    """Return the pages of a template as pictures."""
    pages = typesetter_for(data, shelf).pages(template, data, {}, dpi=dpi)
    return tuple(_plain(Image.open(io.BytesIO(page))) for page in pages)


def _plain(picture: Image.Image) -> Image.Image:
    """Return a picture without its clear part, if all of it is opaque."""
    return picture.convert("RGB") if picture.getchannel("A").getextrema()[0] == 255 else picture


def _lay(sheet: Image.Image, picture: Image.Image, at: tuple[int, int], within: Image.Image | None = None) -> None:
    """Lay a picture on a sheet so that of both the darker is seen: on paper and its shadow, type. within: a mask."""
    there = sheet.crop((*at, at[0] + picture.width, at[1] + picture.height))
    sheet.paste(ImageChops.darker(picture, there), at, within)


def _circle(wide: int) -> Image.Image:
    """Return the mask of a circle as wide as a picture."""
    large = Image.new("L", (wide * FINE, wide * FINE), 0)
    ImageDraw.Draw(large).ellipse((0, 0, wide * FINE - 1, wide * FINE - 1), fill=255)
    return large.reduce(FINE)
