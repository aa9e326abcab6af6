"""Changes by a measured amount: letters as much further apart, strokes as much thicker, a cut as much deeper, as is missing.

A wider word comes out smaller, so what was missing is no longer quite enough: each amount is tried, and what is still
missing is added, a few times at most.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from engrave.advising.codes import GROOVE, TOO_FINE
from engrave.advising.trying import Candidate, Change, Trials
from engrave.cutting.letter_room import NO_ROOM_BETWEEN
from engrave.making import Piece, may_space, with_room
from engrave.problems import Problem
from engrave.setting import Lettering
from engrave.tasks import Tool
from engrave.tasks.tooling import deepest
from engrave.typefaces import gain_for, thicker_by

DEPTHS = 3
"""Depths tried: the first by what is missing, the next by what is still missing."""

DEPTH_STEP = 0.01
"""mm to which a depth is rounded: what a router's screw or digital read-out is set to."""

LEAST_OF_RECIPE = 0.4
"""Share of the recipe's depth below which a groove is another thing than was ordered, and takes no stain (a choice)."""

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


def thicker(trials: Trials, first: Change = ()) -> Candidate | None:
    """Return the least thickening of all strokes with which the tool makes the thinnest; None for single lines.

    first: what is changed besides.
    """
    trial = trials.make(first) if first else trials.piece
    task = trial.task if trial is not None else None
    if trial is None or task is None or trial.lettering is None or trial.lettering.kind != "outline" or task.weights:
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
        change = (*first, ("thicken", f"{100 * gain:g} %"))
        again = trials.make(change)
        if again is None or again.lettering is None or not again.is_laid:
            return None
        if not again.serious & TOO_FINE:
            more = (thicker_by(gain) - thicker_by(task.thicken)) * again.lettering.cap_mm
            return Candidate(change, f"Draw every stroke {more:.2f} mm thicker (thicken {100 * gain:g} %)")
        trial = again
    return None


def at_depth(trials: Trials, first: Change = ()) -> Candidate | None:
    """Return a cut as much deeper or shallower as gives the groove, or leaves the wood, that is needed.

    first: what is changed besides. Only where the groove's width follows from the depth; of a cleared letter only the
    height of the walls.
    """
    trial = trials.make(first) if first else trials.piece
    if trial is None or trial.task is None or trial.task.tool.cutter.is_beam:
        return None
    usual, limit = trial.task.tool, deepest(trial.task.tool.cutter, trial.task.lid).depth
    for _ in range(DEPTHS):
        if trial.task is None or trial.lettering is None:
            return None
        depth = _depth_wanted(trial.task.tool, trial.lettering.kind == "single-line", trial.problems)
        if depth is None or not LEAST_OF_RECIPE * usual.recipe.depth <= depth <= limit:
            return None
        change = (*first, ("depth", f"{depth:g} mm"))
        again = trials.make(change)
        if again is None or again.task is None or not again.is_laid:
            return None
        if not again.serious & (NO_ROOM_BETWEEN | GROOVE) or _less(again, trial):
            return Candidate(change, f"Cut it {depth:.2f} mm deep instead of {usual.depth:.2f} mm (depth {depth:g} mm)")
        trial = again
    return None


def _less(after: Piece, before: Piece) -> bool:
    """Tell whether a piece that was on hold need only be looked at."""
    return before.verdict == "hold" and after.is_made


def _depth_wanted(tool: Tool, lines: bool, problems: Sequence[Problem]) -> float | None:
    """Return the depth in mm by which what is wrong with groove or wood may pass; None if it is no matter of depth.

    What holds the piece counts; where nothing does, what is to be looked at.
    """
    level = "hold" if any(p.level == "hold" for p in problems) else "look"
    lower, upper = 0.0, math.inf
    for p in problems:
        if p.level != level or not isinstance(p.value, float) or not isinstance(p.limit, float):
            continue
        if p.code == "web-under-depth":
            upper = min(upper, tool.depth * p.value / p.limit / A_TOUCH_MORE)
        elif not lines or p.code not in NO_ROOM_BETWEEN | GROOVE:
            return None  # depth does not help that
        elif p.code == "groove-light":
            lower = max(lower, tool.cutter.depth_for(p.limit * A_TOUCH_MORE) or math.inf)
        else:
            # of wood what lacks is taken off the groove; a loop that is cut away is at least to stay open
            narrower = p.value if p.code == "loop-fills" else tool.groove - (p.limit - p.value)
            narrower = p.limit if p.code == "groove-heavy" else narrower
            upper = min(upper, tool.cutter.depth_for(narrower / A_TOUCH_MORE) or 0.0)
    if lower > upper or math.isinf(lower) or (lower <= 0.0 and math.isinf(upper)):
        return None  # both deeper and shallower, or no depth at all gives that groove
    if lower > 0.0:
        return math.ceil(lower / DEPTH_STEP - 1e-9) * DEPTH_STEP
    return math.floor(upper / DEPTH_STEP + 1e-9) * DEPTH_STEP


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
