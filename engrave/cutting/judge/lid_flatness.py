"""What a lid's cupping may spoil although it passes where the face is true."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.cutting.effect.cupping import vee_depth, width_changes
from engrave.cutting.effect.thin_wood import Web
from engrave.cutting.fitness import SpotKind
from engrave.cutting.judge.case import Case
from engrave.cutting.measure import NarrowPlace
from engrave.cutting.messages.phrasing import least_web
from engrave.cutting.messages.wood_messages import lid_lies_low, lid_stands_high
from engrave.problems import Problem

Cupped = tuple[Problem, tuple[tuple[NarrowPlace, float, SpotKind, str], ...]]
"""A finding on a lid that cups, and its places: place, width in mm, what is so wide, and what it is held against."""


def judge_flatness(case: Case, flatness: float, webs: Sequence[Web]) -> list[Cupped]:
    """Return what the lid's cupping may spoil, and the places. flatness: mm by which the face may lie low or high."""
    if flatness <= 0.0 or case.tool.cutter.is_beam:  # a beam reaches down; its focus is the machine's matter
        return []
    return [*_lies_low(case, flatness), *_stands_high(case, flatness, webs)]


def _lies_low(case: Case, flatness: float) -> list[Cupped]:
    """Return the look for a cut so shallow that the bit stays above a lid that lies low."""
    tool, thinnest = case.tool, case.first_stroke
    if tool.method != "vee":
        return [] if tool.depth > flatness else [(lid_lies_low(tool.depth, flatness), ())]
    if thinnest is None or (depth := vee_depth(tool.cutter, thinnest.width)) > flatness:
        return []
    problem = lid_lies_low(depth, flatness, thinnest, case.where(thinnest))
    return [(problem, ((thinnest, thinnest.width, "stroke", "missed where the lid lies low"),))]


def _stands_high(case: Case, flatness: float, webs: Sequence[Web]) -> list[Cupped]:
    """Return the look for wood that is thick enough only where the lid does not stand high."""
    growth = width_changes(case.tool, case.groove, flatness)[1]
    tight = [(place, left - growth, least) for place, left, least in webs if left >= least > left - growth]
    if not tight:
        return []
    tight.sort(key=lambda t: (t[1] / t[2], t[0].x, t[0].y))
    place, left, least = tight[0]
    problem = lid_stands_high(left, least, flatness, growth, case.where(place))
    return [(problem, tuple((p, w, "web", f"where it stands high; {least_web(g)}") for p, w, g in tight))]
