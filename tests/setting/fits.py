"""Ground truth for the solver: rooms, words as outlines, and the largest cap height proved for them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from shapely import Polygon

from engrave.geometry.arrays import Floats
from engrave.geometry.flattening import flatten
from engrave.geometry.paths import Contour
from engrave.setting.fit.layout import Field, Stack
from engrave.setting.text.silhouettes import silhouette

FILE = Path(__file__).parent / "data" / "fits.json"
CHORD = 0.0005
"""Caps: how far chords may stand off the letters' curves in these tests."""


@dataclass(frozen=True)
class Case:
    """One proved case."""

    name: str
    room: Polygon
    stack: Stack
    outlines: tuple[tuple[float, tuple[tuple[Floats, ...], ...]], ...]
    truth: dict[str, dict[str, Any]]


@cache
def cases(exact: bool = True) -> tuple[Case, ...]:
    """Return all cases; exact: silhouettes by letter instead of whole words."""
    data = json.loads(FILE.read_text(encoding="utf-8"))
    return tuple(_case(c, data["letters"][c["letters"]], exact) for c in data["cases"])


def _case(c: dict[str, Any], letters: dict[str, Any], exact: bool) -> Case:
    fields = []
    outlines = []
    for ratio, words in c["fields"]:
        shapes = [(text, tuple(_ink(placed, letters, c["groove_mm"]))) for text, placed in words]
        fields.append(Field(ratio, tuple(silhouette(text, ink, exact) for text, ink in shapes)))
        outlines.append((ratio, tuple(ink for _, ink in shapes)))
    room = Polygon(c["room_mm"][0], c["room_mm"][1:])
    truth = {m: c[m] for m in ("centred", "free")}
    return Case(f"{c['id']}-{c['lid']}", room, Stack(tuple(fields), c["pitch"]), tuple(outlines), truth)


def _ink(placed: list[Any], letters: dict[str, Any], groove: float) -> list[Floats]:
    cap = letters["cap"]
    out = []
    for name, x, y in placed:
        for start, *rest in letters["glyphs"][name]:
            contour = Contour(tuple(start), tuple(tuple(map(tuple, s)) for s in rest), closed=groove == 0)
            out.append((flatten(contour, CHORD * cap) + (x, y)) / cap)
    return out


def ink_at(case: Case, fit: Any) -> list[Floats]:
    """Return every outline of a fit in mm."""
    out: list[Floats] = []
    units = [(r, ink) for r, words in case.outlines for ink in words]
    for (i, j), baseline in zip(fit.lines, fit.baselines, strict=True):
        ratio = units[i][0]
        points = np.concatenate([o for _, ink in units[i:j] for o in ink])
        centre = (points[:, 0].min() + points[:, 0].max()) / 2
        for _, ink in units[i:j]:
            out += [(o - (centre, 0.0)) * ratio * fit.cap + (fit.x, baseline) for o in ink]
    return out
