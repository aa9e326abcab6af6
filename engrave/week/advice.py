"""What would save the week's time: worked out once for each recipe and typeface, where the most seconds are.

Nearly every piece earns such a note, so that on each of them it would say nothing, and cost as much as the piece.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

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


@dataclass(slots=True)
class _Sort:
    """Lids of one recipe, or of one recipe and typeface: the first of them, how many lids, and the seconds of all."""

    first: Piece
    lids: int = 0
    seconds: float = 0.0


Sorts = dict[tuple[str, ...], _Sort]


@dataclass(frozen=True, slots=True)
class Costly:
    """The sorts of lids that take the most of the week's seconds: by recipe, and by recipe and typeface."""

    recipes: tuple[_Sort, ...]
    looks: tuple[_Sort, ...]


def week_advice(entries: Iterable[Entry], env: Env) -> tuple[Problem, ...]:
    """Return notes on what would save clearly more than a tenth of the time of all lids of one recipe and typeface."""
    return advice_on(costly_sorts(entries), env)


def costly_sorts(entries: Iterable[Entry]) -> Costly:
    """Return the sorts of lids that are worth advice."""
    recipes: Sorts = {}
    looks: Sorts = {}
    for entry in entries:
        piece, task, estimate = entry.piece, entry.piece.task, entry.piece.estimate
        if piece.is_made and task is not None and estimate is not None:
            recipe = (task.tool.cutter.id, task.wood.id, task.tool.method)
            for sorts, key in ((recipes, recipe), (looks, (*recipe, task.typefaces[0][1]))):
                sort = sorts.setdefault(key, _Sort(piece))
                sort.lids += piece.order.quantity
                sort.seconds += estimate.seconds * piece.order.quantity
    return Costly(_most(recipes), _most(looks))


def _most(sorts: Sorts) -> tuple[_Sort, ...]:
    return tuple(sorted(sorts.values(), key=lambda sort: sort.seconds, reverse=True)[:MOST_ADVISED])


def advice_on(costly: Costly, env: Env) -> tuple[Problem, ...]:
    """Return the notes on these sorts that save clearly more than a tenth of their time.

    Each is worked out on the first of its lids in the table, which is made again for it, at the size it would have alone.
    """
    made: dict[tuple[str, int], Piece] = {}
    kinds: tuple[tuple[tuple[_Sort, ...], Savers, Title], ...] = (
        (costly.recipes, recipe_savers, _recipe),
        (costly.looks, look_savers, _look),
    )
    return tuple(
        note for sorts, savers, title in kinds for some in sorts for note in _advice(some, env, savers, title, made)
    )


def _recipe(task: Task, env: Env) -> str:
    return f"{task.tool.cutter.title} in {midway(task.wood.title)}"


def _look(task: Task, env: Env) -> str:
    return f"{env.shelf.get(task.typefaces[0][1]).title}, {_recipe(task, env)}"


def _advice(some: _Sort, env: Env, savers: Savers, title: Title, made: dict[tuple[str, int], Piece]) -> list[Problem]:
    """Return the notes on lids of one sort. made: what was made again already, by the first lid's order and piece."""
    first = some.first
    if first.task is None:
        return []
    key = (first.order.id, first.piece)
    if key not in made:
        made[key] = make_any(first.task, env)
    of = title(first.task, env)
    head = (
        f"{some.lids} lids ({of}), of order {first.order.id} for one. "
        if some.lids > 1
        else f"Order {first.order.id} ({of}). "
    )
    return [replace(note, says=f"{head}{note.says}") for note in savers(made[key], env)]
