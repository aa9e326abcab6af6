"""Whether the tool makes the strokes: what vanishes, breaks or is lost, what is burnt wider, what is light or heavy."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.cutting import criteria
from engrave.cutting.effect import AsCut, contrast_of, mark_closing
from engrave.cutting.effect.cupping import groove_extremes, widest_vee, width_changes
from engrave.cutting.fitness import Spot
from engrave.cutting.judge.case import Case
from engrave.cutting.measure import NarrowPlace
from engrave.cutting.messages import stroke_messages as messages
from engrave.problems import Problem
from engrave.shop.models import Wood

SAME_BAR_WIDTH = 0.01
"""Share by which a bar's narrowest run and its largest circle may differ: as far as either is measured."""


def thinnest_stroke(case: Case) -> Spot | None:
    """Return the thinnest stroke; of single lines the groove, at the first letter."""
    first = case.first_stroke
    if first is not None:
        return case.spot(first, first.width)
    if not case.as_lines:
        return None
    part = case.parts[0]
    x, y = part.on_lid.geoms[0].coords[0]
    return Spot(float(x), float(y), case.lettering.marks[part.marks[0]].text, case.groove)


def stroke_range(case: Case, flatness: float) -> tuple[float, float] | None:
    """Return the thinnest stroke's width where the lid lies low and where it stands high."""
    if case.as_lines:
        return groove_extremes(case.tool, case.groove, flatness)
    first = case.first_stroke
    if first is None:
        return None
    low, high = width_changes(case.tool, case.tool.groove, flatness)
    missed = case.tool.method != "vee" and low >= case.tool.groove > 0.0
    return (0.0 if missed else max(0.0, first.width - low), first.width + high)


def judge_strokes(case: Case, left: AsCut) -> tuple[list[NarrowPlace], list[Problem]]:
    """Return the strokes below the tool's limit, and what is to be said of them."""
    if case.as_lines:
        return [], []
    if case.burns:
        return _judge_burnt(case)
    tool, strokes = case.tool, case.places.strokes
    thin = [s for s in strokes if s.width < tool.diameter * (1.0 - criteria.EQUAL_STROKE)]
    problems: list[Problem] = []
    if left.failures:
        problems.append(_failed(case, left, thin))
    elif thin:
        problems.append(messages.short_join(thin[0], case.where(thin[0]), tool))
    if tool.method == "vee" and case.places.widest > (most := widest_vee(tool)) * (1.0 + criteria.EQUAL_STROKE):
        problems.append(messages.too_wide_for_vee(case.places.widest, tool, most))
    return thin, problems + _under_test_piece(case)


def _failed(case: Case, left: AsCut, thin: Sequence[NarrowPlace]) -> Problem:
    """Return the hold for a failed opening, at the thinnest stroke of the parts that failed."""
    failing = {m for part, _ in left.failures for m in part.marks}
    own = [s for s in thin if s.marks[0] in failing] or [s for s in case.places.strokes if s.marks[0] in failing]
    part, failure = left.failures[0]
    if own:
        worst = own[0]
        kind = next((f for p, f in left.failures if worst.marks[0] in p.marks), failure)
        return messages.cannot_make(kind, case.where(worst), worst.width, case.tool)
    return messages.cannot_make(failure, case.names.letter(part.marks[0]), 0.0, case.tool)


def _judge_burnt(case: Case) -> tuple[list[NarrowPlace], list[Problem]]:
    mark = mark_closing(case.tool)
    fine = [s for s in case.places.strokes if s.width < max(mark.x, mark.y)]
    thin = [s for s in _directed(fine) if s.width < mark.at(s.axis) * (1.0 - criteria.EQUAL_STROKE)]
    problems = []
    if thin:
        worst = thin[0]
        problems.append(messages.burnt_wider(worst, case.where(worst), mark.at(worst.axis)))
    return thin, problems + _finer_than_rows(case) + _under_test_piece(case)


def _directed(strokes: Sequence[NarrowPlace]) -> list[NarrowPlace]:
    """Leave out a part's largest circle where a run of that letter, no wider or narrower, says how the part lies.

    Without a direction a bar would be held against the longer side of an oblong mark, whichever way it runs.
    """
    runs = [s for s in strokes if s.axis is not None]
    return [
        s for s in strokes
        if s.axis is not None
        or not any(r.marks == s.marks and abs(r.width - s.width) <= SAME_BAR_WIDTH * s.width for r in runs)
    ]  # fmt: skip


def _finer_than_rows(case: Case) -> list[Problem]:
    """Return the look for detail that may fall between raster rows."""
    pitch = case.tool.recipe.row_pitch
    if case.tool.method != "raster" or pitch <= 0.0:
        return []
    fine = [s for s in case.places.strokes if s.width < pitch]
    return [messages.finer_than_rows(fine[0], case.where(fine[0]), pitch)] if fine else []


def _under_test_piece(case: Case) -> list[Problem]:
    least = case.tool.recipe.least_stroke
    first = case.first_stroke
    if least is None or first is None or first.width >= least:
        return []
    return [messages.under_test_piece(first, case.where(first), least)]


def groove_weight(case: Case, wood: Wood) -> list[Problem]:
    """Return what is to be said of single lines too light or too heavy for their height, by a bit or a beam alike.

    Light ones are to be looked at where mark and wood stand out little from one another, else only noted.
    """
    weighted = any(line.weight > 0.0 for line in case.lettering.lines)
    if not weighted and (not case.as_lines or case.lettering.kind != "single-line"):
        return []
    return messages.groove_weight(case.lettering, case.groove, contrast_of(case.tool, wood, case.groove), wood)


def note_specks(case: Case) -> list[Problem]:
    """Return the note on specks in the drawing."""
    found = case.places.specks
    if not found:
        return []
    return [messages.specks(len(found), case.where(found[0]))]
