"""Strokes drawn thicker: as a general geometry library offsets them, capitals as high as before, white kept."""

from __future__ import annotations

import pytest
from shapely import get_coordinates

from engrave.cutting.measure.components import glyph_shape
from engrave.cutting.measure.glyphs import measure_region
from engrave.geometry.regions import region
from engrave.typefaces import Run, Shelf, gain_for, thickened
from engrave.typefaces.contours.outline_union import grown

FINE = 0.0003
"""Cap heights: chords for comparing."""


def edges(run: Run) -> list[tuple[float, float, float, float]]:
    found = []
    for p in run.placed:
        xy = get_coordinates(glyph_shape(p.glyph, False)) * p.scale + (p.x, p.y)
        found.append((*xy.min(axis=0).tolist(), *xy.max(axis=0).tolist()))
    return found


@pytest.mark.source("GEOS, mitred buffers")
@pytest.mark.parametrize("face", ["noto-sans", "vollkorn", "gfs-didot", "great-vibes", "blankenburg", "quicksand"])
@pytest.mark.parametrize("gain", [0.01, 0.04])
def test_outlines_are_offset_as_by_a_buffer(shelf: Shelf, face: str, gain: float) -> None:
    """Against shapely's mitred buffer (GEOS); curves here, chords there."""
    for placed in shelf.get(face).shape("Hamburgefonstiv&éß8").placed:
        path = placed.glyph.path
        here, there = region(grown(path, gain / 2), FINE), region(path, FINE).buffer(gain / 2, join_style="mitre")
        assert here.difference(there.buffer(0.001)).area < 1e-3  # no more than tips cut off elsewhere
        assert there.difference(here.buffer(0.001)).area < 6e-3
        assert region(path, FINE).difference(here).area < 1e-6


@pytest.mark.parametrize("face", ["noto-sans", "vollkorn", "gfs-didot"])
def test_capitals_keep_their_height_and_letters_their_distance(shelf: Shelf, face: str) -> None:
    drawn, thick = shelf.get(face), thickened(shelf.get(face), 0.03)
    flat, heavy = edges(drawn.shape("HIH")), edges(thick.shape("HIH"))
    for (_, low, _, high), (_, low2, _, high2) in zip(flat, heavy, strict=True):
        assert (low2, high2) == pytest.approx((low, high), abs=0.002)
    gaps = [[b[0] - a[2] for a, b in zip(e, e[1:], strict=False)] for e in (flat, heavy)]
    assert [g * 1.03 for g in gaps[1]] == pytest.approx(gaps[0], abs=0.001)  # in what was one cap before
    spaced = edges(thick.shape("HIH", 0.1))
    assert [b[0] - a[0] for a, b in zip(heavy, spaced, strict=True)] == pytest.approx([0.0, 0.1, 0.2], abs=1e-9)


@pytest.mark.parametrize("letter", ["l", "o", "H", "e"])
def test_a_stroke_comes_out_as_thick_as_was_asked_for(shelf: Shelf, letter: str) -> None:
    before = measure_region(glyph_shape(shelf.get("gfs-didot").shape(letter).placed[0].glyph, False)).stroke
    assert before is not None
    wanted = 1.5 * before
    (placed,) = thickened(shelf.get("gfs-didot"), gain_for(before, wanted)).shape(letter).placed
    after = measure_region(glyph_shape(placed.glyph, False)).stroke
    assert after is not None
    assert after * placed.scale == pytest.approx(wanted, rel=0.02)


def test_joined_letters_still_join(shelf: Shelf) -> None:
    drawn, thick = (t.shape("moon") for t in (shelf.get("great-vibes"), thickened(shelf.get("great-vibes"), 0.02)))
    assert thick.advance == pytest.approx(drawn.advance / 1.02)
    boxes = edges(thick)
    assert all(a[2] > b[0] for a, b in zip(boxes, boxes[1:], strict=False))


def test_single_lines_and_no_gain_are_left_alone(shelf: Shelf) -> None:
    withy, sans = shelf.get("withy"), shelf.get("noto-sans")
    assert thickened(withy, 0.03) is withy
    assert thickened(sans, 0.0) is sans


def test_equal_keys_only_for_equal_thickness(shelf: Shelf) -> None:
    keys = {thickened(shelf.get("noto-sans"), g).shape("a").placed[0].glyph.key for g in (0.0, 0.01, 0.02)}
    assert len(keys) == 3
    assert all(k.startswith("noto-sans/") for k in keys)
