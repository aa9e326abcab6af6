"""What is measured of letters whatever the tool: narrow strokes, webs, counters and crotches, with their places."""

from engrave.cutting.measure.components import Component, components_of
from engrave.cutting.measure.glyphs import GlyphMeasure, measure_lines, measure_region
from engrave.cutting.measure.kept import KeptMeasures
from engrave.cutting.measure.narrow_places import NarrowPlace, NarrowPlaces, PlacesMeasured

__all__ = [
    "Component",
    "GlyphMeasure",
    "KeptMeasures",
    "NarrowPlace",
    "NarrowPlaces",
    "PlacesMeasured",
    "components_of",
    "measure_lines",
    "measure_region",
]
