"""The sheet of typefaces: a row each, every size true to the same scale."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from typeface_sheet import SCALE, typeface_sheet

from engrave.output.pictures.paper import EDGE
from engrave.typefaces import Shelf, load_shelf
from engrave.typefaces.shelf import UnknownTypeface


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return load_shelf()


def test_capitals_stand_at_their_true_heights(shelf: Shelf) -> None:
    """The first capital of each size, a W without overshoot, is 20, 8 and 4 mm high at the sheet's scale."""
    sheet = np.asarray(Image.open(io.BytesIO(typeface_sheet(shelf, ["noto-sans"]))).convert("L"))
    column = (sheet[EDGE + 50 :, EDGE : EDGE + 60] < 110).any(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], column.astype(int), [0]])))
    heights = {round(int(b - a) / SCALE) for a, b in edges.reshape(-1, 2)}
    assert {20, 8, 4} <= heights


def test_more_typefaces_make_a_longer_sheet_and_unknown_ones_are_named(shelf: Shelf) -> None:
    one, two = (Image.open(io.BytesIO(typeface_sheet(shelf, ids))) for ids in (["withy"], ["withy", "vollkorn"]))
    assert one.height < two.height
    with pytest.raises(UnknownTypeface, match="vollkron"):
        typeface_sheet(shelf, ["vollkron"])
