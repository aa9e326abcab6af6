"""Strokes that meet, in scripts where they may: a hair of wood between two of them is no part of the letter.

In Han letters, kana and hangul a stroke's end may touch its neighbour or stand off by a hair, as the hand or the
typeface has it, and the letter is the same. Such a hair is cut away, and nothing is lost; where strokes run beside each
other for longer, the wood between them is judged as everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely import Point

from engrave.cutting.effect.opening import BIT_ARC_CHORDS
from engrave.cutting.effect.thin_wood import Web
from engrave.cutting.judge.case import Case
from engrave.cutting.measure import NarrowPlace
from engrave.cutting.messages import wood_messages as messages
from engrave.geometry.regions import polygons
from engrave.problems import Problem
from engrave.typefaces.characters import SQUARE_SCRIPTS, script_of

MEETING_RUN = 0.12
"""Cap heights that thin wood may be long where strokes meet: as long as a stroke is thick, and half as long as the
shortest that stand side by side, such as the dots of fire. A choice, held by letters of an open family."""


def without_meeting(case: Case, webs: Sequence[Web]) -> tuple[list[Web], list[Problem]]:
    """Return the webs that are to be judged, and a note where strokes of a letter meet instead."""
    met = [web for web in webs if web[1] < web[2] and _strokes_meet(case, web)]
    if not met:
        return list(webs), []
    first = min(met, key=lambda web: web[1])[0]
    return [web for web in webs if web not in met], [messages.strokes_meet(case.where(first), first.width)]


def _strokes_meet(case: Case, web: Web) -> bool:
    """Tell whether wood that is too thin lies between strokes of one letter, and is short."""
    place, left, least = web
    if place.closed or len(set(place.marks)) != 1:
        return False
    mark = case.lettering.marks[place.marks[0]]
    if not mark.text or script_of(mark.text[0]) not in SQUARE_SCRIPTS:
        return False
    return _run(case, place, least + place.width - left) <= MEETING_RUN * mark.cap_mm


def _run(case: Case, place: NarrowPlace, under: float) -> float:
    """Return how long the wood at a place is thinner than `under`, mm: the long side of what a closing there adds."""
    here = Point(place.x, place.y)
    (body,) = (part.on_lid for part in case.parts if place.marks[0] in part.marks)
    near = body.intersection(here.buffer(4.0 * MEETING_RUN * case.lettering.marks[place.marks[0]].cap_mm + under))
    closed = near.buffer(under / 2.0, quad_segs=BIT_ARC_CHORDS).buffer(-under / 2.0, quad_segs=BIT_ARC_CHORDS)
    added = polygons(closed.difference(near))
    if not added:
        return 0.0
    (ax, ay), (bx, by), (cx, cy) = list(
        min(added, key=lambda p: p.distance(here)).minimum_rotated_rectangle.exterior.coords
    )[:3]
    return max(math.hypot(bx - ax, by - ay), math.hypot(cx - bx, cy - by))
