"""Pieces with one matching value at one size: the smallest that each has alone, or the next at which none is on hold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from engrave.cutting.growth import growth_needed
from engrave.making import Env, How, Piece, finished, make, make_any, set_and_checked
from engrave.setting import Lettering, frame_of, greatest_cap
from engrave.tasks import Plain, Refused, Task

What = Task | Plain | Refused

SHRINK = 0.985
"""Where a member has no place at just the group's size (a knob in the way at that size, none larger or smaller), the
group tries sizes smaller by this factor: 1.5 % a step is below what an eye compares across two lids."""

SHRINK_STEPS = 12
"""Steps tried before such a member is given up: 17 % smaller would be paid for by all the others."""

OVER_TASTE = 1.2
"""Times the greatest capitals that taste allows on a lid which a set's member may have there, rather than have another of
the set on hold: that much is hardly seen, a gift that is missing is (our eye, no source)."""

GROWN_TRIED, SIZE_OVER = 3, 1.002
"""Larger sizes tried for a set of which a member would be on hold, and how much over what it lacks, for rounding."""


@dataclass(frozen=True, slots=True)
class _Members:
    """Pieces that will have one size: what each is, and each made alone; what is on hold alone stays so.

    share: the weight of their lines in cap heights, None where nobody asks for one.
    """

    whats: Sequence[What]
    alone: Sequence[Piece]
    share: float | None
    env: Env

    def at(self, cap: float, how: How = make) -> list[Piece]:
        """Return all at one size. Whoever has just that size alone, and would be on hold in the set's even pitch, stays so."""
        pieces = [again_at(what, a, self.env, cap, how) for what, a in zip(self.whats, self.alone, strict=True)]
        return [
            a if a.is_made and not p.is_made and cap_of(a) == cap and self._is_as_heavy(a) else p
            for p, a in zip(pieces, self.alone, strict=True)
        ]

    def _is_as_heavy(self, piece: Piece) -> bool:
        return self.share is None or has_share(piece, self.share)

    def bound(self, pieces: Sequence[Piece]) -> list[Piece]:
        """Return those of all at one size that will be cut if the set's size lets them."""
        return [p for p, a in zip(pieces, self.alone, strict=True) if a.is_made]

    def finished(self, pieces: Sequence[Piece]) -> list[Piece]:
        """Return pieces that were set and checked with toolpath, time and price; those that stay as alone have theirs."""
        trios = zip(self.whats, pieces, self.alone, strict=True)
        return [p if p is a else _finished(what, p, self.env) for what, p, a in trios]


def at_one_size(whats: Sequence[What], alone: list[Piece], env: Env) -> tuple[list[Piece], float | None]:
    """Set the pieces that will be cut at the size of the smallest; what is on hold alone shrinks nobody.

    Pieces that come out alike by themselves (the same words on the same lid) are left so. Where one would be on hold at
    that size, the next is taken at which none is: a larger one first, as what is too thin grows with its letters.
    """
    made = [p for p in alone if p.is_made]
    caps = [cap for p in made if (cap := cap_of(p)) is not None]
    if not caps:
        return alone, None
    if len({_looks(p) for p in made}) == 1:
        return alone, caps[0]
    share = _lightest(made)
    members = _Members(with_share(whats, share) if share is not None else whats, alone, share, env)
    cap = min(caps)
    first = members.at(cap)
    if _all_made(members, first):
        return first, cap
    return _larger_for_all(members, first, cap) or _smaller_for_all(members, first, cap)


def _larger_for_all(members: _Members, pieces: Sequence[Piece], cap: float) -> tuple[list[Piece], float] | None:
    """Return the members at a size as much larger as those on hold lack, where all have room for it; None if it fails."""
    most = OVER_TASTE * min(_greatest(p, members.env) for p in members.alone if p.is_made)
    for _ in range(GROWN_TRIED):
        growth = max(_growth(p) for p in members.bound(pieces) if not p.is_made)
        cap *= growth * SIZE_OVER
        if growth <= 1.0 or cap > most:
            return None
        pieces = members.at(cap, set_and_checked)
        if _all_made(members, pieces):
            return members.finished(pieces), cap
        if not _all_placed(members, pieces):
            return None
    return None


def _all_made(members: _Members, pieces: Sequence[Piece]) -> bool:
    return all(p.is_made for p in members.bound(pieces))


def _all_placed(members: _Members, pieces: Sequence[Piece]) -> bool:
    return all(cap_of(p) is not None for p in members.bound(pieces))


def _greatest(piece: Piece, env: Env) -> float:
    """Return the greatest capitals in mm that taste allows on a piece's lid."""
    task, laid = piece.task, piece.lettering
    frame = frame_of(task.area, task.tool.machine, task.tool.cutter, laid.groove, env.cache) if task and laid else None
    return greatest_cap(frame, task.setting) if task and frame else math.inf


def _growth(piece: Piece) -> float:
    """Return how much larger a piece's letters must be for what holds it to pass; 1 if that depends on nothing like it."""
    if piece.task is None or piece.lettering is None or not piece.lettering.marks:
        return 1.0
    holds = [p for p in piece.problems if p.level == "hold"]
    sizes = [(p.value, p.limit) for p in holds if p.code == "too-small"]
    read = [limit / cap for cap, limit in sizes if isinstance(cap, float) and isinstance(limit, float) and cap > 0.0]
    return max(growth_needed(holds, piece.lettering, piece.task.tool), *read, 1.0)


def _smaller_for_all(members: _Members, first: list[Piece], cap: float) -> tuple[list[Piece], float]:
    """Return the members at the next smaller size at which none is on hold; if there is none, where all have a place."""
    placed = None
    for step in range(1, SHRINK_STEPS):
        size = cap * SHRINK**step
        pieces = members.at(size, set_and_checked)
        if _all_made(members, pieces):
            return members.finished(pieces), size
        if placed is None and _all_placed(members, pieces):
            placed = (pieces, size)
    if placed is None or _all_placed(members, first):
        return first, cap
    return members.finished(placed[0]), placed[1]


def _lightest(made: Sequence[Piece]) -> float | None:
    """Return the weight of the lightest lines of those that will be cut and ask for one, so that all match; None if none."""
    lettered = [p for p in made if p.lettering is not None and p.task is not None and _asks_for_weight(p.task)]
    return min((weight for p in lettered if p.lettering is not None for weight in shares_of(p.lettering)), default=None)


def with_share(whats: Sequence[What], share: float) -> list[What]:
    """Return the members with single lines of one share of the capitals' height, those that ask for a weight."""
    shares = (share,) if share > 0.0 else ()
    return [
        replace(what, weighting=replace(what.weighting, shares=shares))
        if isinstance(what, Task) and what.weighting is not None and _asks_for_weight(what)
        else what
        for what in whats
    ]


def _asks_for_weight(task: Task) -> bool:
    return task.weighting is not None and bool(task.weighting.shares)


def shares_of(lettering: Lettering) -> list[float]:
    """Return how heavy a lettering's lines are, in cap heights; 0 for plain ones."""
    return [line.weight / line.cap_mm for line in lettering.lines if line.cap_mm > 0.0] or [0.0]


def has_share(piece: Piece, share: float) -> bool:
    """Tell whether a piece's lines have a weight in cap heights, or need none: those of letters with a body."""
    if piece.task is None or piece.lettering is None or not _asks_for_weight(piece.task):
        return True
    return min(shares_of(piece.lettering)) == share


def cap_of(piece: Piece) -> float | None:
    """Cap height at which the piece was set; None if it has no place at all."""
    return piece.lettering.cap_mm if piece.lettering is not None and piece.lettering.marks else None


def _looks(piece: Piece) -> tuple[object, ...]:
    """Return what makes two pieces of a set look alike: their lines, as high, as heavy and where."""
    lines = piece.lettering.lines if piece.lettering is not None else ()
    return tuple((line.text, line.cap_mm, line.baseline, line.weight) for line in lines)


def _finished(what: What, piece: Piece, env: Env) -> Piece:
    return make_any(what, env, how=lambda _what, _env, _cap: finished(piece, env))


def again_at(what: What, alone: Piece, env: Env, cap: float, how: How = make) -> Piece:
    """Return the member at the group's size; one that is on hold by itself keeps its own problems."""
    if not alone.is_made:
        return alone
    if isinstance(what, Task) and alone.task is not None:
        what = replace(what, tracking=alone.task.tracking)  # letters that were opened up to fit alone begin so
    return make_any(what, env, cap, how)
