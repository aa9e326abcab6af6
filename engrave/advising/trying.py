"""Trying a change: the order with its columns altered, its piece made again, and whether that helps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from engrave.advising.codes import TOO_FINE
from engrave.cutting.spacing import NO_ROOM_BETWEEN
from engrave.intake.order import Order
from engrave.making import Env, How, Piece, make_any, set_and_checked
from engrave.tasks import Task, define_all

Change = tuple[tuple[str, str], ...]
"""Columns of the orders table, each with its new value."""


USUAL_WORDS = 16
"""Words up to which a piece is made in some hundredths of a second; beyond, it takes with the square of their number."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A change worth trying, said in a sentence without its full stop."""

    change: Change
    says: str


def replaced(order: Order, column: str, value: str) -> Order:
    """Return the order with one column of its row changed."""
    if column in ("name", "message", "foot"):
        return replace(order, words=replace(order.words, **{column: value}))
    return replace(order, **{column: value})  # type: ignore[arg-type]  # the other columns hold text


def changed(order: Order, change: Change) -> Order:
    """Return the order with several columns changed."""
    for column, value in change:
        order = replaced(order, column, value)
    return order


def retask(change: Change, piece: Piece, env: Env) -> Task | None:
    """Return the task of the changed order for the piece's own area, or for its first; None if it has none."""
    tasks = [t for t in define_all([changed(piece.order, change)], env.shop, env.shelf.kinds()) if isinstance(t, Task)]
    area = piece.task.area.name if piece.task else None
    same = [t for t in tasks if t.area.name == area] or tasks
    return replace(same[0], piece=piece.piece) if same else None


def remake(change: Change, piece: Piece, env: Env, cap: float | None, how: How = set_and_checked) -> Piece | None:
    """Make the changed order's piece again; None if it has none. cap: mm, the size of the group it belongs to."""
    task = retask(change, piece, env)
    if task is None:
        return None
    # one that is taken out of its set, or into another area's, has its own size
    same = task.order.matching == piece.order.matching
    return make_any(task, env, cap if same else None, how)


class Trials:
    """Pieces made with changes, each once, and how many more may be made.

    piece: as it was ordered. cap: mm, the size of the group of matching pieces to which it belongs.
    """

    def __init__(self, piece: Piece, env: Env, cap: float | None, most: int) -> None:
        """Allow `most` pieces of usual length to be made; one with twice as many words counts for four."""
        self.piece, self.env = piece, env
        self._cap, self._left = cap, float(most)
        self._made: dict[Change, Piece | None] = {}

    def make(self, change: Change) -> Piece | None:
        """Return the piece as it comes out with the change; None if it has none, or patience is used up."""
        if change not in self._made:
            words = sum(len(text.split()) for _, text in changed(self.piece.order, change).words.filled())
            cost = max(1.0, words / USUAL_WORDS) ** 2
            if cost > self._left:
                return None
            self._left -= cost
            self._made[change] = remake(change, self.piece, self.env, self._cap)
        return self._made[change]


def clears(before: Piece, after: Piece, targets: Iterable[str]) -> bool:
    """Tell whether `after` is made, has none of the target problems, not even as a note, and none that `before` had not."""
    codes = {p.code for p in after.problems}
    return after.is_made and not codes & set(targets) and after.serious <= before.serious


def lacks_only_space(before: Piece, after: Piece, targets: Iterable[str]) -> bool:
    """Tell whether nothing is left of the target problems, and nothing new, but too little wood between letters."""
    between = {p.code for p in after.problems if p.code in NO_ROOM_BETWEEN and p.where.startswith("between")}
    elsewhere = {p.code for p in after.problems if p.level != "note" and not p.where.startswith("between")}
    return bool(between) and not elsewhere & set(targets) and elsewhere <= before.serious


def times_larger(piece: Piece, targets: Iterable[str]) -> float:
    """Return how many times larger the letters would have to be for every stroke and web to pass; 1 if they do."""
    sized = (TOO_FINE | NO_ROOM_BETWEEN) & set(targets)
    found = [(p.value, p.limit) for p in piece.problems if p.code in sized and p.level != "note"]
    return max(
        [
            1.0,
            *(limit / has for has, limit in found if isinstance(has, float) and isinstance(limit, float) and has > 0.0),
        ]
    )
