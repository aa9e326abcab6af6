"""Measure the typefaces on the shelf: `python tests/tools/typeface_facts.py [ID ...]` writes their tables anew.

Thinnest stroke, web, counter and stem at a cap height of 1 mm, by the measures that letters are checked with.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path as File

import tomlkit
from shapely import LineString

from engrave.cutting.measure.glyphs import GlyphMeasure, measure_lines, measure_region
from engrave.geometry.flattening import flatten
from engrave.geometry.regions import region
from engrave.typefaces import ShelfTypeface, load_shelf
from engrave.typefaces.legibility import reads_from
from engrave.typefaces.letter_form import LetterForm
from engrave.typefaces.supply.fallback import COMMON_LETTERS
from engrave.typefaces.typeface_table import TABLE, Measured

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


def measured(typeface: ShelfTypeface) -> Measured:
    """Measure a typeface's letters; None for what it does not have (single lines have no stroke of their own)."""
    scripts = [s for s in COMMON_LETTERS.values() if all(typeface.own(c) for c in s)]
    letters = STROKE_LETTERS + "na" if typeface.own("H") else scripts[0] if scripts else ""
    single = typeface.kind == "single-line"
    taken: dict[str, Taken] = {}
    for char in letters:
        form = typeface.source.form(char)
        if form is not None and form.path:
            taken[char] = _taken(
                measure_lines([flatten(c, _CHORD) for c in form.path])
                if single
                else measure_region(region(form.path, _CHORD))
            )
    latin = "H" in taken
    return Measured(
        _least(taken, 0, STROKE_LETTERS if latin else letters),
        _least(taken, 1, WEB_LETTERS if latin else letters),
        _least(taken, 2, COUNTER_LETTERS if latin else letters),
        _stem(next(f for c in _STEM_LETTERS if (f := typeface.source.form(c)))) if latin and not single else None,
        round(reads_from(typeface.x_height, typeface.is_ornate), 1),
    )


def _taken(found: GlyphMeasure) -> Taken:
    web, counter = (min((n.width for n in narrow), default=None) for narrow in (found.webs, found.counters))
    return found.stroke, web, counter


def _least(taken: dict[str, Taken], which: int, letters: str) -> float | None:
    found = [v for c in letters if c in taken and (v := taken[c][which]) is not None]
    return round(min(found), 4) if found else None


def _stem(form: LetterForm) -> float | None:
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
    table.comment("mm at a cap height of 1 mm; made by: python tests/tools/typeface_facts.py")
    for key in ("stroke", "web", "counter", "stem", "reads_from_mm"):
        value = getattr(found, key)
        if value is not None:
            table.add(key, value)
    document.pop("measured", None)
    document.add("measured", table)
    path.write_text(tomlkit.dumps(document), "utf-8", newline="\n")


def main(ids: Sequence[str]) -> None:
    """Measure the typefaces named, else all that came with the package."""
    shelf = load_shelf()
    for ident in ids or shelf.ids:
        found = measured(shelf.get(ident))
        write_measured(shelf.facts(ident).files[0].parent, found)
        print(f"{ident}: {found}", file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1:])
