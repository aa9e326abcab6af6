"""What would save the week's time: worked out once for each recipe and typeface, where the most seconds are.

Nearly every piece earns such a note, so that on each of them it would say nothing, and cost as much as the piece.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from engrave.advising import look_savers, recipe_savers
from engrave.making import Env, Piece, make_any
from engrave.problems import Problem
from engrave.tasks import Task
from engrave.tasks.choosing import midway
from engrave.week.group import Entry

MOST_ADVISED = 4
"""Recipes, and recipes with their typefaces, that are advised on: those that take the most of the week's seconds."""

Savers = Callable[[Piece, Env], tuple[Problem, ...]]
Title = Callable[[Task, Env], str]
Sorts = dict[tuple[str, ...], list[Entry]]


def week_advice(entries: Sequence[Entry], env: Env) -> tuple[Problem, ...]:
    """Return notes on what would save clearly more than a tenth of the time of all lids of one recipe and typeface.

    Each is worked out on the first of its lids in the table, which is made again for it, at the size it would have alone.
    """
    recipes: Sorts = {}
    looks: Sorts = {}
    for entry in entries:
        task = entry.piece.task
        if entry.piece.is_made and task is not None and entry.piece.estimate is not None:
            recipe = (task.tool.cutter.id, task.wood.id, task.tool.method)
            recipes.setdefault(recipe, []).append(entry)
            looks.setdefault((*recipe, task.typefaces[0][1]), []).append(entry)
    made: dict[int, Piece] = {}
    kinds: tuple[tuple[Sorts, Savers, Title], ...] = (
        (recipes, recipe_savers, _recipe),
        (looks, look_savers, _look),
    )
    return tuple(
        note
        for sorts, savers, title in kinds
        for some in sorted(sorts.values(), key=_seconds, reverse=True)[:MOST_ADVISED]
        for note in _advice(some, env, savers, title, made)
    )


def _seconds(some: Sequence[Entry]) -> float:
    return sum(e.piece.estimate.seconds * e.piece.order.quantity for e in some if e.piece.estimate is not None)


def _recipe(task: Task, env: Env) -> str:
    return f"{task.tool.cutter.title} in {midway(task.wood.title)}"


def _look(task: Task, env: Env) -> str:
    return f"{env.shelf.get(task.typefaces[0][1]).title}, {_recipe(task, env)}"


def _advice(some: Sequence[Entry], env: Env, savers: Savers, title: Title, made: dict[int, Piece]) -> list[Problem]:
    """Return the notes on lids of one sort. made: what was made again already, by the first lid's identity."""
    first = some[0].piece
    if first.task is None:
        return []
    if id(first) not in made:
        made[id(first)] = make_any(first.task, env)
    lids = sum(e.piece.order.quantity for e in some)
    of = title(first.task, env)
    head = (
        f"{lids} lids ({of}), of order {first.order.id} for one. " if lids > 1 else f"Order {first.order.id} ({of}). "
    )
    return [replace(note, says=f"{head}{note.says}") for note in savers(made[id(first)], env)]
