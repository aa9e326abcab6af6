"""How lengths and places are said in the cutting check's sentences."""

from __future__ import annotations

from engrave.cutting.effect.closing import mark_closing
from engrave.cutting.measure.narrow_places import NarrowPlace
from engrave.cutting.messages.place_names import PlaceNames
from engrave.tasks import Tool


def said(mm: float) -> str:
    """Return a length as it is said to people: hundredths below one mm, tenths above ten.

    What is there at all is never said to be 0.00 mm.
    """
    if 0.0 < mm < 0.005:
        return "less than 0.01 mm"
    return f"{mm:.1f} mm" if mm >= 10.0 else f"{mm:.2f} mm"


def under(mm: float, limit: float) -> str:
    """Return a length below a limit as it is said: 'just under 0.70 mm' where both would read alike."""
    return f"just under {said(limit)}" if said(mm) == said(limit) else said(mm)


def place_of(site: NarrowPlace, names: PlaceNames) -> str:
    """Return the name of a narrow place: in a letter, or between two."""
    if len(site.marks) == 2 and site.marks[0] != site.marks[1]:
        return names.between(site.marks[0], site.marks[1])
    return names.letter(site.marks[0]) if site.marks else ""


def least_stroke(site: NarrowPlace, tool: Tool, burns: bool) -> str:
    """Return what a stroke is held against, in a few words for a picture."""
    return f"the mark is {said(mark_closing(tool).at(site.axis))}" if burns else f"the bit cuts {said(tool.diameter)}"


def least_web(least: float) -> str:
    """Return what wood left standing is held against, in a few words for a picture."""
    return f"it needs {said(least)}"


def in_place(where: str) -> str:
    """Return a place as it ends a clause: 'between the a and the n', 'in the n of Hannah'."""
    return where if where.startswith("between") else f"in {where}"


def grain_words(axis: float | None, along: bool) -> str:
    """Return how a web lies to the grain, as the start of a clause."""
    if axis is None:
        return "as an island of wood"
    return "along the grain" if along else "across the grain"
