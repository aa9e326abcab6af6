"""Notes on what would save time: another speed or order of the same recipe, single lines, another method for lines.

Nearly every piece earns one, so that they are the week's: told once for each recipe and typeface (`week/advice`). Words that
are tried are told all of theirs.
"""

from __future__ import annotations

from engrave.advising.faster_weight import sooner_weight
from engrave.advising.trying import remake
from engrave.making import Env, Piece
from engrave.problems import Problem
from engrave.timing import Estimate, estimate_time, saving_note, suggest
from engrave.toolpath import toolpath_of

LEAST_SAVED = 60.0
"""Seconds that another kind of typeface must save: the look of the lid changes, and for less nobody asks the buyer."""

LINES_TRIED = 3
"""Single-line typefaces tried, most alike first: a note is worth no more time than that."""


def time_savers(piece: Piece, env: Env) -> tuple[Problem, ...]:
    """Return notes on what would save clearly more than a tenth of a piece's seconds; () for one that is not made."""
    return (*recipe_savers(piece, env), *look_savers(piece, env))


def recipe_savers(piece: Piece, env: Env) -> tuple[Problem, ...]:
    """Return notes on the recipe: the look stays."""
    if piece.task is None or piece.lettering is None or piece.toolpath is None or piece.estimate is None:
        return ()
    if not piece.is_made:
        return ()
    return suggest(piece.lettering, piece.task.tool, piece.toolpath, piece.estimate, env.cache)


def look_savers(piece: Piece, env: Env) -> tuple[Problem, ...]:
    """Return the note on another kind of typeface, or another method for lines with a weight: the look changes."""
    note = (faster_typeface(piece, env) or sooner_weight(piece, env)) if piece.is_made else None
    return (note,) if note else ()


def faster_typeface(piece: Piece, env: Env) -> Problem | None:
    """Return a note if single lines instead of letters with a body save clearly more than a tenth of the time.

    Made and checked with the same cutter; a typeface that brings a problem the piece has not is not offered.
    """
    if piece.estimate is None or piece.lettering is None or piece.task is None or piece.lettering.kind != "outline":
        return None
    if piece.task.weights:
        return None
    if not piece.is_made or piece.estimate.seconds <= LEAST_SAVED:
        return None
    known, joined = {p.code for p in piece.problems}, env.shelf.get(piece.task.typefaces[0][1]).joined
    lines = [i for i, kind in env.shelf.kinds().items() if kind == "single-line"]
    for ident in sorted(lines, key=lambda i: (env.shelf.get(i).joined != joined, i))[:LINES_TRIED]:
        trial = remake((("typeface", ident),), piece, env, None)
        if trial is None or trial.task is None or trial.lettering is None or not trial.is_made:
            continue
        if trial.serious <= known:
            tool = trial.task.tool
            then = estimate_time(toolpath_of(trial.lettering, tool, env.cache), tool)
            return _single_line(env.shelf.get(ident).title, ident, piece.estimate, then)
    return None


def _single_line(title: str, ident: str, now: Estimate, then: Estimate) -> Problem | None:
    says = f"Single lines ({title}, {ident}) would be faster than letters with a body (ask the buyer)"
    return saving_note("single-line", says, then.seconds, now, LEAST_SAVED)
