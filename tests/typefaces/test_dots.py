"""Dots of single-line typefaces: one round spot in every groove, by an independent renderer; rings stay rings."""

from __future__ import annotations

import io

import numpy as np
import pytest
import resvg_py
from PIL import Image
from scipy import ndimage

from engrave.geometry.flattening import bounds
from engrave.geometry.paths import Path
from engrave.typefaces import Shelf
from engrave.typefaces.contours.dots import DOT_RADIUS, has_dots, solid_dots

SINGLE = ("ems-felix", "ems-nixish", "ems-readability", "hershey-sans", "hershey-script", "withy")


def _data(path: Path) -> str:
    words = []
    for contour in path:
        words.append("M{:.5f} {:.5f}".format(*contour.start))
        for segment in contour.segments:
            words.append({1: "L", 2: "Q", 3: "C"}[len(segment)] + " ".join(f"{x:.5f} {y:.5f}" for x, y in segment))
        words.append("Z" if contour.closed else "")
    return "".join(words)


def _ink(path: Path, groove: float) -> np.ndarray:
    """Pixels, 400 to the cap height, that an SVG reader of another make shows of a path in a groove."""
    box = bounds(path, 0.001)
    assert box
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="240" height="240" viewBox="-0.3 -0.3 0.6 0.6">'
        f'<rect x="-1" y="-1" width="2" height="2" fill="#fff"/><path transform="translate({-x} {-y})" d="{_data(path)}" '
        f'fill="none" stroke="#000" stroke-width="{groove}" stroke-linecap="round" stroke-linejoin="round"/></svg>'
    )
    return np.asarray(Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=svg)))).convert("L")) < 128


@pytest.mark.parametrize("ident", SINGLE)
@pytest.mark.parametrize("groove", [0.02, 0.05, 0.1, 0.17, 0.3])
def test_a_full_stop_is_one_round_spot_in_every_groove(shelf: Shelf, ident: str, groove: float) -> None:
    (stop,) = shelf.get(ident).shape(".").placed
    ink = _ink(stop.glyph.path, groove)
    assert ndimage.label(ink)[1] == 1
    assert ink.sum() == ndimage.binary_fill_holes(ink).sum()
    across = np.pi / 4 * ((groove + 2 * DOT_RADIUS) * 400) ** 2
    assert ink.sum() == pytest.approx(across, rel=0.06)


@pytest.mark.parametrize("char", "iäż!?:")
def test_letters_with_dots_have_solid_ones(shelf: Shelf, char: str) -> None:
    """As a hairline, too fine to fill anything, no ring is left that is smaller than a true one."""
    for ident in SINGLE:
        for placed in shelf.get(ident).shape(char).placed:
            for contour in placed.glyph.path:
                box = bounds((contour,), 0.001)
                assert box
                wide = max(box[2] - box[0], box[3] - box[1])
                assert not contour.closed or wide > 0.15 or wide < 0.001, (ident, char)


def test_true_rings_stay(shelf: Shelf) -> None:
    assert [has_dots(c) for c in "iäż.å°%o"] == [True, True, True, True, False, False, False, False]
    for ident in SINGLE:
        source = shelf.get(ident).source
        for char in "å°o":
            if (form := source.form(char)) is not None and ident != "withy":
                assert form.path == solid_dots(form.path) or char == "å", (ident, char)


def test_a_dot_that_fills_up_holds_nothing() -> None:
    """'Philip' in EMS Nixish by V-bit was on hold because the ring over the i fills: it is meant to."""
    from engrave import try_words

    (entry,) = try_words("Philip", typeface="ems-nixish", cutter="v60", wood="maple").entries
    assert [p.says for p in entry.piece.problems if "loop of the first i" in p.says] == []
