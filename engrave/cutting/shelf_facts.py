"""Measure the typefaces on the shelf: `python -m engrave.cutting.shelf_facts [ID ...]` writes their tables anew."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from shapely.geometry.base import BaseGeometry

from engrave.cutting.measure import GlyphMeasure, measure_lines, measure_region
from engrave.geometry.paths import Polyline
from engrave.typefaces import Measured, ShelfTypeface, load_shelf
from engrave.typefaces.facts import Taken, measure, write_measured


def measured(typeface: ShelfTypeface) -> Measured:
    """Return a typeface's thinnest stroke, web and counter by the rules of the cutting check."""
    return measure(typeface, _of_region, _of_lines)


def _of_region(shape: BaseGeometry) -> Taken:
    return _taken(measure_region(shape))


def _of_lines(lines: Sequence[Polyline]) -> Taken:
    return _taken(measure_lines(lines))


def _taken(found: GlyphMeasure) -> Taken:
    web, counter = (min((n.width for n in narrow), default=None) for narrow in (found.webs, found.counters))
    return found.stroke, web, counter


def main(ids: Sequence[str]) -> None:
    """Measure the typefaces named, else all that came with the package."""
    shelf = load_shelf()
    for ident in ids or shelf.ids:
        found = measured(shelf.get(ident))
        write_measured(shelf.facts(ident).files[0].parent, found)
        print(f"{ident}: {found}", file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1:])
