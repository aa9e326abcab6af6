"""What would save the week's time: worked out once for each recipe and typeface, where the most seconds are.

Nearly every piece earns such a note, so that on each of them it would say nothing, and cost as much as the piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engrave.advising import time_savers
from engrave.making import Env, make_any
from engrave.problems import Problem
from engrave.week.group import Entry

MOST_ADVISED = 6
"""Recipes with their typefaces that are advised on: those that take the most of the week's seconds."""

Sort = tuple[str, str, str, str]


def week_advice(entries: Sequence[Entry], env: Env) -> tuple[Problem, ...]:
    """Return notes on what would save clearly more than a tenth of the time of all lids of one recipe and typeface.

    Each is worked out on the first of its lids in the table, which is made again for it, at the size it would have alone.
    """
    sorts: dict[Sort, list[Entry]] = {}
    for entry in entries:
        task = entry.piece.task
        if entry.piece.is_made and task is not None and entry.piece.estimate is not None:
            sort = (task.typefaces[0][1], task.tool.cutter.id, task.wood.id, task.tool.method)
            sorts.setdefault(sort, []).append(entry)
    longest = sorted(sorts.values(), key=_seconds, reverse=True)[:MOST_ADVISED]
    return tuple(note for some in longest for note in _advice(some, env))


def _seconds(some: Sequence[Entry]) -> float:
    return sum(e.piece.estimate.seconds * e.piece.order.quantity for e in some if e.piece.estimate is not None)


def _advice(some: Sequence[Entry], env: Env) -> list[Problem]:
    first = some[0].piece
    if first.task is None:
        return []
    made = make_any(first.task, env)
    lids = sum(e.piece.order.quantity for e in some)
    face = env.shelf.get(first.task.typefaces[0][1]).title
    of = f"{face}, {first.task.tool.cutter.title} in {first.task.wood.title}"
    head = (
        f"{lids} lids ({of}), of order {first.order.id} for one: " if lids > 1 else f"Order {first.order.id} ({of}): "
    )
    return [replace(note, says=f"{head}{note.says}") for note in time_savers(made, env)]
