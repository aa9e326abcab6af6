"""What is at hand, drawn: lids with their names and sizes, typefaces with real names, woods, cutters in profile."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw
from shapely import Polygon
from shapely import box as rectangle

from engrave.output.numbers import plain
from engrave.output.pictures.labels import PLAIN, Labels, labels_for
from engrave.output.pictures.lid_rendering import Frame, frame_for, lid_pixels, mask
from engrave.output.pictures.paper import DARK, EDGE, PAPER, RULE, SMALL, SOFT, WIDE, as_png
from engrave.output.pictures.scenes import bare_scene, mixed
from engrave.output.pictures.wood_grain import board
from engrave.shop.models import Beam, Bit, Cutter, Shop, Wood

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.typefaces import Shelf, ShelfTypeface

DRAWN = ("lids", "typefaces", "woods", "cutters")
"""Kinds that have a picture; the others are figures only."""

NAMES = ("Wanda & Tomás", "Øyvind · Þórður", "Nguyễn Thị Hà", "14 June 2026")
"""A specimen's words: what buyers send, not the alphabet."""

NAMES_ELSEWHERE = (("مريم ويوسف", "ليلى", "سلام"), ("מרים ויוסף", "נועה", "שלום"), ("आरती और राहुल", "मीरा", "शुभ विवाह"),
                   ("Ελένη & Νίκος", "Σοφία"), ("Անի և Արամ", "Նարե"), ("ნინო და გიორგი", "თამარ"), ("Мария и Юрий", "София"))  # fmt: skip
"""The same for typefaces made for another script: their Latin letters would be borrowed, and show nothing of them."""

CELL = 340
"""Pixels: side of a lid's or a wood's cell; three stand side by side."""


def shelf_png(kind: str, shop: Shop, shelf: Shelf) -> bytes:
    """Return the picture of one kind of table as PNG. Raises ValueError for a kind that is figures only."""
    drawn: dict[str, Callable[[], Picture]] = {
        "lids": lambda: _lids(shop, labels_for(shelf)),
        "typefaces": lambda: _typefaces(shelf, labels_for(shelf)),
        "woods": lambda: _woods(tuple(shop.woods.values()), labels_for(shelf)),
        "cutters": lambda: _cutters(tuple(shop.cutters.values()), labels_for(shelf)),
    }
    if kind not in drawn:
        raise ValueError(f"There is no picture of {kind}, which are figures only; there is one of {', '.join(DRAWN)}.")
    return as_png(drawn[kind]())


def _sheet(cells: int, across: int, high: int) -> Picture:
    return Image.new("RGB", (WIDE, 2 * EDGE + -(-cells // across) * high), PAPER)


def _cell(number: int, across: int, high: int) -> tuple[int, int]:
    """Return the top left corner of a cell."""
    wide = (WIDE - 2 * EDGE) // across
    return EDGE + (number % across) * wide, EDGE + (number // across) * high


def _lids(shop: Shop, labels: Labels) -> Picture:
    high = CELL + 40
    faces = [(lid, area) for lid in shop.lids.values() for area in lid.areas]
    largest = max(max(a.width, a.height) for _, a in faces)
    picture = _sheet(len(faces), 3, high)
    for number, (lid, area) in enumerate(faces):
        wood = shop.woods.get(lid.wood or shop.defaults.wood) or next(iter(shop.woods.values()))
        seen = bare_scene(lid, area, wood)
        most = round((CELL - 70) * max(0.5, (max(area.width, area.height) / largest) ** 0.5))
        frame = frame_for(seen, most, most - 30, 18)
        x, y = _cell(number, 3, high)
        image = lid_pixels(seen, frame, PAPER, lid.id)
        picture.paste(image, (x + (CELL - image.width) // 2, y + (CELL - 90 - image.height) // 2))
        name = lid.title if area.name == "lid" else f"{lid.title}: {area.name}"
        size = f"{lid.id}  ·  {plain(area.width, 1)} × {plain(area.height, 1)} mm"
        _caption(picture, labels, (x + CELL / 2, y + CELL - 62), name, size)
    return picture


def _caption(picture: Picture, labels: Labels, at: tuple[float, float], name: str, more: str) -> None:
    """Write centred lines: a name, and what is told of it, each broken where it is longer than the cell is wide."""
    lines = labels.wrapped(name, SMALL + 1, CELL - 24, PLAIN)[:2]
    for i, line in enumerate(lines):
        labels.draw(picture, (at[0], at[1] + 27 * i), line, SMALL + 1, DARK, PLAIN, align=0.5)
    told = [line for part in more.split("\n") for line in labels.wrapped(part, SMALL - 2, CELL - 16, PLAIN)]
    for i, line in enumerate(told[:2]):
        labels.draw(picture, (at[0], at[1] + 27 * len(lines) + 23 * i), line, SMALL - 2, SOFT, PLAIN, align=0.5)


def _typefaces(shelf: Shelf, labels: Labels) -> Picture:
    high = 146
    picture = _sheet(len(shelf.ids), 1, high)
    draw = ImageDraw.Draw(picture)
    for number, ident in enumerate(shelf.ids):
        face = shelf.get(ident)
        x, y = _cell(number, 1, high)
        kind = "single line" if face.kind == "single-line" else "outline"
        labels.draw(picture, (x, y + 22), f"{face.title}  ({ident}, {kind})", SMALL - 1, DARK)
        told = f"{face.facts.good_for}; reads from {plain(face.reads_from_mm, 1)} mm".removeprefix("; ")
        labels.draw(picture, (x, y + 46), labels.wrapped(told, SMALL - 3, WIDE - 2 * EDGE, PLAIN)[0], SMALL - 3, SOFT)
        at = float(x)
        for words in _specimen(face):
            if at + labels.width(words, 30, (ident,)) > WIDE - EDGE:
                break
            at += labels.draw(picture, (at, y + 108), words, 30, DARK, (ident,)) + 46
        draw.line([(x, y + high - 8), (WIDE - EDGE, y + high - 8)], fill=RULE)
    return picture


def _specimen(face: ShelfTypeface) -> tuple[str, ...]:
    """Return words in a script that the typeface itself has, Latin first."""
    for names in (NAMES, *NAMES_ELSEWHERE):
        if face.own(names[0][0]) is not None:
            return names
    return NAMES


def _woods(woods: Sequence[Wood], labels: Labels) -> Picture:
    """Draw each wood as a board, with a bar as a beam burns it and one as a bit cuts it."""
    high = 280
    picture = _sheet(len(woods), 3, high)
    for number, wood in enumerate(woods):
        x, y = _cell(number, 3, high)
        size = (CELL - 30, 170)
        face = Image.fromarray(board(wood, size, 5.0, "x", "shelf"))
        frame = Frame(1.0, 0, *size)
        for left, colour in ((size[0] - 120, wood.burn), (size[0] - 66, mixed(wood.colour, "#180c05", 0.55))):
            bar = Image.fromarray(
                (mask(rectangle(left, 110, left + 40, 150), frame, frame.whole) * 215).astype("uint8")
            )
            face.paste(Image.new("RGB", size, colour), (0, 0), bar)
        picture.paste(face, (x + 15, y))
        webs = f"{wood.id}\nwebs {plain(wood.web_along, 2)} mm along, {plain(wood.web_across, 2)} mm across"
        _caption(picture, labels, (x + CELL / 2, y + 202), wood.title, webs)
    squares = "The squares: the wood as a beam marks it (left) and as a bit cuts it (right)."
    labels.draw(picture, (EDGE + 15, picture.height - 20), squares, SMALL - 2, SOFT, PLAIN)
    return picture


def _cutters(cutters: Sequence[Cutter], labels: Labels) -> Picture:
    """Draw each cutter's profile, all at one scale; a beam as its mark, much enlarged."""
    high = 326
    picture = _sheet(len(cutters), 3, high)
    scale = 14.0
    for number, cutter in enumerate(cutters):
        x, y = _cell(number, 3, high)
        frame = Frame(scale, 0, CELL, 190)
        shape, colour, size = _drawn_cutter(cutter)
        cover = Image.fromarray((mask(shape, frame, frame.whole) * 255).astype("uint8"))
        picture.paste(Image.new("RGB", (CELL, 190), colour), (x, y), cover)
        _caption(picture, labels, (x + CELL / 2, y + 222), cutter.title, f"{cutter.id}  ·  {size}")
    return picture


def _drawn_cutter(cutter: Cutter) -> tuple[Polygon, str, str]:
    """Return a cutter's shape in its cell, its colour, and its size in words."""
    if isinstance(cutter, Beam):
        size = f"mark {plain(cutter.kerf_x, 2)} × {plain(cutter.kerf_y, 2)} mm, drawn 20 times as large"
        return _mark(cutter), "#5d3a22", size
    assert isinstance(cutter, Bit)  # there is no third sort
    return profile(cutter), "#8b8f93", _size(cutter)


def _size(cutter: Bit) -> str:
    parts = [
        f"⌀ {plain(cutter.diameter, 3)} mm" if cutter.diameter else "",
        f"{plain(cutter.angle, 1)}°" if cutter.angle else "",
    ]
    parts.append(f"tip {plain(cutter.tip, 2)} mm" if cutter.tip else "")
    return ", ".join(p for p in parts if p)


MIDDLE = CELL / 2 / 14.0
"""mm: middle of a cutter's cell at its scale."""

POINT = 12.5
"""mm: where the point of a cutter stands in its cell."""


def _mark(cutter: Beam) -> Polygon:
    """Return a beam's mark twenty times enlarged."""
    wide, high = 20.0 * cutter.kerf_x, 20.0 * cutter.kerf_y
    return (
        rectangle(MIDDLE - wide / 2, 6.5 - high / 2, MIDDLE + wide / 2, 6.5 + high / 2)
        .buffer(min(wide, high) / 3)
        .intersection(rectangle(MIDDLE - wide / 2, 6.5 - high / 2, MIDDLE + wide / 2, 6.5 + high / 2))
    )


def profile(cutter: Bit) -> Polygon:
    """Return a bit's outline from the side in its cell, point down, mm."""
    return Polygon([(MIDDLE + x, POINT - z) for x, z in cutter.side_view(POINT)]).buffer(0)
