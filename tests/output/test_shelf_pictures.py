"""Pictures of what is at hand: nothing runs into its neighbour, and a typeface shows letters of its own."""

from __future__ import annotations

import io
from itertools import pairwise

import pypdfium2 as pdfium
import pytest
from PIL import Image

from engrave.output.pictures import shelf_png
from engrave.output.pictures.paper import EDGE, WIDE
from engrave.output.pictures.shelf_picture import CELL, TEMPLATE, _specimen, shelf_told
from engrave.output.typesetting import own_typesetter
from engrave.shop import load_shop
from engrave.typefaces import load_shelf

SHOP, SHELF = load_shop(), load_shelf()


def lines(kind: str) -> list[tuple[float, float, float, float, str]]:
    """Left, top, right, bottom and words of each line of the sheet, as another reader finds them."""
    told, pictures = shelf_told(kind, SHOP, SHELF)
    (pdf,) = own_typesetter().pages(TEMPLATE, told, pictures)
    (page,) = pdfium.PdfDocument(pdf)
    high, text = page.get_height(), page.get_textpage()
    found = []
    for i in range(text.count_rects()):
        left, bottom, right, top = text.get_rect(i)
        found.append((left, high - top, right, high - bottom, text.get_text_bounded(left, bottom, right, top)))
    return found


@pytest.mark.parametrize("kind", ["lids", "woods", "cutters"])
def test_captions_stay_within_their_cells(kind: str) -> None:
    """Western redcedar's caption once was wider than a third of the sheet."""
    found = [one for one in lines(kind) if "squares" not in one[4]]
    assert len(found) >= 2 * len(getattr(SHOP, kind))
    between = (WIDE - 2 * EDGE - 3 * CELL) / 2
    cells = [(EDGE + k * (CELL + between), EDGE + k * (CELL + between) + CELL) for k in range(3)]
    for left, _, right, _, words in found:
        assert any(a - 0.5 <= left and right <= b + 0.5 for a, b in cells), words
    for a, b in cells:
        column = sorted((top, bottom, words) for left, top, right, bottom, words in found if a <= left and right <= b)
        assert all(one[1] <= other[0] + 1.0 for one, other in pairwise(column) if other[0] > one[0] + 1.0), column


@pytest.mark.parametrize("kind", ["lids", "typefaces", "woods", "cutters"])
def test_the_picture_is_as_wide_as_ever_and_the_same_each_time(kind: str) -> None:
    one = shelf_png(kind, SHOP, SHELF)
    assert Image.open(io.BytesIO(one)).width == WIDE
    assert shelf_png(kind, SHOP, SHELF) == one


def test_all_that_is_told_of_a_cutter_stands_there() -> None:
    words = " ".join(" ".join(one[4] for one in lines("cutters")).split())
    for told in ("V-bit 60°", "v60", "ø 6 mm, 60°, tip 0.2 mm", "CO2 beam", "20 times enlarged"):
        assert told in words, told


@pytest.mark.parametrize(
    ("ident", "script"),
    [
        ("noto-naskh-arabic", "\u0600"),
        ("noto-sans-hebrew", "\u0590"),
        ("noto-sans-devanagari", "\u0900"),
        ("vollkorn", "A"),
    ],
)
def test_a_specimen_shows_letters_that_the_typeface_has(ident: str, script: str) -> None:
    face = SHELF.get(ident)
    for words in _specimen(face):
        run = face.shape(words)
        assert {p.glyph.key.split("/")[0] for p in run.placed} == {ident}, words
    assert ord(script) <= ord(_specimen(face)[0][0]) < ord(script) + 0x80
