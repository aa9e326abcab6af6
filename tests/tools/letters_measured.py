"""Measure the usual letters of our own typefaces, so that a first week need not: they come with the program.

    python tests/tools/letters_measured.py

Run it after a change of a typeface in fonts_open or of a module in `MEASURED_BY`, and of scipy or GEOS where the
program is built: measures of other modules or libraries are passed over and taken anew, and a test tells that they are
old. A minute or two; the same modules and libraries give the same bytes.
"""

from __future__ import annotations

import string
from collections.abc import Callable, Iterator, Sequence

from engrave.cutting import KeptMeasures
from engrave.cutting.measure.believable import Bounds
from engrave.cutting.measure.components import Component, glyph_shape
from engrave.cutting.measure.glyphs import GlyphMeasure
from engrave.cutting.measure.kept import LETTERS_MEASURED, file_name, pack
from engrave.cutting.measure.narrow_places import measure_of
from engrave.geometry.affine import IDENTITY
from engrave.shop.line_weights import AUTO_SHARES
from engrave.typefaces import Shelf, ShelfTypeface, load_shelf
from engrave.typefaces.run import Glyph
from engrave.typefaces.supply.fallback import COMMON_LETTERS
from engrave.typefaces.weighting import weighted


def _range(*ranges: tuple[int, int]) -> str:
    return "".join(chr(code) for first, last in ranges for code in range(first, last + 1))


USUAL = {
    "Latn": string.ascii_letters + string.digits + ".,;:!?'\"()&-+/*#@%’‘“”–—" + _range((0xC0, 0xD6), (0xD8, 0xF6), (0xF8, 0xFF))
    + "ąćęłńśźżŁŚŻčěřšžČŠŽůňőűğışŞİășțȘđĐœ",
    "Grek": _range((0x391, 0x3A1), (0x3A3, 0x3A9), (0x3B1, 0x3C9)) + "άέήίόύώΆΈΉΊΌΎΏ",
    "Cyrl": _range((0x410, 0x44F)) + "ёЁ",
    "Hebr": _range((0x5D0, 0x5EA)),
    "Armn": _range((0x531, 0x556), (0x561, 0x587)),
    "Geor": _range((0x10D0, 0x10F0)),
}  # fmt: skip
"""What is measured of each script. Letters of scripts that join are measured word by word, so none of theirs."""

WEIGHT, LIGHTER = AUTO_SHARES[0], AUTO_SHARES[1:]
"""The weight that single lines get first where one is asked for, in cap heights; and those tried where it has no room, with
which plain letters are measured."""


class Taken(KeptMeasures):
    """Every measure that is asked for, taken now."""

    def __init__(self) -> None:
        super().__init__(None)
        self.by_key: dict[str, GlyphMeasure] = {}

    def get(self, key: str, bounds: Bounds, take: Callable[[], GlyphMeasure]) -> GlyphMeasure:
        """Return a measure, taken if it was not asked for before."""
        if key not in self.by_key:
            self.by_key[key] = take()
        return self.by_key[key]


def usual_letters(typeface: ShelfTypeface) -> str:
    """Return what a typeface has itself of the letters that are measured."""
    scripts = [s for s in USUAL if all(typeface.own(letter) for letter in COMMON_LETTERS[s])]
    return "".join(letter for script in scripts for letter in USUAL[script] if typeface.own(letter))


def taken_of(typeface: ShelfTypeface, letters: Sequence[str]) -> dict[str, GlyphMeasure]:
    """Return the measures of letters by key: of single lines as they are followed, and with their weight."""
    taken, single = Taken(), typeface.kind == "single-line"
    for letter in letters:
        for glyph in _drawn(typeface, letter, single):
            shape = glyph_shape(glyph, as_lines=glyph.kind == "single-line")
            body = Component(glyph.key, shape, IDENTITY, shape, (0,))
            measure_of(body, glyph.kind == "single-line", taken)
    return taken.by_key


def _drawn(typeface: ShelfTypeface, letter: str, single: bool) -> Iterator[Glyph]:
    weights = (WEIGHT, *(LIGHTER if letter in string.ascii_letters else ())) if single else ()
    for face in (typeface, *(weighted(typeface, weight) for weight in weights)):
        yield from (placed.glyph for placed in face.shape(letter).placed if placed.glyph.path)


def packed(shelf: Shelf) -> Iterator[tuple[str, bytes]]:
    """Yield the name and the bytes of each file."""
    for ident in shelf.ids:
        letters = usual_letters(shelf.get(ident))
        if letters:
            yield file_name(ident, "json.gz"), pack(taken_of(shelf.get(ident), letters))


if __name__ == "__main__":
    LETTERS_MEASURED.mkdir(exist_ok=True)
    for old in LETTERS_MEASURED.iterdir():
        old.unlink()
    for name, data in packed(load_shelf()):
        (LETTERS_MEASURED / name).write_bytes(data)
