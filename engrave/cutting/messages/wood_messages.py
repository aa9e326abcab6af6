"""What is said of the wood left standing: each finding with its figure, its place, its limit and what would help."""

from __future__ import annotations

from engrave.cutting.measure.narrow_places import NarrowPlace
from engrave.cutting.messages.phrasing import in_place, said, under
from engrave.problems import Problem


def web_too_thin(left: float, least: float, site: NarrowPlace, where: str, grain_word: str) -> Problem:
    """Return the hold for wood between cuts that is thinner than this wood bears."""
    if site.closed:
        what = f"The wood left standing inside {where} is {under(left, least)} across"
    elif where.startswith("between"):
        what = f"The wood left {where} is {under(left, least)} thick"
    else:
        what = f"The wood left between strokes of {where} is {under(left, least)} thick"
    says = (
        f"{what}; {grain_word} it needs {said(least)} or it breaks out. Larger letters, a typeface with more "
        "room in and between its letters, a finer cutter or a denser wood would help."
    )
    return Problem("web-too-thin", "hold", says, where, round(left, 3), round(least, 3))


def fills(site: NarrowPlace, width: float, where: str) -> Problem:
    """Return the hold for a counter or gap that disappears under the groove or the mark."""
    what = f"The loop of {where}" if site.closed else f"The gap {in_place(where)}"
    says = (
        f"{what} is {said(site.width)} wide and fills up: the cutter leaves {said(width)}. Larger letters, a finer "
        "groove or another typeface would help."
    )
    return Problem("loop-fills", "hold", says, where, round(site.width, 3), round(width, 3))


def under_depth(left: float, site: NarrowPlace, where: str, half_depth: float) -> Problem:
    """Return the hold for a wall too thin for its height."""
    says = (
        f"The wood left {in_place(where)} is {under(left, half_depth)} thick beside a cut {said(2.0 * half_depth)} deep; a "
        "wall under half as thick as it is high breaks at the first knock. Cut shallower, or set it larger."
    )
    return Problem("web-under-depth", "hold", says, where, round(left, 3), round(half_depth, 3))


def crotch_fills(site: NarrowPlace, where: str, least: float, told: float) -> Problem:
    """Return the note on how far the sharpest crotch fills (the site's width). told: mm from which it is worth saying."""
    says = (
        f"The sharp crotch {in_place(where)} fills {said(site.width)} from its tip: there less than {said(least)} of wood "
        "would be left between its strokes. Nothing breaks; it only looks blunter than drawn, and less so in larger letters."
    )
    return Problem("crotch-fills", "note", says, where, round(site.width, 3), round(told, 3))


def lid_lies_low(depth: float, flatness: float, thinnest: NarrowPlace | None = None, where: str = "") -> Problem:
    """Return the look for a cut so shallow that the bit stays above a lid that lies low; thinnest: where only there."""
    if thinnest is None:
        says = (
            f"The cut is {said(depth)} deep and the lid may lie {said(flatness)} low: there the cutter would not "
            "touch the wood. Plane or clamp the lid flat, probe it, or cut deeper."
        )
    else:
        says = (
            f"The thinnest strokes ({said(thinnest.width)}, {in_place(where)}) are cut only {said(depth)} deep, and the lid may "
            f"lie {said(flatness)} low: there they would be missed. Plane or clamp the lid flat, probe it, or set it larger."
        )
    return Problem("flatness-misses", "look", says, where, round(depth, 3), round(flatness, 3))


def lid_stands_high(left: float, least: float, flatness: float, growth: float, where: str) -> Problem:
    """Return the look for wood that is thick enough only where the lid does not stand high."""
    says = (
        f"Where the lid stands {said(flatness)} high the cut widens by {said(growth)} and leaves "
        f"{under(max(0.0, left), least)} of wood {in_place(where)}, under the {said(least)} it needs. Plane or clamp the lid "
        "flat, or set it larger."
    )
    return Problem("flatness-web", "look", says, where, round(max(0.0, left), 3), round(least, 3))
