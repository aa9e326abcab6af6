"""A typeface's measured facts: thinnest stroke, web, counter and stem at a cap height of 1 mm, kept in its table.

What counts as a stroke or a web is decided where letters are checked against cutters; those measures are handed in.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path as File

import tomlkit
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import Polyline, flatten
from engrave.geometry.regions import region
from engrave.typefaces.fallback import COMMON_LETTERS
from engrave.typefaces.forms import Form
from engrave.typefaces.shelf import ShelfTypeface
from engrave.typefaces.table import TABLE, Measured

STROKE_LETTERS = "Hoest"
"""Letters whose thinnest stroke stands for the typeface: a stem, rounds, a spine, a crossbar."""
WEB_LETTERS = "Hoestna"
"""The same with an arch that meets its stem, where the wood between is narrowest."""
COUNTER_LETTERS = "ea"
"""Letters with the smallest counters."""
_CHORD = 0.0004
"""Cap heights: chords of curves; 0.004 mm at 10 mm."""
_STEM_LETTERS = "lH"
"""Letters of which the stem is taken, the first that is there."""
_ACROSS = 0.3
"""Height at which a stem is taken: clear of serif and crossbar in all typefaces seen."""

Taken = tuple[float | None, float | None, float | None]
"""Thinnest stroke, thinnest web (counters not counted), smallest counter of one letter, in cap heights."""


def measure(
    typeface: ShelfTypeface,
    of_region: Callable[[BaseGeometry], Taken],
    of_lines: Callable[[Sequence[Polyline]], Taken],
) -> Measured:
    """Measure a typeface's letters; None for what it does not have (single lines have no stroke of their own)."""
    scripts = [s for s in COMMON_LETTERS.values() if all(typeface.own(c) for c in s)]
    letters = STROKE_LETTERS + "na" if typeface.own("H") else scripts[0] if scripts else ""
    single = typeface.kind == "single-line"
    taken: dict[str, Taken] = {}
    for char in letters:
        form = typeface.source.form(char)
        if form is not None and form.path:
            lines = [flatten(c, _CHORD) for c in form.path]
            taken[char] = of_lines(lines) if single else of_region(region(form.path, _CHORD))
    latin = "H" in taken
    return Measured(
        _least(taken, 0, STROKE_LETTERS if latin else letters),
        _least(taken, 1, WEB_LETTERS if latin else letters),
        _least(taken, 2, COUNTER_LETTERS if latin else letters),
        _stem(next(f for c in _STEM_LETTERS if (f := typeface.source.form(c)))) if latin and not single else None,
    )


def _least(taken: dict[str, Taken], which: int, letters: str) -> float | None:
    found = [v for c in letters if c in taken and (v := taken[c][which]) is not None]
    return round(min(found), 4) if found else None


def _stem(form: Form) -> float | None:
    """Return the width of a letter's first stroke at the height of a stem, None if there is none."""
    if form.box is None:
        return None
    level = LineString([(form.box[0] - 1, _ACROSS), (form.box[2] + 1, _ACROSS)])
    met = region(form.path, _CHORD).intersection(level)
    parts = sorted(getattr(met, "geoms", [met]), key=lambda g: g.bounds[0] if not g.is_empty else 0.0)
    return round(float(parts[0].length), 4) if parts and parts[0].length else None


def write_measured(folder: File, found: Measured) -> None:
    """Put measured facts into a typeface's table; the rest of the table stays as it was written."""
    path = folder / TABLE
    document = tomlkit.parse(path.read_text("utf-8"))
    table = tomlkit.table()
    table.comment("mm at a cap height of 1 mm; made by: python -m engrave.cutting.shelf_facts")
    for key in ("stroke", "web", "counter", "stem"):
        value = getattr(found, key)
        if value is not None:
            table.add(key, value)
    document.pop("measured", None)
    document.add("measured", table)
    path.write_text(tomlkit.dumps(document), "utf-8", newline="\n")
