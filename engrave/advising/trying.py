"""Trying a change: the order with its columns altered, its piece made again, and whether that helps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from shapely import get_num_coordinates

from engrave.advising.codes import MILDER, TOO_SMALL
from engrave.cache import CacheKind
from engrave.cutting.growth import growth_needed
from engrave.cutting.letter_room import NO_ROOM_BETWEEN
from engrave.cutting.measure.components import components_of
from engrave.findings import FindingCode
from engrave.intake.order import Order
from engrave.making import Env, Piece, make_any, only_set, set_and_checked, tasks_of
from engrave.setting import Lettering
from engrave.shop.house import WORD_FIELDS
from engrave.tasks import Task

Change = tuple[tuple[str, str], ...]
"""Columns of the orders table, each with its new value."""


MOST_POINTS = 8_000
"""Points of usual letters that hang together: one has some hundreds, a name in a joined typeface some thousands. Beyond,
each loop of ornaments that lie on one another is measured: few trials, and none of a cutter that only follows lines."""

USUAL_WORDS = 16
"""Words up to which a piece is made in some hundredths of a second; beyond, it takes with the cube of their number where
they have no room, as ever more breaks and sizes are searched; with the square where they have."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A change worth trying, said in a sentence without its full stop."""

    change: Change
    says: str


def replaced(order: Order, column: str, value: str) -> Order:
    """Return the order with one column of its row changed."""
    if column in WORD_FIELDS:
        return replace(order, words=replace(order.words, **{column: value}))
    return replace(order, **{column: value})  # type: ignore[arg-type]  # the other columns hold text


def changed(order: Order, change: Change) -> Order:
    """Return the order with several columns changed."""
    for column, value in change:
        order = replaced(order, column, value)
    return order


def retasks(change: Change, piece: Piece, env: Env) -> tuple[Task, ...]:
    """Return the tasks of the changed order for the piece's own area; for all where the row gave no task to begin with."""
    tasks = _tasks(change, piece, env)
    area = piece.task.area.name if piece.task else None
    same = [t for t in tasks if t.area.name == area] or (tasks if area is None else tasks[:1])
    return tuple(replace(t, piece=piece.piece) for t in same)


def _tasks(change: Change, piece: Piece, env: Env) -> list[Task]:
    whats = tasks_of([changed(piece.order, change)], env)
    return [t for t in whats if isinstance(t, Task)]


def remake(change: Change, piece: Piece, env: Env, cap: float | None) -> Piece | None:
    """Make the changed order's piece again, of several areas the one that comes out worst, with what is wrong in the
    others; None if it has none.

    cap: mm, the size of the group it belongs to.
    """
    made = []
    for task in retasks(change, piece, env):
        # one that is taken out of its set has its own size
        same = task.order.matching == piece.order.matching
        made.append(make_any(task, env, cap if same else None, set_and_checked))
    worst = max(made, key=lambda p: (not p.is_made, len(p.serious)), default=None)
    if worst is None or len(made) == 1:
        return worst
    elsewhere = [p for other in made if other is not worst for p in other.problems if p.level != "note"]
    return replace(worst, problems=tuple(dict.fromkeys((*worst.problems, *elsewhere))))


class Trials:
    """Pieces made with changes, each once, and how many more may be made.

    piece: as it was ordered. cap: mm, the size of the group of matching pieces to which it belongs.
    """

    def __init__(self, piece: Piece, env: Env, cap: float | None, most: int) -> None:
        """Allow `most` pieces of usual length to be made; one with twice as many words counts for four or eight."""
        self.piece, self.env = piece, env
        self._cap, self._left = cap, float(most)
        self._made: dict[Change, Piece | None] = {}
        self._roomy: dict[Change, bool] = {}

    def make(self, change: Change) -> Piece | None:
        """Return the piece as it comes out with the change; None if it has none, or patience is used up."""
        if change not in self._made:
            if not self._pay(change):
                return None
            self._made[change] = remake(change, self.piece, self.env, self._cap)
        return self._made[change]

    def has_room(self, change: Change) -> bool:
        """Tell whether a change's piece has a place and lacks no room; False too where patience is used up.

        It costs what the piece does, but is mostly known once the words are set.
        """
        if change not in self._roomy:
            if not self._pay(change):
                return False
            self._roomy[change] = _has_room(change, self.piece, self.env, self._cap)
        return self._roomy[change]

    def _pay(self, change: Change) -> bool:
        """Take what a change's piece costs from what is left; False if that is too little."""
        cost = self._cost(change)
        if cost > self._left:
            return False
        self._left -= cost
        return True

    def _cost(self, change: Change) -> float:
        """Return how many pieces of usual length a change's piece counts for: by its words, and the room they get."""
        words = sum(len(text.split()) for _, text in changed(self.piece.order, change).words.filled())
        roomy = any(column == "lid" for column, _ in change)
        return self._richness * max(1.0, words / USUAL_WORDS) ** (2 if roomy else 3)

    @cached_property
    def _richness(self) -> float:
        """How many usual pieces one of this piece counts for: ornaments that lie on one another are measured as one."""
        points = most_points(self.piece.lettering, self.env) if self.piece.lettering else 0
        return max(1.0, points / MOST_POINTS) ** 4

    def spares_others(self, change: Change) -> bool:
        """Tell whether the order's other areas come out no worse with the change: one bit may suit the lid, not its front."""
        if self.piece.task is None:  # then `make` has looked at every area
            return True
        before = self._others_before
        after = {p.task.area.name: p for p in self._elsewhere(change) if p.task is not None}
        return all(
            p.serious <= before[area].serious and (p.is_made or not before[area].is_made)
            for area, p in after.items()
            if area in before
        )

    @cached_property
    def _others_before(self) -> dict[str, Piece]:
        """The order's other areas as they were ordered."""
        return {p.task.area.name: p for p in self._elsewhere(()) if p.task is not None}

    def _elsewhere(self, change: Change) -> list[Piece]:
        """Return the pieces of the order's other areas with a change."""
        own = self.piece.task.area.name if self.piece.task else None
        others = [t for t in _tasks(change, self.piece, self.env) if t.area.name != own]
        return [make_any(t, self.env, self._cap, set_and_checked) for t in others]


def _has_room(change: Change, piece: Piece, env: Env, cap: float | None) -> bool:
    """Tell whether the changed order's piece has a place and lacks no room.

    What has none is not checked; what lacks none is made no smaller by what a check finds, as nothing that is held is
    taken instead. Only words that lack room as they stand may yet come out larger, and lines with a weight otherwise.
    """
    tasks = retasks(change, piece, env)
    if len(tasks) == 1 and cap is None and not (tasks[0].weighting and tasks[0].weighting.shares):
        laid = make_any(tasks[0], env, None, only_set)
        if not laid.is_laid or not laid.serious & TOO_SMALL:
            return laid.is_laid
    made = remake(change, piece, env, cap)
    return made is not None and made.is_laid and not made.serious & TOO_SMALL


POINTS_TOGETHER: CacheKind[tuple[Any, int]] = CacheKind("points that hang together", 16)
"""Of letterings: each cutter that could follow their lines is asked about on the same one."""


def most_points(lettering: Lettering, env: Env) -> int:
    """Return the points of the lines that hang together most, as they would be followed."""

    def counted() -> int:
        parts = components_of(lettering, as_lines=True, cache=env.cache)
        return max((int(get_num_coordinates(part.shape)) for part in parts), default=0)

    return env.cache.of(POINTS_TOGETHER, lettering.marks, lettering.lines, counted)


def clears(before: Piece, after: Piece, targets: Iterable[str]) -> bool:
    """Tell whether `after` is made, has none of the target problems, not even as a note, and none that `before` had not."""
    codes = {p.code for p in after.problems}
    return after.is_made and not codes & set(targets) and after.serious <= before.serious


def leaves(before: Piece, after: Piece, targets: Iterable[str]) -> tuple[FindingCode, ...] | None:
    """Return all that a change that helps leaves to be looked at, () if nothing; None if it does not help.

    A piece that only had to be looked at must be clear of the targets. One on hold must be so no more; what is new, or is
    left of how it is cut, may have to be looked at. What was to be looked at before and stays is left as well.
    """
    left = tuple(dict.fromkeys(p.code for p in after.problems if p.level == "look"))
    if clears(before, after, targets):
        return left
    if before.verdict != "hold" or not after.is_made:
        return None
    return left if all(code in MILDER for code in left if code in targets or code not in before.serious) else None


def lacks_only_space(before: Piece, after: Piece, targets: Iterable[str]) -> bool:
    """Tell whether nothing is left of the target problems, and nothing new, but too little wood between letters."""
    between = {p.code for p in after.problems if p.code in NO_ROOM_BETWEEN and p.where.startswith("between")}
    elsewhere = {p.code for p in after.problems if p.level != "note" and not p.where.startswith("between")}
    return bool(between) and not elsewhere & set(targets) and elsewhere <= before.serious


def times_larger(piece: Piece, targets: Iterable[str]) -> float:
    """Return how many times larger the letters would have to be for every stroke and web to pass; 1 if they do."""
    if piece.task is None or piece.lettering is None:
        return 1.0
    return growth_needed(piece.problems, piece.lettering, piece.task.tool, set(targets))
