"""A monogram: one to three initials, the middle one of three large, in a ring; one word that no line breaks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from engrave.geometry.paths import Contour
from engrave.problems import Problem
from engrave.setting.ornament.inking import Inker, placed
from engrave.setting.ornament.ornament_lines import word_of
from engrave.setting.text.fields import ShapedField
from engrave.setting.text.glyph_shapes import hull_of
from engrave.shop.shapes import arc
from engrave.typefaces import Placed
from engrave.typefaces.characters import clusters, has_right_to_left

MOST = 3
"""Initials at most: more make a word."""

SMALL = 0.62
"""Size of the outer of three initials, over the middle one's (our eye, no source)."""

APART = 0.14
"""Capitals of wood between initials: as much as between letters side by side."""

RING_AIR = 0.4
"""Capitals of wood between the initials' corners and the ring (our eye, no source)."""

RING_SHARE = 0.62
"""Greatest ring over the lid's lesser side: a margin as wide as a third of the ring stays round it (our eye)."""


def initials_of(text: str) -> tuple[str, ...]:
    """Return one to three initials: letters that stand alone, or capitals without anything else; else nothing.

    'A B C', 'A.B.' and 'ABC' are initials; 'Bo' and 'Li' are names.
    """
    parts = "".join(c if c.isalnum() or not (c.isspace() or c in ".,·&+-") else " " for c in text).split()
    letters = [c for part in parts for c in clusters(part)]
    apart = all(len(clusters(part)) == 1 for part in parts)
    capitals = len(parts) == 1 and all(c.isupper() for c in parts[0])
    whole = 0 < len(letters) <= MOST and all(c[0].isalpha() for c in letters)
    return tuple(letters) if whole and (apart or capitals) else ()


def no_initials(text: str) -> Problem:
    """Say that words are no initials, so that no monogram can be made of them."""
    words = " ".join(text.split())
    says = (
        f"A monogram is made of one to three initials, and the name is '{words[:40]}'. Ask the buyer for the initials, "
        "or take another setting."
    )
    return Problem("no-initials", "hold", says, where="name")


def signs_left_out(text: str) -> tuple[Problem, ...]:
    """Say which signs between initials a monogram leaves out; full stops and commas belong to writing them."""
    signs = " ".join(dict.fromkeys(c for c in text if c in "&+·-"))
    says = f"The monogram is made of the initials alone: {signs} between them is not cut."
    return (Problem("initials-alone", "note", says, where="name"),) if signs else ()


def monogram(of: ShapedField, inker: Inker, pen: float) -> tuple[ShapedField, float] | None:
    """Return the name's initials in a ring as one word, and the ring's diameter in capitals; None if they leave no ink.

    pen: thickness in cap heights of the ring where it has a body.
    """
    letters = initials_of(of.text)
    rows = letters[::-1] if has_right_to_left(of.text) else letters
    glyphs = _in_a_row(of, rows)
    points = hull_of(glyphs) if glyphs else None
    if points is None:
        return None
    x, y = (points.min(axis=0) + points.max(axis=0)) / 2
    radius = float(np.hypot(points[:, 0] - x, points[:, 1] - y).max()) + RING_AIR
    centre = (float(x), float(y))
    circle = Contour((centre[0] + radius, centre[1]), arc(centre, radius, radius, 0.0, 2 * math.pi), True)
    ring = placed(inker.line((circle,), "ring~", pen), "the ring")
    word = word_of((*glyphs, ring), " ".join(of.text.split()), (0, len(of.text)))
    if word is None:
        return None
    return (replace(of, words=(word,), mixed=False), 2 * radius + pen)


def _in_a_row(of: ShapedField, letters: Sequence[str]) -> tuple[Placed, ...]:
    """Return initials side by side, all about the half of the capitals' height."""
    out: list[Placed] = []
    at = 0.0
    for k, letter in enumerate(letters):
        size = SMALL if len(letters) == MOST and k != 1 else 1.0
        drawn = of.typeface.shape(letter).placed
        hull = hull_of(drawn)
        if hull is None:
            continue
        x, y = at - float(hull[:, 0].min()) * size, (1.0 - size) / 2
        out += [replace(p, x=p.x * size + x, y=p.y * size + y, scale=p.scale * size) for p in drawn]
        at += float(np.ptp(hull[:, 0])) * size + APART
    return tuple(out)
