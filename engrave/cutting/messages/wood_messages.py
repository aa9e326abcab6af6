"""What is said of the wood left standing: each finding with its figure, its place, its limit and what would help."""

from __future__ import annotations

from typing import Literal

from engrave.cutting.measure.narrow_places import NarrowPlace
from engrave.cutting.messages.phrasing import in_place, said, under
from engrave.problems import Problem

Reason = Literal["breaks-out", "breaks-below", "chars"]
"""What becomes of wood that is too thin: it breaks out beside a bit, or as a wall between V-cuts, or is charred over."""

BECOMES: dict[Reason, str] = {
    "breaks-out": "or it breaks out",
    "breaks-below": "at the surface or the wall breaks further down",
    "chars": "or it is charred over and does not show",
}
HELPS: dict[Reason, str] = {
    "breaks-out": "a finer cutter or a denser wood",
    "breaks-below": "a finer cutter or a denser wood",
    "chars": "or a finer mark",
}


TRIED = ", as your test piece showed,"
"""Said of a limit that the shop measured itself."""


def web_too_thin(
    left: float, least: float, place: NarrowPlace, where: str, grain_word: str, why: Reason, tried: bool = False
) -> Problem:
    """Return the hold for wood between cuts that is thinner than this wood bears. tried: as the shop's test piece showed."""
    if place.closed:
        what = f"The wood left standing inside {where} is {under(left, least)} across"
    elif where.startswith("between"):
        what = f"The wood left standing {where} is {under(left, least)} thick"
    else:
        what = f"The wood left standing between strokes of {where} is {under(left, least)} thick"
    says = (
        f"{what}. {grain_word.capitalize()}{TRIED if tried else ''} it needs {said(least)} {BECOMES[why]}. Larger letters, a typeface with more "
        f"room in and between its letters, {HELPS[why]} would help."
    )
    return Problem("web-too-thin", "hold", says, where, round(left, 3), round(least, 3))


def fills(place: NarrowPlace, width: float, where: str) -> Problem:
    """Return the hold for a counter or gap that disappears under the groove or the mark."""
    what = f"The loop of {where}" if place.closed else f"The gap {in_place(where)}"
    says = (
        f"{what} is drawn {said(place.width)} wide and is cut away altogether: the cut takes {said(width)} of it. Larger "
        "letters, a finer groove or another typeface would help."
    )
    return Problem("loop-fills", "hold", says, where, round(place.width, 3), round(width, 3))


def under_depth(left: float, least: float, depth: float, where: str, tried: bool = False) -> Problem:
    """Return the hold for a wall too thin for its height. tried: as the shop's test piece showed."""
    says = (
        f"The wood left standing {in_place(where)} is {under(left, least)} thick beside a cut {said(depth)} deep; a "
        f"wall so high{TRIED if tried else ''} needs {said(least)} or it breaks at the first knock. Cut shallower, or set it larger."
    )
    return Problem("web-under-depth", "hold", says, where, round(left, 3), round(least, 3))


def crotch_fills(site: NarrowPlace, where: str, least: float, told: float) -> Problem:
    """Return the note on how far the sharpest crotch fills (the site's width). told: mm from which it is worth saying."""
    says = (
        f"The sharp inside corner {in_place(where)} fills {said(site.width)} from its tip: there less than {said(least)} of wood "
        "would be left between its strokes. Nothing breaks; it only looks blunter than drawn, and less so in larger letters."
    )
    return Problem("crotch-fills", "note", says, where, round(site.width, 3), round(told, 3))


def strokes_meet(where: str, drawn: float) -> Problem:
    """Return the note on strokes of one letter that stand a hair apart as drawn and are cut as one."""
    says = f"Strokes {in_place(where)} stand {said(drawn)} apart as drawn and meet when cut; the letter stays the same."
    return Problem("strokes-meet", "note", says, where, round(drawn, 3))


def lid_lies_low(depth: float, flatness: float, thinnest: NarrowPlace | None = None, where: str = "") -> Problem:
    """Return the look for a cut so shallow that the bit stays above a lid that lies low; thinnest: where only there."""
    if thinnest is None:
        says = (
            f"The cut is {said(depth)} deep and the lid may lie {said(flatness)} low: there the cutter would not "
            "touch the wood. Plane or clamp the lid flat, probe it, or cut deeper."
        )
    else:
        only = f"only {said(depth)} deep" if depth > 0.005 else "hardly at all"
        says = (
            f"The thinnest strokes ({said(thinnest.width)}, {in_place(where)}) are cut {only}, and the lid may "
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
