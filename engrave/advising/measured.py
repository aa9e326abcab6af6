"""Changes by a measured amount: letters as much further apart, or strokes as much thicker, as is missing.

A wider word comes out smaller, so what was missing is no longer quite enough: each amount is tried, and what is still
missing is added, a few times at most.
"""

from __future__ import annotations

import math

from engrave.advising.codes import TOO_FINE
from engrave.advising.trying import Candidate, Change, Trials
from engrave.making import Piece, may_space, with_room
from engrave.setting import Lettering
from engrave.typefaces import gain_for, thicker_by

THICKENINGS = 3
"""Thickenings tried: the first by what is missing, the next by what is still missing."""

LOOSEST = 0.15
"""Cap heights of extra space beyond which words fall apart into letters: a third of the space between two words."""

A_TOUCH_MORE = 1.01
"""More than the stroke that is wanted, since thicker words are set a very little smaller."""

THICKEN_STEP = 0.001
"""Cap heights to which a thickening is rounded up: 0.01 mm on capitals of 10 mm."""

THICKEST = 0.04
"""Cap heights beyond which a thickened letter no longer looks like its typeface: half way from a regular to a bold."""


def spaced(trials: Trials, first: Change = ()) -> Candidate | None:
    """Return the least extra space between letters that leaves enough wood between them, if nothing else is wrong.

    first: what is changed besides. Never for joined typefaces, whose letters must touch, nor for what is thin inside a
    letter.
    """
    trial = trials.make(first) if first else trials.piece
    if trial is None or trial.task is None or not may_space(trial.task, trials.env):
        return None
    task = trial.task

    def change(share: float) -> Change:
        return (*first, ("spacing", f"{100 * share:g} %"))

    found = with_room(trial, task.tracking, LOOSEST, lambda share: trials.make(change(share)))
    if found is None or found[1].lettering is None:
        return None
    return Candidate(change(found[0]), _wider(found[0], found[0] - task.tracking, found[1].lettering))


def thicker(trials: Trials) -> Candidate | None:
    """Return the least thickening of all strokes with which the tool makes the thinnest; None for single lines."""
    trial = trials.piece
    task = trial.task
    if task is None or trial.lettering is None or trial.lettering.kind != "outline" or task.weights:
        return None
    gain = task.thicken
    for _ in range(THICKENINGS):
        lacks = _lacking_stroke(trial)
        if lacks is None:
            return None
        stroke, wanted = lacks
        drawn = stroke * (1.0 + gain) - gain  # what the trial itself has gained is undone first
        gain = math.ceil(gain_for(drawn, wanted) / THICKEN_STEP - 1e-9) * THICKEN_STEP
        if gain > THICKEST:
            return None
        change = (("thicken", f"{100 * gain:g} %"),)
        again = trials.make(change)
        if again is None or again.lettering is None or not again.is_laid:
            return None
        if not again.serious & TOO_FINE:
            more = (thicker_by(gain) - thicker_by(task.thicken)) * again.lettering.cap_mm
            return Candidate(change, f"Draw every stroke {more:.2f} mm thicker (thicken {100 * gain:g} %)")
        trial = again
    return None


def _wider(share: float, more: float, lettering: Lettering) -> str:
    """Say how much wider: in mm on the largest line, as it is lines of several sizes that are spaced by one share."""
    caps = {round(line.cap_mm, 3) for line in lettering.lines}
    upto = "up to " if len(caps) > 1 else ""
    return f"Space the letters {upto}{more * max(caps):.2f} mm wider (spacing {100 * share:g} %)"


def _smallest(piece: Piece) -> float:
    """Return the cap height of the smallest line in mm, 0 if there is none."""
    caps = [line.cap_mm for line in piece.lettering.lines if line.cap_mm > 0.0] if piece.lettering else []
    return min(caps, default=0.0)


def _lacking_stroke(piece: Piece) -> tuple[float, float] | None:
    """Return the thinnest stroke and what it should be, in caps of the smallest line; None if it is thick enough."""
    lacking = [p for p in piece.problems if p.code in TOO_FINE and p.level != "note"]
    found = [(p.value, p.limit) for p in lacking if isinstance(p.value, float) and isinstance(p.limit, float)]
    smallest = _smallest(piece)
    if not found or not smallest:
        return None
    value, limit = max(found, key=lambda pair: pair[1] - pair[0])
    wanted = limit * A_TOUCH_MORE / smallest
    return (value / smallest, wanted) if value < limit and wanted < 1.0 else None
