"""Pictures of what is at hand: nothing runs into its neighbour, and a typeface shows letters of its own."""

from __future__ import annotations

import pytest

from engrave.output.pictures import shelf_picture
from engrave.output.pictures.labels import Labels
from engrave.shop import load_shop
from engrave.typefaces import load_shelf

SHOP, SHELF = load_shop(), load_shelf()


@pytest.mark.parametrize("kind", ["lids", "woods", "cutters"])
def test_captions_stay_within_their_cells(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The widest line of a caption is no wider than a third of the sheet; western redcedar's once was."""
    widest: list[tuple[float, str]] = []
    draw = Labels.draw

    def noted(self: Labels, picture, at, text, size, *more, **named):  # type: ignore[no-untyped-def]
        if named.get("align") == 0.5:  # a caption; the line below all cells may be as wide as the sheet
            widest.append((self.width(text, size, shelf_picture.PLAIN), text))
        return draw(self, picture, at, text, size, *more, **named)

    monkeypatch.setattr(Labels, "draw", noted)
    shelf_picture.shelf_png(kind, SHOP, SHELF)
    assert len(widest) >= 2 * len(getattr(SHOP, kind))
    assert max(widest)[0] <= shelf_picture.CELL, max(widest)


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
    for words in shelf_picture._specimen(face):
        run = face.shape(words)
        assert {p.glyph.key.split("/")[0] for p in run.placed} == {ident}, words
    assert ord(script) <= ord(shelf_picture._specimen(face)[0][0]) < ord(script) + 0x80
