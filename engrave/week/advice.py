"""What would save the week's time: worked out once for each recipe and typeface, where the most seconds are.

Nearly every piece earns such a note, so that on each of them it would say nothing, and cost as much as the piece. A lid at a
time can be worked out wherever there is room for it (`savers_of`); what is told of the week comes out the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from engrave.advising import look_savers, recipe_savers
from engrave.making import Env, Piece, make_any
from engrave.problems import Problem
from engrave.tasks import Task
from engrave.tasks.choosing import midway
from engrave.week.group import Entry

MOST_ADVISED = 4
"""Recipes, and recipes with their typefaces, that are advised on: those that take the most of the week's seconds."""

SaverKind = Literal["recipe", "look"]
"""What advice is on: another speed or order of the same recipe, or another look of the lid."""

_SAVERS: Mapping[SaverKind, Callable[[Piece, Env], tuple[Problem, ...]]] = {
    "recipe": recipe_savers,
    "look": look_savers,
}

AdvisedLid = tuple[str, int, SaverKind]
"""An order, its piece, and what is asked of it."""

KnownSavers = dict[AdvisedLid, tuple[Problem, ...]]
"""What would save time on lids that were worked out already."""


@dataclass(slots=True)
class _Sort:
    """Lids of one recipe, or of one recipe and typeface: the first in the table and its place, how many lids, their time.

    moments: thousandths of a second, whole ones: their sum is the same in whatever order the pieces become known.
    """

    first: Piece
    place: int
    lids: int = 0
    moments: int = 0


@dataclass(frozen=True, slots=True)
class Costly:
    """The sorts of lids that take the most of the week's seconds: by recipe, and by recipe and typeface."""

    recipes: tuple[_Sort, ...]
    looks: tuple[_Sort, ...]


@dataclass(slots=True)
class LidSorts:
    """All sorts of lids of a week, taken up piece by piece in any order."""

    of: dict[SaverKind, dict[tuple[str, ...], _Sort]] = field(default_factory=lambda: {"recipe": {}, "look": {}})

    def add(self, place: int, entry: Entry) -> None:
        """Take up a piece, by its place in the table."""
        piece, task, estimate = entry.piece, entry.piece.task, entry.piece.estimate
        if not piece.is_made or task is None or estimate is None:
            return
        recipe = (task.tool.cutter.id, task.wood.id, task.tool.method)
        keys: dict[SaverKind, tuple[str, ...]] = {"recipe": recipe, "look": (*recipe, task.typefaces[0][1])}
        for kind, key in keys.items():
            sort = self.of[kind].setdefault(key, _Sort(piece, place))
            if place < sort.place:
                sort.first, sort.place = piece, place
            sort.lids += piece.order.quantity
            sort.moments += round(1000 * estimate.seconds * piece.order.quantity)

    def costly(self) -> Costly:
        """Return the sorts of lids that are worth advice, as far as pieces are known."""
        return Costly(*(_most(self.of[kind].values()) for kind in ("recipe", "look")))


def _most(sorts: Iterable[_Sort]) -> tuple[_Sort, ...]:
    return tuple(sorted(sorts, key=lambda sort: (-sort.moments, sort.place))[:MOST_ADVISED])


def sorts_of(entries: Iterable[Entry]) -> LidSorts:
    """Return the sorts of all lids of a table."""
    sorts = LidSorts()
    for place, entry in enumerate(entries):
        sorts.add(place, entry)
    return sorts


@dataclass(frozen=True, slots=True)
class SaversAsked:
    """One lid on which advice is asked, the first of one sort or of several."""

    task: Task
    kinds: tuple[SaverKind, ...]

    @property
    def lids(self) -> tuple[AdvisedLid, ...]:
        """What is known once this is answered."""
        return tuple((self.task.order.id, self.task.piece, kind) for kind in self.kinds)


def still_asked(costly: Costly, known: KnownSavers) -> tuple[SaversAsked, ...]:
    """Return the lids on which advice is still to be worked out: first those whose look is asked, which take the longest."""
    kinds: dict[tuple[str, int], tuple[Task, list[SaverKind]]] = {}
    for sorts, kind in _kinds(costly)[::-1]:
        for task in (some.first.task for some in sorts):
            if task is not None and (task.order.id, task.piece, kind) not in known:
                kinds.setdefault((task.order.id, task.piece), (task, []))[1].append(kind)
    return tuple(SaversAsked(task, tuple(some)) for task, some in kinds.values())


def savers_of(asked: SaversAsked, env: Env) -> KnownSavers:
    """Return what would save time on a lid, which is made again for it, at the size it would have alone."""
    made = make_any(asked.task, env)
    return {lid: _SAVERS[kind](made, env) for lid, kind in zip(asked.lids, asked.kinds, strict=True)}


def week_advice(costly: Costly, env: Env, known: KnownSavers) -> tuple[Problem, ...]:
    """Return notes on what would save clearly more than a tenth of the time of all lids of one recipe and typeface.

    known: what was worked out already; the rest is now.
    """
    found = dict(known)
    for asked in still_asked(costly, known):
        found.update(savers_of(asked, env))
    return tuple(note for sorts, kind in _kinds(costly) for some in sorts for note in _told(some, env, kind, found))


def _kinds(costly: Costly) -> tuple[tuple[tuple[_Sort, ...], SaverKind], ...]:
    return ((costly.recipes, "recipe"), (costly.looks, "look"))


def _told(some: _Sort, env: Env, kind: SaverKind, found: KnownSavers) -> list[Problem]:
    """Return the notes on lids of one sort."""
    first = some.first
    if first.task is None:
        return []
    of = _look(first.task, env) if kind == "look" else _recipe(first.task)
    head = (
        f"{some.lids} lids ({of}), of order {first.order.id} for one. "
        if some.lids > 1
        else f"Order {first.order.id} ({of}). "
    )
    return [replace(note, says=f"{head}{note.says}") for note in found[first.order.id, first.piece, kind]]


def _recipe(task: Task) -> str:
    return f"{task.tool.cutter.title} in {midway(task.wood.title)}"


def _look(task: Task, env: Env) -> str:
    return f"{env.shelf.get(task.typefaces[0][1]).title}, {_recipe(task)}"
