"""The sentences of the cutting check: each finding with its figure, its place, its limit and what would help."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.cutting import criteria
from engrave.cutting.fitness import Kind
from engrave.cutting.judge.cupping import RIDGE, changes, floor_step, vee_depth
from engrave.cutting.judge.webs import mark_of
from engrave.cutting.measure.narrow_places import Site
from engrave.cutting.messages.naming import Names
from engrave.problems import Problem
from engrave.setting.lettering import Lettering
from engrave.tasks import Tool
from engrave.tasks.choosing import midway

Cupped = tuple[Problem, tuple[tuple[Site, float, Kind, str], ...]]
"""A finding on a lid that cups, and its places: site, width in mm, what is so wide, and what it is held against."""


def said(mm: float) -> str:
    """Return a length as it is said to people: hundredths below one mm, tenths above ten."""
    return f"{mm:.1f} mm" if mm >= 10.0 else f"{mm:.2f} mm"


def under(mm: float, limit: float) -> str:
    """Return a length below a limit as it is said: 'just under 0.70 mm' where both would read alike."""
    return f"just under {said(limit)}" if said(mm) == said(limit) else said(mm)


def place_of(site: Site, names: Names) -> str:
    """Return the name of a narrow place: in a letter, or between two."""
    if len(site.marks) == 2 and site.marks[0] != site.marks[1]:
        return names.between(site.marks[0], site.marks[1])
    return names.letter(site.marks[0]) if site.marks else ""


def least_stroke(site: Site, tool: Tool, burns: bool) -> str:
    """Return what a stroke is held against, in a few words for a picture."""
    return f"the mark is {said(mark_of(tool).at(site.axis))}" if burns else f"the bit cuts {said(tool.diameter)}"


def least_web(least: float) -> str:
    """Return what wood left standing is held against, in a few words for a picture."""
    return f"it needs {said(least)}"


def _in(where: str) -> str:
    return where if where.startswith("between") else f"in {where}"


def cannot_make(failure: str, where: str, thinnest: float, tool: Tool) -> Problem:
    """Return the hold for letters that a bit cannot make: parts vanish, break, or lose more than their corners."""
    what = {
        "vanishes": "it would not be cut at all",
        "breaks": "it would come out in pieces",
        "loses": "more than its corners would be left uncut",
    }[failure]
    says = (
        f"The {midway(tool.cutter.title)} cuts nothing narrower than {said(tool.diameter)}, but the lettering has strokes of "
        f"{under(thinnest, tool.diameter)}: {_in(where)} {what}. A finer cutter, larger letters, or a typeface with sturdier strokes "
        "would help."
    )
    return Problem("stroke-too-thin", "hold", says, where, round(thinnest, 3), round(tool.diameter, 3))


def short_join(site: Site, where: str, tool: Tool) -> Problem:
    """Return the look for a short place narrower than the bit, where nothing breaks."""
    says = (
        f"A short join {_in(where)} is {under(site.width, tool.diameter)} wide, narrower than the {midway(tool.cutter.title)} "
        f"({said(tool.diameter)}). The letter holds together; look at the picture whether it still looks right."
    )
    return Problem("short-join-narrow", "look", says, where, round(site.width, 3), round(tool.diameter, 3))


def web_too_thin(left: float, least: float, site: Site, where: str, grain_word: str) -> Problem:
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


def fills(site: Site, width: float, where: str) -> Problem:
    """Return the hold for a counter or gap that disappears under the groove or the mark."""
    what = f"The loop of {where}" if site.closed else f"The gap {_in(where)}"
    says = (
        f"{what} is {said(site.width)} wide and fills up: the cutter leaves {said(width)}. Larger letters, a finer "
        "groove or another typeface would help."
    )
    return Problem("loop-fills", "hold", says, where, round(site.width, 3), round(width, 3))


def under_depth(left: float, site: Site, where: str, half_depth: float) -> Problem:
    """Return the hold for a wall too thin for its height."""
    says = (
        f"The wood left {_in(where)} is {under(left, half_depth)} thick beside a cut {said(2.0 * half_depth)} deep; a "
        "wall under half as thick as it is high breaks at the first knock. Cut shallower, or set it larger."
    )
    return Problem("web-under-depth", "hold", says, where, round(left, 3), round(half_depth, 3))


def burnt_wider(site: Site, where: str, mark: float) -> Problem:
    """Return the look for strokes finer than a beam's mark: they are not lost but burnt as wide as the mark."""
    says = (
        f"Strokes down to {under(site.width, mark)} ({_in(where)}) are finer than the beam's mark of {said(mark)}: they are "
        "burnt wider than drawn and often paler. Larger letters or a sturdier typeface keep the drawn look."
    )
    return Problem("burnt-wider", "look", says, where, round(site.width, 3), round(mark, 3))


def finer_than_rows(site: Site, where: str, pitch: float) -> Problem:
    """Return the look for detail that may fall between two raster rows."""
    says = (
        f"Detail of {under(site.width, pitch)} ({_in(where)}) is finer than the rows of the raster, {said(pitch)} apart, and "
        "may fall between two of them. A finer row pitch would show it."
    )
    return Problem("finer-than-rows", "look", says, where, round(site.width, 3), round(pitch, 3))


def under_test_piece(site: Site, where: str, least: float) -> Problem:
    """Return the look for strokes thinner than the thinnest bar that came out well on the shop's own test piece."""
    says = (
        f"Strokes of {said(site.width)} ({_in(where)}) are thinner than the thinnest bar that came out well on your "
        f"test piece, {said(least)}. Larger letters or a sturdier typeface would help."
    )
    return Problem("under-test-piece", "look", says, where, round(site.width, 3), round(least, 3))


def groove_weight(lettering: Lettering, groove: float, is_beam: bool) -> list[Problem]:
    """Return findings on lines whose groove is too light or too heavy for their height, the worst of each."""
    lines = [line for line in lettering.lines if line.cap_mm > 0.0 and line.text.strip()]
    if not lines or groove <= 0.0:
        return []
    found = []
    tallest, smallest = max(lines, key=lambda x: x.cap_mm), min(lines, key=lambda x: x.cap_mm)
    level = "note" if is_beam else "look"
    if groove / tallest.cap_mm < criteria.GROOVE_LIGHT * (1.0 - 1e-9):
        least = tallest.cap_mm * criteria.GROOVE_LIGHT
        advice = (
            "Run two or three lines side by side, or take a typeface with body."
            if is_beam
            else "A deeper or wider groove, smaller letters, or a typeface with body would read better."
        )
        says = (
            f"A groove of {said(groove)} is light for letters {said(tallest.cap_mm)} high: lettering standards draw "
            f"them with at least a fourteenth of their height, {said(least)}. {advice}"
        )
        found.append(Problem("groove-light", level, says, tallest.field, round(groove, 3), round(least, 3)))  # type: ignore[arg-type]
    if groove / smallest.cap_mm > criteria.GROOVE_HEAVY * (1.0 + 1e-9):
        most = smallest.cap_mm * criteria.GROOVE_HEAVY
        says = (
            f"A groove of {said(groove)} is heavy for letters {said(smallest.cap_mm)} high: above a sixth of their "
            f"height, {said(most)}, they clog. A finer or shallower cut, or larger letters, would read better."
        )
        found.append(Problem("groove-heavy", level, says, smallest.field, round(groove, 3), round(most, 3)))  # type: ignore[arg-type]
    return found


def specks(count: int, where: str) -> Problem:
    """Return the note on specks in the drawing."""
    says = (
        f"{'A speck' if count == 1 else f'{count} specks'} in the typeface's drawing ({_in(where)}) will not show; "
        "nothing is decided by it."
    )
    return Problem("specks", "note", says, where, count, None)


def crotch_fills(site: Site, where: str, least: float, told: float) -> Problem:
    """Return the note on how far the sharpest crotch fills (the site's width). told: mm from which it is worth saying."""
    says = (
        f"The sharp crotch {_in(where)} fills {said(site.width)} from its tip: there less than {said(least)} of wood "
        "would be left between its strokes. Nothing breaks; it only looks blunter than drawn, and less so in larger letters."
    )
    return Problem("crotch-fills", "note", says, where, round(site.width, 3), round(told, 3))


def too_wide_for_vee(widest: float, tool: Tool, most: float) -> Problem:
    """Return the look for strokes wider than a V-bit can cut at its deepest."""
    says = (
        f"Strokes up to {said(widest)} wide are wider than the {midway(tool.cutter.title)} cuts at {said(tool.depth)} deep "
        f"({said(most)}): their floor is flat there, cleared in rounds {said(floor_step(tool.cutter))} apart that leave ridges up to "
        f"{said(RIDGE)} high; the time counts them. "
        "Smaller letters, a wider angle or clearing with an end mill would help."
    )
    return Problem("wide-for-vee", "look", says, "", round(widest, 3), round(most, 3))


def flatness_problems(
    tool: Tool, flatness: float, groove: float, webs: Sequence[tuple[Site, float, float]], names: Names,
    thinnest: Site | None,
) -> list[Cupped]:  # fmt: skip
    """Return what the lid's cupping may spoil although it passes where the face is true, and the places.

    webs: site, wood left and least web, mm. thinnest: the thinnest stroke of letters with a body.
    """
    if flatness <= 0.0 or tool.cutter.is_beam:  # a beam reaches down; its focus is the machine's matter
        return []
    return [*_misses(tool, flatness, thinnest, names), *_flatness_web(tool, flatness, groove, webs, names)]


def _misses(tool: Tool, flatness: float, thinnest: Site | None, names: Names) -> list[Cupped]:
    """Return the look for a cut so shallow that the bit stays above a lid that lies low."""
    if tool.method != "vee":
        if tool.depth > flatness:
            return []
        says = (
            f"The cut is {said(tool.depth)} deep and the lid may lie {said(flatness)} low: there the cutter would not "
            "touch the wood. Plane or clamp the lid flat, probe it, or cut deeper."
        )
        return [(Problem("flatness-misses", "look", says, "", round(tool.depth, 3), round(flatness, 3)), ())]
    if thinnest is None or (depth := vee_depth(tool.cutter, thinnest.width)) > flatness:
        return []
    where = place_of(thinnest, names)
    says = (
        f"The thinnest strokes ({said(thinnest.width)}, {_in(where)}) are cut only {said(depth)} deep, and the lid may "
        f"lie {said(flatness)} low: there they would be missed. Plane or clamp the lid flat, probe it, or set it larger."
    )
    problem = Problem("flatness-misses", "look", says, where, round(depth, 3), round(flatness, 3))
    return [(problem, ((thinnest, thinnest.width, "stroke", "missed where the lid lies low"),))]


def _flatness_web(
    tool: Tool, flatness: float, groove: float, webs: Sequence[tuple[Site, float, float]], names: Names
) -> list[Cupped]:
    """Return the look for wood that is thick enough only where the lid does not stand high."""
    growth = changes(tool, groove, flatness)[1]
    tight = [(site, left - growth, least) for site, left, least in webs if left >= least > left - growth]
    if not tight:
        return []
    tight.sort(key=lambda t: (t[1] / t[2], t[0].x, t[0].y))
    site, left, least = tight[0]
    where = place_of(site, names)
    says = (
        f"Where the lid stands {said(flatness)} high the cut widens by {said(growth)} and leaves "
        f"{under(max(0.0, left), least)} of wood {_in(where)}, under the {said(least)} it needs. Plane or clamp the lid "
        "flat, or set it larger."
    )
    problem = Problem("flatness-web", "look", says, where, round(max(0.0, left), 3), round(least, 3))
    return [(problem, tuple((s, w, "web", f"where it stands high; {least_web(g)}") for s, w, g in tight))]


def grain_words(axis: float | None, along: bool) -> str:
    """Return how a web lies to the grain, as the start of a clause."""
    if axis is None:
        return "as an island of wood"
    return "along the grain" if along else "across the grain"
