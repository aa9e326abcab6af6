"""What is at hand, drawn: lids with their names and sizes, typefaces with real names, woods, cutters in profile."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from PIL import Image
from shapely import Polygon
from shapely import box as rectangle

from engrave.output.numbers import plain
from engrave.output.pictures.frames import frame_for
from engrave.output.pictures.lid_rendering import lid_pixels
from engrave.output.pictures.paper import DARK, EDGE, PAPER, WIDE, in_few_colours
from engrave.output.pictures.scenes import bare_scene, mixed
from engrave.output.pictures.specimens import ASIDE, specimen
from engrave.output.pictures.vectors import drawing, filled
from engrave.output.pictures.wood_grain import board
from engrave.output.typesetting import typesetter_for
from engrave.shop.models import Beam, Bit, Cutter, Shop, Wood

if TYPE_CHECKING:
    from engrave.typefaces import Shelf, ShelfTypeface

DRAWN = ("lids", "typefaces", "woods", "cutters")
"""Kinds that have a picture; the others are figures only."""

NAMES = ("Wanda & Tomás", "Øyvind · Þórður", "Nguyễn Thị Hà", "14 June 2026")
"""A specimen's words: what buyers send, not the alphabet."""

NAMES_ELSEWHERE = (("مريم ويوسف", "ليلى", "سلام"), ("מרים ויוסף", "נועה", "שלום"), ("आरती और राहुल", "मीरा", "शुभ विवाह"),
                   ("Ελένη & Νίκος", "Σοφία"), ("Անի և Արամ", "Նարե"), ("ნინო და გიორგი", "თამარ"), ("Мария и Юрий", "София"))  # fmt: skip
"""The same for typefaces made for another script: their Latin letters would be borrowed, and show nothing of them."""

CELL = 340
"""Pixels: width of a lid's, a wood's or a cutter's cell; three stand side by side."""

SPECIMEN = 30
"""Pixels that a capital of a specimen is high."""

BETWEEN = 46
"""Pixels between two names of a specimen."""

TEMPLATE = "shelf.typ"

ShelfTold = dict[str, Any]
"""What the template is told, lengths in pixels."""

Pictures = dict[str, bytes]
"""The drawings that a sheet names."""


def shelf_png(kind: str, shop: Shop, shelf: Shelf) -> bytes:
    """Return the picture of one kind of table as PNG. Raises ValueError for a kind that is figures only."""
    told, pictures = shelf_told(kind, shop, shelf)
    (png,) = typesetter_for(told, shelf).pages(TEMPLATE, told, pictures, dpi=72)
    return in_few_colours(png)


def shelf_told(kind: str, shop: Shop, shelf: Shelf) -> tuple[ShelfTold, Pictures]:
    """Return what the picture's template is told of one kind of table. Raises ValueError for figures only."""
    pictures: Pictures = {}
    drawn: dict[str, Callable[[], ShelfTold]] = {
        "lids": lambda: _lids(shop, pictures),
        "typefaces": lambda: _typefaces(shelf, pictures),
        "woods": lambda: _woods(tuple(shop.woods.values()), pictures),
        "cutters": lambda: _cutters(tuple(shop.cutters.values()), pictures),
    }
    if kind not in drawn:
        raise ValueError(f"There is no picture of {kind}, which are figures only; there is one of {', '.join(DRAWN)}.")
    sheet = {"cells": [], "rows": [], "below": "", "high": 0}
    return sheet | {"width": WIDE, "edge": EDGE, "cell": CELL} | drawn[kind](), pictures


def _lids(shop: Shop, pictures: Pictures) -> ShelfTold:
    faces = [(lid, area) for lid in shop.lids.values() for area in lid.areas]
    largest = max(max(a.width, a.height) for _, a in faces)
    cells = []
    for lid, area in faces:
        wood = shop.woods.get(lid.wood or shop.defaults.wood) or next(iter(shop.woods.values()))
        seen = bare_scene(lid, area, wood)
        most = round((CELL - 70) * max(0.5, (max(area.width, area.height) / largest) ** 0.5))
        image = lid_pixels(seen, frame_for(seen, most, most - 30, 18), PAPER, lid.id)
        name = lid.title if area.name == "lid" else f"{lid.title}: {area.name}"
        size = f"{lid.id}  ·  {plain(area.width, 1)} × {plain(area.height, 1)} mm"
        cells.append(_cell(pictures, "png", _png(image), image.size, name, [size]))
    return {"cells": cells, "high": CELL - 70}


def _cell(
    pictures: Pictures, suffix: str, picture: bytes, size: tuple[float, float], name: str, more: Sequence[str]
) -> ShelfTold:
    """Return a cell: its picture, put among the sheet's, its name, and what is told of it in lines."""
    file = f"shelf-{len(pictures)}.{suffix}"
    pictures[file] = picture
    return {"picture": file, "width": size[0], "height": size[1], "name": name, "more": list(more), "squares": []}


def _png(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG", compress_level=1)
    return out.getvalue()


def _typefaces(shelf: Shelf, pictures: Pictures) -> ShelfTold:
    return {"rows": [_row(shelf.get(ident), pictures) for ident in shelf.ids]}


def _row(face: ShelfTypeface, pictures: Pictures) -> ShelfTold:
    kind = "single line" if face.kind == "single-line" else "outline"
    told = f"{face.facts.good_for}; reads from {plain(face.reads_from_mm, 1)} mm".removeprefix("; ")
    row: ShelfTold = {"name": f"{face.title}  ({face.facts.id}, {kind})", "more": told, "names": []}
    at = 0.0
    for words in _specimen(face):
        one = specimen(face.shape(words), DARK)
        if at + one.advance * SPECIMEN > WIDE - 2 * EDGE:
            break
        file = f"shelf-{len(pictures)}.svg"
        pictures[file] = one.svg
        row["names"].append(
            {"picture": file, "width": one.width * SPECIMEN, "height": one.height * SPECIMEN, "alt": words,
             "x": at - ASIDE * SPECIMEN}
        )  # fmt: skip
        at += one.advance * SPECIMEN + BETWEEN
    return row


def _specimen(face: ShelfTypeface) -> tuple[str, ...]:
    """Return words in a script that the typeface itself has, Latin first."""
    for names in (NAMES, *NAMES_ELSEWHERE):
        if face.own(names[0][0]) is not None:
            return names
    return NAMES


def _woods(woods: Sequence[Wood], pictures: Pictures) -> ShelfTold:
    """Draw each wood as a board, with a square as a beam burns it and one as a bit cuts it."""
    cells = []
    size = (CELL - 30, 170)
    for wood in woods:
        face = Image.fromarray(board(wood, size, 5.0, "x", "shelf"))
        webs = f"webs {plain(wood.web_along, 2)} mm along, {plain(wood.web_across, 2)} mm across"
        cell = _cell(pictures, "png", _png(face), size, wood.title, [wood.id, webs])
        cell["squares"] = [wood.burn, mixed(wood.colour, "#180c05", 0.55)]
        cells.append(cell)
    below = "The squares: the wood as a beam marks it (left) and as a bit cuts it (right)."
    return {"cells": cells, "high": size[1], "below": below}


def _cutters(cutters: Sequence[Cutter], pictures: Pictures) -> ShelfTold:
    """Draw each cutter's profile, all at one scale; a beam as its mark, much enlarged."""
    cells = []
    for cutter in cutters:
        shape, colour, size = _drawn_cutter(cutter)
        picture = drawing((0.0, 0.0, CELL / SCALE, HIGH / SCALE), [filled(shape, colour)])
        cells.append(_cell(pictures, "svg", picture, (CELL, HIGH), cutter.title, [cutter.id, size]))
    return {"cells": cells, "high": HIGH}


SCALE, HIGH = 14.0, 190
"""Pixels a millimetre of a cutter's profile, and pixels that its drawing is high."""


def _drawn_cutter(cutter: Cutter) -> tuple[Polygon, str, str]:
    """Return a cutter's shape in its cell, its colour, and its size in words, each figure kept with its unit."""
    if isinstance(cutter, Beam):
        size = f"mark {plain(cutter.kerf_x, 2)}\u00a0×\u00a0{plain(cutter.kerf_y, 2)}\u00a0mm, 20\u00a0times enlarged"
        return _mark(cutter), "#5d3a22", size
    assert isinstance(cutter, Bit)  # there is no third sort
    return profile(cutter), "#8b8f93", _size(cutter)


def _size(cutter: Bit) -> str:
    parts = [
        f"ø\u00a0{plain(cutter.diameter, 4)}\u00a0mm" if cutter.diameter else "",
        f"{plain(cutter.angle, 1)}°" if cutter.angle else "",
        f"tip\u00a0{plain(cutter.tip, 2)}\u00a0mm" if cutter.tip else "",
    ]
    return ", ".join(p for p in parts if p)


MIDDLE = CELL / 2 / SCALE
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
