"""What is said of strokes: each finding with its figure, its place, its limit and what would help."""

from __future__ import annotations

from engrave.cutting import criteria
from engrave.cutting.effect.cupping import RIDGE_HEIGHT, floor_step
from engrave.cutting.measure.narrow_places import NarrowPlace
from engrave.cutting.messages.phrasing import in_place, said, under
from engrave.problems import Problem
from engrave.setting.lettering import Lettering, Line
from engrave.shop.models import Wood
from engrave.tasks import Tool
from engrave.tasks.choosing import midway


def cannot_make(failure: str, where: str, thinnest: float, tool: Tool) -> Problem:
    """Return the hold for letters that a bit cannot make: parts vanish, break, or lose more than their corners."""
    what = {
        "vanishes": "it would not be cut at all",
        "breaks": "it would come out in pieces",
        "loses": "more than its corners would be left uncut",
    }[failure]
    strokes = f"strokes of {under(thinnest, tool.diameter)}" if thinnest > 0.0 else "strokes finer than that"
    says = (
        f"The {midway(tool.cutter.title)} cuts nothing narrower than {said(tool.diameter)}, but the lettering has "
        f"{strokes}: {in_place(where)} {what}. A finer cutter, larger letters, or a typeface with sturdier strokes "
        "would help."
    )
    return Problem("stroke-too-thin", "hold", says, where, round(thinnest, 3), round(tool.diameter, 3))


def short_join(site: NarrowPlace, where: str, tool: Tool) -> Problem:
    """Return the look for a short place narrower than the bit, where nothing breaks."""
    says = (
        f"A short join {in_place(where)} is {under(site.width, tool.diameter)} wide, narrower than the {midway(tool.cutter.title)} "
        f"({said(tool.diameter)}). The letter holds together; look at the picture whether it still looks right."
    )
    return Problem("short-join-narrow", "look", says, where, round(site.width, 3), round(tool.diameter, 3))


def burnt_wider(site: NarrowPlace, where: str, mark: float) -> Problem:
    """Return the look for strokes finer than a beam's mark: they are not lost but burnt as wide as the mark."""
    says = (
        f"Strokes down to {under(site.width, mark)} ({in_place(where)}) are finer than the beam's mark of {said(mark)}: they are "
        "burnt wider than drawn and often paler. Larger letters or a sturdier typeface keep the drawn look."
    )
    return Problem("burnt-wider", "look", says, where, round(site.width, 3), round(mark, 3))


def finer_than_rows(site: NarrowPlace, where: str, pitch: float) -> Problem:
    """Return the look for detail that may fall between two raster rows."""
    says = (
        f"Detail of {under(site.width, pitch)} ({in_place(where)}) is finer than the rows of the raster, {said(pitch)} apart, and "
        "may fall between two of them. A finer row pitch would show it."
    )
    return Problem("finer-than-rows", "look", says, where, round(site.width, 3), round(pitch, 3))


def under_test_piece(site: NarrowPlace, where: str, least: float) -> Problem:
    """Return the look for strokes thinner than the thinnest bar that came out well on the shop's own test piece."""
    says = (
        f"Strokes of {said(site.width)} ({in_place(where)}) are thinner than the thinnest bar that came out well on your "
        f"test piece, {said(least)}. Larger letters or a sturdier typeface would help."
    )
    return Problem("under-test-piece", "look", says, where, round(site.width, 3), round(least, 3))


def groove_weight(lettering: Lettering, groove: float, contrast: float, wood: Wood) -> list[Problem]:
    """Return findings on lines too light or too heavy for their height, the worst of each.

    groove: mm that plain lines are wide; contrast: of mark and wood, as a ratio to 1.
    """
    lines = [line for line in lettering.lines if line.cap_mm > 0.0 and line.text.strip()]
    if not lines or groove <= 0.0:
        return []
    found = []
    lightest = min(lines, key=lambda x: (x.weight or groove) / x.cap_mm)
    heaviest = max(lines, key=lambda x: (x.weight or groove) / x.cap_mm)
    if (lightest.weight or groove) / lightest.cap_mm < criteria.GROOVE_LIGHT * (1.0 - LEAST_DIFFERENCE):
        found.append(_light(lightest, lightest.weight or groove, contrast, wood))
    if (heaviest.weight or groove) / heaviest.cap_mm > criteria.GROOVE_HEAVY * (1.0 + LEAST_DIFFERENCE):
        found.append(_heavy(heaviest, heaviest.weight or groove))
    return found


LEAST_DIFFERENCE = 1e-6
"""Share by which a line's weight may miss a limit by rounding."""


def _light(line: Line, wide: float, contrast: float, wood: Wood) -> Problem:
    """Return the finding on fine lines: a look where they stand out little from the wood."""
    least = line.cap_mm * criteria.GROOVE_LIGHT
    says = (
        f"Lines {said(wide)} wide are light for letters {said(line.cap_mm)} high: lettering standards draw "
        f"them with at least a fourteenth of their height, {said(least)}. "
    )
    pale = contrast < criteria.LEAST_CONTRAST
    if pale:
        says += (
            f"On {midway(wood.title)} they stand out by {contrast:.1f} to 1 only, and fine lines want "
            f"{criteria.LEAST_CONTRAST:g} to 1. "
        )
    says += "Give the lines a weight (line_weight), or take a wider groove, smaller letters or a typeface with body."
    return Problem("groove-light", "look" if pale else "note", says, line.field, round(wide, 3), round(least, 3))


def _heavy(line: Line, wide: float) -> Problem:
    most = line.cap_mm * criteria.GROOVE_HEAVY
    says = (
        f"A groove of {said(wide)} is heavy for letters {said(line.cap_mm)} high: above a sixth of their "
        f"height, {said(most)}, they clog. A finer or shallower cut, or larger letters, would read better."
    )
    return Problem("groove-heavy", "note" if line.weight else "look", says, line.field, round(wide, 3), round(most, 3))


def specks(count: int, where: str) -> Problem:
    """Return the note on specks in the drawing."""
    says = (
        f"{'A speck' if count == 1 else f'{count} specks'} in the typeface's drawing ({in_place(where)}) will not show; "
        "nothing is decided by it."
    )
    return Problem("specks", "note", says, where, count, None)


def too_wide_for_vee(widest: float, tool: Tool, most: float) -> Problem:
    """Return the look for strokes wider than a V-bit can cut at its deepest."""
    says = (
        f"Strokes up to {said(widest)} wide are wider than the {midway(tool.cutter.title)} cuts at {said(tool.depth)} deep "
        f"({said(most)}). Their floor is flat there, cleared in rounds {said(floor_step(tool.cutter))} apart that leave ridges up to "
        f"{said(RIDGE_HEIGHT)} high; the time counts them. "
        "Smaller letters, a wider angle or clearing with an end mill would help."
    )
    return Problem("wide-for-vee", "look", says, "", round(widest, 3), round(most, 3))
