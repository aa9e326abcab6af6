"""Letters of a round pen are known as such, and worn as those are of which nothing is known."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from engrave.cache import Cache
from engrave.geometry.affine import IDENTITY
from engrave.geometry.regions import polygons, region
from engrave.making import Env, environment
from engrave.setting.lettering import NO_LINE, Lettering, Line, Mark
from engrave.toolpath.round_pen import pen_radius
from engrave.toolpath.worn_areas import LINE_CHORD, lines_in
from engrave.typefaces.run import Glyph
from engrave.typefaces.weighting import weighted
from tests.toolpath import workbench

LETTERS = "AÄBCDEFGHIJKLMNOPQRSTUVWXYZaábcdefghijklmnopqrstuvwxyz0123456789&?!,;-"


@cache
def _env() -> Env:
    return environment()


def drawn(typeface: str, share: float, text: str, mm: float) -> Lettering:
    """Letters a cap height of so many mm, each where the last one stood: they are looked at one by one."""
    run = weighted(_env().shelf.get(typeface), share).shape(text)
    marks = [Mark(p.glyph, (p.scale * mm, 0.0, 0.0, -p.scale * mm, 0.0, 0.0), p.text, 0) for p in run.placed]
    return Lettering("outline", "stack", tuple(marks), (Line(text, "name", mm, mm, 0.0, share * mm),), 0.0)


@pytest.mark.parametrize("typeface", ["withy", "ems-felix", "hershey-sans", "ems-tech"])
def test_a_typefaces_weighted_letters_are_a_pens(typeface: str) -> None:
    assert pen_radius(drawn(typeface, 0.08, LETTERS, 12.0), 0.96, Cache()) == pytest.approx(0.87 * 0.48)


def bar(neck: float) -> Glyph:
    """A bar with a neck, in the middle, of that share of its width."""
    half = 0.1 * neck
    upper = [(0.0, 0.1), (0.4, 0.1), (0.5, half), (0.6, 0.1), (1.0, 0.1)]
    return Glyph(
        f"t/neck/{neck}", "outline", (workbench.polygon_path([*upper, *((x, -y) for x, y in upper[::-1])]),), 1.0
    )


def test_what_is_no_pens_is_known_as_such() -> None:
    lines = (Line("n", "name", 10.0, 7.0, 0.0, 2.0), Line("m", "message", 10.0, 7.0, 0.0))
    as_large = (10.0, 0.0, 0.0, 10.0, 0.0, 0.0)
    body = _env().shelf.get("vollkorn").shape("a").placed[0].glyph
    pens = drawn("withy", 0.2, "n", 10.0).marks[0]
    for marks in (
        [Mark(bar(0.6), as_large, "n", 0)],
        [pens, Mark(body, as_large, "a", 0)],
        [pens, Mark(pens.glyph, as_large, "n", 1)],
        [pens, Mark(pens.glyph, as_large, "leaf", NO_LINE)],
    ):
        assert pen_radius(Lettering("outline", "stack", tuple(marks), lines, 0.0), 2.0, Cache()) == 0.0
    empty = Mark(Glyph("t/space/0", "outline", (), 0.3), IDENTITY, " ", 1)
    assert pen_radius(Lettering("outline", "stack", (pens, empty), lines, 0.0), 2.0, Cache()) > 0.0


def test_letters_with_thinner_sides_round_a_loop_are_none() -> None:
    assert pen_radius(drawn("ems-felix", 0.14, "nun", 10.0), 1.4, Cache()) > 0.0
    assert pen_radius(drawn("ems-felix", 0.14, "une", 10.0), 1.4, Cache()) == 0.0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("typeface", "share"),
    [
        ("withy", 0.07),
        ("ems-felix", 0.11),
        ("hershey-sans", 0.08),
        ("hershey-script", 0.11),
        ("ems-allure", 0.1),
        ("ems-nixish", 0.13),
    ],
)
def test_a_pens_letters_are_worn_as_if_nothing_were_known(typeface: str, share: float) -> None:
    looked_past = 0
    for letter in LETTERS:
        lettering = drawn(typeface, share, letter, 21.0)
        weight = share * 21.0
        radius = pen_radius(lettering, weight, Cache())
        looked_past += radius > 0.0
        parts = [p for mark in lettering.marks for p in polygons(region(mark.path(), LINE_CHORD / 2.0))]
        steps = [(weight - 0.12) / 17.0] * len(parts)
        known = lines_in(parts, (0.12, 0.18), steps, [radius] * len(parts))
        looked_at = lines_in(parts, (0.12, 0.18), steps)
        for one, other in zip(known, looked_at, strict=True):
            assert len(one) == len(other) > 0
            assert all(np.array_equal(a, b) for a, b in zip(one, other, strict=True))
    assert looked_past > len(LETTERS) / 2
