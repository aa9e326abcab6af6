"""What a remedy promises, measured on its lettering by general libraries that know nothing of the check."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage
from shapely import MultiLineString
from shapely.geometry.base import BaseGeometry
from skimage.draw import polygon

from engrave.advising import Remedy
from engrave.geometry.flattening import flatten
from engrave.geometry.regions import region
from engrave.making import Env, Piece, environment
from engrave.verbs import try_words


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def _offered(env: Env, column: str, words: str, **ordered: str) -> tuple[Piece, Remedy]:
    (entry,) = try_words(words, env=env, **ordered).entries
    (remedy,) = [r for r in entry.remedies if [c for c, _ in r.change] == [column]]
    return entry.piece, remedy


def _bodies(piece: Piece) -> list[BaseGeometry]:
    assert piece.lettering
    return [region(mark.path()) for mark in piece.lettering.marks]


def _kept_by(body: BaseGeometry, diameter: float, dots: int = 40) -> float:
    """Share of a letter's pixels that a disc reaches: those within its radius of a pixel as far from the outline."""
    x0, y0, x1, y1 = body.bounds
    ink = np.zeros((int((y1 - y0) * dots) + 9, int((x1 - x0) * dots) + 9), dtype=bool)
    for part in getattr(body, "geoms", [body]):
        for ring, value in ((part.exterior, True), *((hole, False) for hole in part.interiors)):
            points = (np.asarray(ring.coords) - (x0, y0)) * dots + 4
            rows, columns = polygon(points[:, 1], points[:, 0], ink.shape)
            ink[rows, columns] = value
    deep = ndimage.distance_transform_edt(ink) >= diameter / 2 * dots - 1.0
    reached = ndimage.distance_transform_edt(~deep) <= diameter / 2 * dots
    return float((reached & ink).sum() / ink.sum())


@pytest.mark.source(
    "SciPy, ndimage.distance_transform_edt, and scikit-image, draw.polygon: what a disc reaches, on pixels"
)
def test_letters_drawn_thicker_are_reached_by_the_bit(env: Env) -> None:
    """A bit of 0.8 mm leaves more of every letter than before, and all but the corners of each."""
    ordered = {"lid": "card-box", "typeface": "dancing-script", "cutter": "mill-08", "wood": "maple"}
    before, remedy = _offered(env, "thicken", "Rosemary", **ordered)
    was, now = ([_kept_by(b, 0.8) for b in _bodies(p)] for p in (before, remedy.piece))
    assert min(was) < 0.93
    assert min(now) > 0.93
    assert min(now) > min(was)


@pytest.mark.source("GEOS, distances between polygons")
def test_letters_set_wider_leave_the_wood_that_is_needed(env: Env) -> None:
    """Between neighbours, and no wider than that: a share less and the check holds it again (see test_advising)."""
    ordered = {"lid": "round-caddy", "typeface": "withy", "cutter": "mill-08", "wood": "maple"}
    before, remedy = _offered(env, "spacing", "Willi Ritter", message="from all your sons", **ordered)
    lacking = next(p for p in before.problems if p.code == "web-too-thin")
    assert isinstance(lacking.limit, float)
    assert _least_gap(before) < lacking.limit <= _least_gap(remedy.piece) + 5e-3


def _least_gap(piece: Piece) -> float:
    """Least distance between the grooves of neighbouring letters of a line, in mm."""
    assert piece.lettering
    drawn = [(m.line, MultiLineString([flatten(c, 1e-3) for c in m.path()])) for m in piece.lettering.marks]
    gaps = [a.distance(b) for (line, a), (other, b) in zip(drawn, drawn[1:], strict=False) if line == other]
    return min(gaps) - piece.lettering.groove
