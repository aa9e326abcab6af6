"""Whether the wood between cuts stands: what fills up, what is thinner than this wood bears, and crotches that fill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.cutting import criteria
from engrave.cutting.effect.thin_wood import Web
from engrave.cutting.judge.case import Case
from engrave.cutting.judge.wood_limits import least_by_height, runs_along, wall_slope
from engrave.cutting.measure import Component, KeptMeasures, NarrowPlace
from engrave.cutting.measure.crotch import Crotch, filled_at
from engrave.cutting.measure.narrow_places import crotch_place, crotches_of
from engrave.cutting.messages import wood_messages as messages
from engrave.cutting.messages.phrasing import grain_words
from engrave.problems import Problem


def judge_webs(case: Case, webs: Sequence[Web]) -> tuple[list[Web], list[Problem]]:
    """Return the webs below a limit, and one finding of each kind: at the place that lacks most."""
    filled, thin, walls = _by_what_lacks(case, webs)
    problems: list[Problem] = []
    if filled:
        place = filled[0][0]
        problems.append(messages.fills(place, case.closing.at(place.axis), case.where(place)))
    if thin:
        place, left, least = thin[0]
        words = grain_words(place.axis, runs_along(place.axis, case.limit.grain))
        told = messages.web_too_thin(
            left, least, place, case.where(place), words, _why(case, least), case.limit.tried(place)
        )
        problems.append(told)
    if walls:
        place, left, least = walls[0]
        tried = case.limit.height_share < criteria.WEB_OF_DEPTH
        problems.append(messages.under_depth(left, least, _depth(case, place), case.where(place), tried))
    return sorted((*filled, *thin, *walls), key=_lack), problems


def _by_what_lacks(case: Case, webs: Sequence[Web]) -> tuple[list[Web], list[Web], list[Web]]:
    """Return the webs that fill up, those thinner than the wood bears, and walls under half their height, worst first."""
    short = 1.0 - 1e-9
    filled = [w for w in webs if w[1] <= 0.0]
    thin = [w for w in webs if 0.0 < w[1] < w[2] * short]
    # how high a wall is need only be known where it might be too high
    maybe = [(p, left) for p, left, least in webs if least * short <= left < case.limit.by_height * short]
    walls = [(p, left, least) for p, left in maybe if left < (least := _by_height(case, p)) * short]
    return sorted(filled, key=_lack), sorted(thin, key=_lack), sorted(walls, key=_lack)


def _lack(web: Web) -> float:
    """Return the share of what a web needs that is left."""
    return web[1] / web[2]


def _by_height(case: Case, place: NarrowPlace) -> float:
    """Return how thick the wall at a place must be for its height, mm."""
    return least_by_height(_depth(case, place), wall_slope(case.tool), case.limit.height_share)


def _depth(case: Case, place: NarrowPlace) -> float:
    """Return how deep the cut beside a place is, mm: a V-cut is as deep as the stroke there is wide."""
    return case.walls.depths_beside(place)[1] if case.tool.method == "vee" else case.tool.depth


def _why(case: Case, least: float) -> messages.Reason:
    """Return what becomes of wood thinner than its least: on a test piece some stay clean and break out all the same."""
    if case.limit.slope:
        return "breaks-below"
    clean = case.tool.recipe.web_clean
    return "chars" if case.limit.shown and (clean is None or least <= clean) else "breaks-out"


def note_crotch(case: Case, measures: KeptMeasures) -> list[Problem]:
    """Return the note on the crotch that fills for longest, where that is worth a word."""
    found = [(fill, part) for part in case.parts if (fill := _filling(case, part, measures)) is not None]
    told = [(fill, part) for fill, part in found if fill.length > criteria.CROTCH_TOLD]
    if not told:
        return []
    fill, part = max(told, key=lambda f: f[0].length * f[1].cap_mm)
    place = crotch_place(fill, part, case.lettering, case.as_lines, measures.cache)
    least = fill.width * part.cap_mm - case.closing.at(place.axis)
    return [messages.crotch_fills(place, case.where(place), least, criteria.CROTCH_TOLD * part.cap_mm)]


def _filling(case: Case, part: Component, measures: KeptMeasures) -> Crotch | None:
    """Return how far a part's sharpest crotch fills, from its tip as drawn: of single lines as their groove draws it.

    Half the depth is not asked for: a wedge stands on its broad end, and the cut beside its tip is seldom deepest.
    """
    found = crotches_of(part, case.as_lines, measures)
    most = max(case.closing.x, case.closing.y) + max(case.limit.along, case.limit.across)
    fill = filled_at(found, most / part.cap_mm)
    if fill is None or fill.length <= criteria.CROTCH_TOLD:
        return None
    place = crotch_place(fill, part, case.lettering, case.as_lines, measures.cache)
    closing = case.closing.at(place.axis)
    fill = filled_at(found, (closing + case.limit.least(place)) / part.cap_mm)
    drawn = filled_at(found, closing / part.cap_mm) if case.as_lines else None
    return fill if fill is None or drawn is None else replace(fill, length=max(0.0, fill.length - drawn.length))
