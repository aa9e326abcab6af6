"""The sheet of choices: the same words on the same lid in every setting, for the buyer to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from engrave.output.numbers import money, unparted
from engrave.output.pictures import Scene, scene
from engrave.output.pictures.frames import frame_at
from engrave.output.pictures.lid_rendering import lid_pixels
from engrave.output.pictures.paper import PAPER
from engrave.output.sheets.proof import as_jpeg, letters_told, with_dpi
from engrave.output.sheets.sheet_layout import common_paper
from engrave.output.typesetting import typesetter_for
from engrave.output.words_on_lid import words_cut
from engrave.units import MM_PER_INCH

if TYPE_CHECKING:
    from engrave.making import Piece
    from engrave.shop import Shop
    from engrave.shop.models import Setting
    from engrave.typefaces import Shelf

DPI = 150
"""Dots an inch of a picture on the sheet: letters of 4 mm on a lid drawn at a third are still read."""

COLUMNS, GUTTER_MM, MARGIN_MM = 3, 5.0, 12.0

TALLEST = 0.85
"""Height of a lid's picture over its column's width at most: four rows stand on a sheet."""

SHADOW_MM = 2.0
"""mm of paper round a lid's picture, on which its shadow falls."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to lay the words of a lid. pieces: its lettered areas. price: of all of them; None if unknown.

    dearer: what it costs more than the setting that was asked for; None if unknown.
    """

    setting: Setting
    pieces: tuple[Piece, ...]
    price: Decimal | None
    dearer: Decimal | None


def choices_sheet(choices: Sequence[Choice], shop: Shop, shelf: Shelf, *, as_picture: bool) -> bytes:
    """Return the sheet as PDF, or as one PNG. Raises ValueError without any choice: there is nothing to show."""
    if not choices:
        raise ValueError("there is nothing to choose from")
    paper = common_paper(shop.proof.units)
    wide = (paper[0] - 2 * MARGIN_MM - (COLUMNS - 1) * GUTTER_MM) / COLUMNS
    pictures: dict[str, bytes] = {}
    cells = [_cell(choice, wide, pictures, shop, shelf) for choice in choices]
    say, first = shop.proof, choices[0].pieces[0]
    assert first.task is not None  # only what was laid is a choice
    lid = f"{first.task.lid.title}, {first.task.wood.title}, {shelf.get(first.task.typefaces[0][1]).title}"
    data = {
        "title": say.choices, "shop": shop.name, "line": say.line, "about": lid, "choose": say.choose,
        "lang": say.language, "cells": cells, "wood_differs": say.wood_differs,
        "page": {"width": paper[0], "height": None if as_picture else paper[1], "margin": MARGIN_MM,
                 "columns": COLUMNS, "gutter": GUTTER_MM},
    }  # fmt: skip
    pages = typesetter_for(data, shelf).pages("choices.typ", data, pictures, dpi=DPI if as_picture else None)
    return with_dpi(pages[0], DPI) if as_picture else pages[0]


def _cell(choice: Choice, wide: float, pictures: dict[str, bytes], shop: Shop, shelf: Shelf) -> dict[str, Any]:
    """Return one choice: its lid's areas one below the other at one scale, under one name."""
    seen = [(piece, view) for piece in choice.pieces if (view := scene(piece)) is not None]
    room = wide - 2 * SHADOW_MM
    shown = min(1.0, *(min(room / s.view.width, TALLEST * room / s.view.height) for _, s in seen))
    lettered = [piece for piece in choice.pieces if piece.lettering and piece.lettering.lines]
    return {
        "areas": [_area(piece, view, shown, pictures, shop, shelf, many=len(seen) > 1) for piece, view in seen],
        "name": choice.setting.id,
        "title": choice.setting.title,
        "facts": [
            *([unparted(letters_told(lettered, shop.proof, shelf))] if lettered else []),
            *_price(choice.price, shop),
            *_difference(choice.dearer, shop),
        ],
    }


def _area(
    piece: Piece, seen: Scene, shown: float, pictures: dict[str, bytes], shop: Shop, shelf: Shelf, *, many: bool
) -> dict[str, Any]:
    """Return the picture of one area of a lid. shown: mm on the sheet for one of the lid. many: it is named."""
    assert piece.task is not None  # only what was laid is a choice
    assert piece.lettering is not None
    name = f"choice-{len(pictures)}.jpg"
    frame = frame_at(seen, shown * DPI * 1.5 / MM_PER_INCH, round(SHADOW_MM * DPI * 1.5 / MM_PER_INCH))
    pictures[name] = as_jpeg(lid_pixels(seen, frame, PAPER, "choice", shelf.cache))
    say, area = shop.proof, piece.task.area.name
    return {
        "picture": name,
        "alt": " ".join(words_cut(piece)),
        "width": seen.view.width * shown + 2 * SHADOW_MM,
        "height": seen.view.height * shown + 2 * SHADOW_MM,
        "says": {"lid": say.lid, "inside": say.inside}.get(area, area) if many else "",
    }


def _price(price: Decimal | None, shop: Shop) -> list[str]:
    """Return what the lettering costs, whether or not the setting that was asked for has a price beside it."""
    if price is None:
        return []
    return [_with_amount(shop.proof.price, price, shop)]


def _with_amount(sentence: str, amount: Decimal, shop: Shop) -> str:
    """Return what a choice costs; the word beside the amount stays on its line."""
    told = sentence.replace(" {amount}", "\u00a0{amount}").replace("{amount} ", "{amount}\u00a0")
    return told.format(amount=money(amount, shop.rates.currency, shop.rates.locale))


def _difference(dearer: Decimal | None, shop: Shop) -> list[str]:
    if dearer is None:
        return []
    if not dearer:
        return [shop.proof.same_price]
    amount = money(abs(dearer), shop.rates.currency, shop.rates.locale)
    return [(shop.proof.dearer if dearer > 0 else shop.proof.cheaper).format(amount=amount)]
