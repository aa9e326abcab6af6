"""The cutting check: one piece, one tool, one wood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import GeometryCollection

from engrave.cutting import criteria
from engrave.cutting.fitness import Fitness, Kind, Spot
from engrave.cutting.judge.cupping import changes, extremes, vee_depth, widest_vee
from engrave.cutting.judge.residual import Left, as_bit, as_grown
from engrave.cutting.judge.thin_wood import thin_wood
from engrave.cutting.judge.walls import depth_beside
from engrave.cutting.judge.webs import Closing, WebLimits, closing_of, mark_of, runs_along, web_limits
from engrave.cutting.measure.components import Body, bodies
from engrave.cutting.measure.crotch import Crotch, filled
from engrave.cutting.measure.kept import Measures
from engrave.cutting.measure.narrow_places import EQUAL, Site, Sites, crotch_site, crotches_of, gather
from engrave.cutting.messages import findings
from engrave.cutting.messages.naming import Names
from engrave.problems import Problem
from engrave.setting.lettering import Lettering
from engrave.shop.models import Lid, Wood
from engrave.tasks import Tool

SAME_BAR = 0.01
"""Share by which a bar's narrowest run and its largest circle may differ: as far as either is measured."""


Web = tuple[Site, float, float]
"""A narrow place of the wood, what is left of it in mm, and what it needs."""


@dataclass(frozen=True, slots=True)
class _Case:
    """What is checked: the lettering's bodies and narrow places, with the tool's effect and the wood's limits."""

    lettering: Lettering
    tool: Tool
    as_lines: bool
    groove: float
    parts: tuple[Body, ...]
    sites: Sites
    names: Names
    closing: Closing
    limit: WebLimits

    @property
    def burns(self) -> bool:
        """Whether a beam burns the outline as drawn, spot-wide, instead of clearing it from within."""
        return self.tool.cutter.is_beam and not self.as_lines and not self.tool.recipe.inset


def check(lettering: Lettering, tool: Tool, wood: Wood, lid: Lid, measures: Measures) -> Fitness:
    """Tell whether the tool can make this lettering in this wood on this lid, where not, and what will be left."""
    as_lines = lettering.kind == "single-line" or tool.method == "follow"
    parts = bodies(lettering, as_lines)
    if not parts:
        nothing = GeometryCollection()
        return Fitness(None, None, None, nothing, nothing, nothing, ())
    case = _case(lettering, tool, wood, lid, parts, as_lines, measures)
    left = _left(case)
    webs = _webs(case)
    strokes, stroke_problems = _judge_strokes(case, left)
    thinnest_webs, web_problems = _judge_webs(case, webs)
    thin = thin_wood(left.cut, thinnest_webs)
    span = _span(case, lid.flatness)
    cupped = findings.flatness_problems(tool, lid.flatness, case.groove, webs, case.names, _first(case))
    problems = [
        *stroke_problems,
        *web_problems,
        *_weight(case),
        *(problem for problem, _ in cupped),
        *_notes(case),
    ]
    if not any(p.level == "hold" for p in web_problems):
        problems += _crotch(case, measures)
    measures.save()
    weak = [
        *(_spot(s, s.width, case, "stroke", findings.least_stroke(s, tool, case.burns)) for s in strokes),
        *(_spot(s, w, case, "web", findings.least_web(g)) for s, w, g in thinnest_webs),
        *(_spot(s, w, case, kind, needs) for _, places in cupped for s, w, kind, needs in places),
    ]
    web = min(webs, key=lambda w: round(w[1], EQUAL), default=None)
    return Fitness(
        stroke=_thinnest(case),
        web=_spot(web[0], max(0.0, web[1]), case, "web") if web else None,
        stroke_range=span,
        cut=left.cut,
        lost=left.lost,
        thin=thin,
        weak=tuple(weak),
        problems=tuple(problems),
    )


def _case(
    lettering: Lettering, tool: Tool, wood: Wood, lid: Lid, parts: tuple[Body, ...], as_lines: bool, measures: Measures
) -> _Case:
    groove = lettering.groove or tool.groove
    closing = closing_of(tool, as_lines, groove)
    limit = web_limits(tool, wood, lid.grain, tool.depth)
    reach = max(limit.along, limit.across, limit.half_depth) + max(closing.x, closing.y)
    sites = gather(lettering, parts, as_lines, measures, reach)
    if tool.method == "vee":
        # a wall is as high as the stroke beside it is deep, not as the tool's deepest
        limit = web_limits(tool, wood, lid.grain, min(tool.depth, vee_depth(tool.cutter, sites.widest)))
    return _Case(lettering, tool, as_lines, groove, parts, sites, Names(lettering), closing, limit)


def _left(case: _Case) -> Left:
    if case.as_lines or case.burns:
        return as_grown(case.parts, case.closing)
    return as_bit(case.parts, case.tool.diameter)


def _webs(case: _Case) -> list[Web]:
    """Return for each narrow place of the wood: the site, what is left of it, and the least that its wood needs."""
    return [(s, s.width - case.closing.at(s.axis), case.limit.least(s)) for s in case.sites.webs]


def _first(case: _Case) -> Site | None:
    return case.sites.strokes[0] if case.sites.strokes else None


def _spot(site: Site, width: float, case: _Case, kind: Kind = "stroke", needs: str = "") -> Spot:
    text = "".join(case.lettering.marks[m].text for m in dict.fromkeys(site.marks))
    return Spot(site.x, site.y, text, width, kind, needs)


def _thinnest(case: _Case) -> Spot | None:
    """Return the thinnest stroke; of single lines the groove, at the first letter."""
    first = _first(case)
    if first is not None:
        return _spot(first, first.width, case)
    if not case.as_lines:
        return None
    body = case.parts[0]
    x, y = body.on_lid.geoms[0].coords[0]
    return Spot(float(x), float(y), case.lettering.marks[body.marks[0]].text, case.groove)


def _span(case: _Case, flatness: float) -> tuple[float, float] | None:
    """Return the thinnest stroke's width where the lid lies low and where it stands high."""
    if case.as_lines:
        return extremes(case.tool, case.groove, flatness)
    first = _first(case)
    if first is None:
        return None
    low, high = changes(case.tool, case.tool.groove, flatness)
    missed = case.tool.method != "vee" and low >= case.tool.groove > 0.0
    return (0.0 if missed else max(0.0, first.width - low), first.width + high)


def _judge_strokes(case: _Case, left: Left) -> tuple[list[Site], list[Problem]]:
    """Return the strokes below the tool's limit, and what is to be said of them."""
    if case.as_lines:
        return [], []
    if case.burns:
        return _judge_burnt(case)
    tool, strokes = case.tool, case.sites.strokes
    under = [s for s in strokes if s.width < tool.diameter * (1.0 - criteria.EQUAL)]
    problems: list[Problem] = []
    if left.failures:
        problems.append(_failed(case, left, under))
    elif under:
        problems.append(findings.short_join(under[0], findings.place_of(under[0], case.names), tool))
    if tool.method == "vee" and case.sites.widest > (most := widest_vee(tool)) * (1.0 + criteria.EQUAL):
        problems.append(findings.too_wide_for_vee(case.sites.widest, tool, most))
    return under, problems + _under_test_piece(case)


def _failed(case: _Case, left: Left, under: Sequence[Site]) -> Problem:
    """Return the hold for a failed opening, at the thinnest stroke of the bodies that failed."""
    failing = {m for body, _ in left.failures for m in body.marks}
    own = [s for s in under if s.marks[0] in failing] or [s for s in case.sites.strokes if s.marks[0] in failing]
    body, failure = left.failures[0]
    if own:
        worst = own[0]
        kind = next((f for b, f in left.failures if worst.marks[0] in b.marks), failure)
        return findings.cannot_make(kind, findings.place_of(worst, case.names), worst.width, case.tool)
    return findings.cannot_make(failure, case.names.letter(body.marks[0]), 0.0, case.tool)


def _judge_burnt(case: _Case) -> tuple[list[Site], list[Problem]]:
    mark = mark_of(case.tool)
    fine = [s for s in case.sites.strokes if s.width < max(mark.x, mark.y)]
    under = [s for s in _directed(fine) if s.width < mark.at(s.axis) * (1.0 - criteria.EQUAL)]
    problems = []
    if under:
        worst = under[0]
        problems.append(findings.burnt_wider(worst, findings.place_of(worst, case.names), mark.at(worst.axis)))
    return under, problems + _rows(case) + _under_test_piece(case)


def _directed(strokes: Sequence[Site]) -> list[Site]:
    """Leave out a part's largest circle where a run of that letter, no wider or narrower, says how the part lies.

    Without a direction a bar would be held against the longer side of an oblong mark, whichever way it runs.
    """
    runs = [s for s in strokes if s.axis is not None]
    return [
        s for s in strokes
        if s.axis is not None
        or not any(r.marks == s.marks and abs(r.width - s.width) <= SAME_BAR * s.width for r in runs)
    ]  # fmt: skip


def _rows(case: _Case) -> list[Problem]:
    """Return the look for detail that may fall between raster rows."""
    pitch = case.tool.recipe.row_pitch
    if case.tool.method != "raster" or pitch <= 0.0:
        return []
    fine = [s for s in case.sites.strokes if s.width < pitch]
    return [findings.finer_than_rows(fine[0], findings.place_of(fine[0], case.names), pitch)] if fine else []


def _under_test_piece(case: _Case) -> list[Problem]:
    least = case.tool.recipe.least_stroke
    first = _first(case)
    if least is None or first is None or first.width >= least:
        return []
    return [findings.under_test_piece(first, findings.place_of(first, case.names), least)]


def _judge_webs(case: _Case, webs: Sequence[Web]) -> tuple[list[Web], list[Problem]]:
    """Return the webs below a limit, and one finding of each kind: at the place that lacks most."""
    filled, thin, walls = _by_what_lacks(case, webs)
    problems: list[Problem] = []
    if filled:
        site = filled[0][0]
        problems.append(findings.fills(site, case.closing.at(site.axis), findings.place_of(site, case.names)))
    if thin:
        site, left, least = thin[0]
        words = findings.grain_words(site.axis, runs_along(site.axis, case.limit.grain))
        problems.append(findings.web_too_thin(left, least, site, findings.place_of(site, case.names), words))
    if walls:
        site, left, half_depth = walls[0]
        problems.append(findings.under_depth(left, site, findings.place_of(site, case.names), half_depth))
    return sorted((*filled, *thin, *walls), key=_lack), problems


def _by_what_lacks(case: _Case, webs: Sequence[Web]) -> tuple[list[Web], list[Web], list[Web]]:
    """Return the webs that fill up, those thinner than the wood bears, and walls under half their height, worst first."""
    short = 1.0 - 1e-9
    filled = [w for w in webs if w[1] <= 0.0]
    thin = [w for w in webs if 0.0 < w[1] < w[2] * short]
    # how high a wall is need only be known where it might be too high
    maybe = [(s, left) for s, left, least in webs if least * short <= left < case.limit.half_depth * short]
    walls = [(s, left, half) for s, left in maybe if left < (half := _half_depth(case, s)) * short]
    return sorted(filled, key=_lack), sorted(thin, key=_lack), sorted(walls, key=_lack)


def _lack(web: Web) -> float:
    """Return the share of what a web needs that is left."""
    return web[1] / web[2]


def _half_depth(case: _Case, site: Site) -> float:
    """Return half the height of the wall at a place, mm: of a V-cut as deep as the stroke beside it is wide."""
    if case.tool.method != "vee":
        return case.limit.half_depth
    return criteria.WEB_OF_DEPTH * depth_beside(site, case.parts, case.tool)


def _weight(case: _Case) -> list[Problem]:
    if not case.as_lines or case.lettering.kind != "single-line":
        return []
    return findings.groove_weight(case.lettering, case.groove, case.tool.cutter.is_beam)


def _notes(case: _Case) -> list[Problem]:
    found = case.sites.specks
    if not found:
        return []
    return [findings.specks(len(found), findings.place_of(found[0], case.names))]


def _crotch(case: _Case, measures: Measures) -> list[Problem]:
    """Return the note on the crotch that fills for longest, where that is worth a word."""
    found = [(fill, body) for body in case.parts if (fill := _filling(case, body, measures)) is not None]
    told = [(fill, body) for fill, body in found if fill.length > criteria.CROTCH_TOLD]
    if not told:
        return []
    fill, body = max(told, key=lambda f: f[0].length * f[1].cap_mm)
    site = crotch_site(fill, body, case.lettering, case.as_lines)
    least = fill.width * body.cap_mm - case.closing.at(site.axis)
    return [findings.crotch_fills(site, findings.place_of(site, case.names), least, criteria.CROTCH_TOLD * body.cap_mm)]


def _filling(case: _Case, body: Body, measures: Measures) -> Crotch | None:
    """Return how far a body's sharpest crotch fills, from its tip as drawn: of single lines as their groove draws it.

    Half the depth is not asked for: a wedge stands on its broad end, and the cut beside its tip is seldom deepest.
    """
    found = crotches_of(body, case.as_lines, measures)
    most = max(case.closing.x, case.closing.y) + max(case.limit.along, case.limit.across)
    fill = filled(found, most / body.cap_mm)
    if fill is None or fill.length <= criteria.CROTCH_TOLD:
        return None
    site = crotch_site(fill, body, case.lettering, case.as_lines)
    closing = case.closing.at(site.axis)
    fill = filled(found, (closing + case.limit.least(site)) / body.cap_mm)
    drawn = filled(found, closing / body.cap_mm) if case.as_lines else None
    return fill if fill is None or drawn is None else replace(fill, length=max(0.0, fill.length - drawn.length))
