"""The cutting check: one piece, one tool, one wood."""

from __future__ import annotations

from engrave.cutting.effect import NOTHING_CUT
from engrave.cutting.fitness import Fitness
from engrave.cutting.judge.case import as_cut, case_of
from engrave.cutting.judge.lid_flatness import judge_flatness
from engrave.cutting.judge.meeting_strokes import without_meeting
from engrave.cutting.judge.stroke_verdicts import (
    groove_weight,
    judge_strokes,
    note_specks,
    stroke_range,
    thinnest_stroke,
)
from engrave.cutting.judge.wood_verdicts import judge_webs, note_crotch
from engrave.cutting.measure import KeptMeasures
from engrave.cutting.measure.narrow_places import WIDTH_DECIMALS
from engrave.cutting.messages.phrasing import least_stroke, least_web
from engrave.setting.lettering import Lettering
from engrave.shop.models import Lid, Wood
from engrave.tasks import Tool


def check(lettering: Lettering, tool: Tool, wood: Wood, lid: Lid, measures: KeptMeasures) -> Fitness:
    """Tell whether the tool can make this lettering in this wood on this lid, where not, and what will be left."""
    case = case_of(lettering, tool, wood, lid, measures)
    if case is None:
        return Fitness(None, None, None, NOTHING_CUT, (), ())
    left = as_cut(case, measures.cache)
    webs, meeting = without_meeting(case, case.webs())
    strokes, stroke_problems = judge_strokes(case, left)
    thin_webs, web_problems = judge_webs(case, webs)
    cupped = judge_flatness(case, lid.flatness, webs)
    problems = [
        *stroke_problems,
        *web_problems,
        *meeting,
        *groove_weight(case, wood),
        *(problem for problem, _ in cupped),
        *note_specks(case),
    ]
    if not any(p.level == "hold" for p in web_problems):
        problems += note_crotch(case, measures)
    weak = [
        *(case.spot(s, s.width, "stroke", least_stroke(s, tool, case.burns)) for s in strokes),
        *(case.spot(s, w, "web", least_web(g)) for s, w, g in thin_webs),
        *(case.spot(s, w, kind, needs) for _, places in cupped for s, w, kind, needs in places),
    ]
    web = min(webs, key=lambda w: round(w[1], WIDTH_DECIMALS), default=None)
    return Fitness(
        stroke=thinnest_stroke(case),
        web=case.spot(web[0], max(0.0, web[1]), "web") if web else None,
        stroke_range=stroke_range(case, lid.flatness),
        left=left,
        thin_places=tuple(thin_webs),
        weak=tuple(weak),
        problems=tuple(problems),
    )
