"""A note where another method would draw lines with their weight sooner."""

from __future__ import annotations

from engrave.making import Env, Piece
from engrave.problems import Problem
from engrave.timing import estimate_time, saving_note
from engrave.toolpath import toolpath_of

LEAST_SAVED_BY_METHOD = 30.0
"""Seconds that another method must save before it is worth a sentence."""


def sooner_weight(piece: Piece, env: Env) -> Problem | None:
    """Return a note if lines with a weight would be drawn clearly sooner by another method of the same cutter.

    It is never taken by itself: rows, pockets and lines side by side leave another face.
    """
    task, lettering, now = piece.task, piece.lettering, piece.estimate
    if task is None or task.weighting is None or not task.weights or lettering is None or now is None:
        return None
    if now.seconds < LEAST_SAVED_BY_METHOD or not piece.is_made:
        return None
    tried = [
        (tool.method, estimate_time(toolpath_of(lettering, tool, env.cache), tool)) for tool in task.weighting.others
    ]
    method, then = min(tried, key=lambda it: it[1].seconds, default=("", now))
    if not method:
        return None
    says = f"These lines would be done sooner by {method} (weight_method in the recipe; try the look on scrap)"
    return saving_note("weight-sooner", says, then.seconds, now, LEAST_SAVED_BY_METHOD)
