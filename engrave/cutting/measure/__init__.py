"""What is measured of letters whatever the tool: narrow strokes, webs, counters and crotches, with their places."""

from engrave.cutting.measure.components import Component, components_of
from engrave.cutting.measure.glyphs import GlyphMeasure, measure_lines, measure_region
from engrave.cutting.measure.kept import KeptMeasures
from engrave.cutting.measure.narrow_places import NarrowPlace, NarrowPlaces, narrow_places_of

__all__ = [
    "Component",
    "GlyphMeasure",
    "KeptMeasures",
    "NarrowPlace",
    "NarrowPlaces",
    "components_of",
    "measure_lines",
    "measure_region",
    "narrow_places_of",
]
