"""Pieces that belong together get one size: the largest that all allow that will be cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from engrave.advising import Remedy, faster_typeface, remedies
from engrave.making import Env, Piece, make_any
from engrave.pricing import Recut
from engrave.pricing.recut import NONE
from engrave.tasks import Plain, Refused, Task

What = Task | Plain | Refused

SHRINK = 0.985
"""Where a member has no place at just the group's size (a knob in the way at that size, none larger or smaller), the
group tries sizes smaller by this factor: 1.5 % a step is below what an eye compares across two lids."""

SHRINK_STEPS = 12
"""Steps tried before such a member is given up: 17 % smaller would be paid for by all the others."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One piece of the week, the remedies found for it, and the cap height in mm that it would have alone.

    sign: what accepts the looks of its row, '' if there are none. recut: what lids cut again take. code: its order's
    proof code, None if it has none.
    """

    piece: Piece
    remedies: tuple[Remedy, ...] = ()
    alone_mm: float | None = None
    sign: str = ""
    recut: Recut = NONE
    code: str | None = None


def units(whats: Sequence[What]) -> tuple[tuple[int, ...], ...]:
    """Group indices that must be made together: those with one matching value, everything else alone, in order."""
    together: dict[str, list[int]] = {}
    for i, what in enumerate(whats):
        matches = isinstance(what, Task) and what.order.matching
        together.setdefault(f"matching {what.order.matching}" if matches else f"row {i}", []).append(i)
    return tuple(tuple(members) for members in together.values())


def belonging(whats: Sequence[What]) -> tuple[tuple[int, ...], ...]:
    """Group indices that have a say in one another: an order's pieces, and all pieces with one matching value, in order.

    Nothing outside such a group changes what becomes of it, so it can be made, kept and made anew by itself.
    """
    first: dict[tuple[str, str], int] = {}
    leads = list(range(len(whats)))

    def lead(i: int) -> int:
        while leads[i] != i:
            leads[i] = leads[leads[i]]
            i = leads[i]
        return i

    for i, what in enumerate(whats):
        for bond in (("order", what.order.id), ("matching", what.order.matching)):
            if bond[1]:
                one, other = sorted((lead(i), lead(first.setdefault(bond, i))))
                leads[other] = one
    groups: dict[int, list[int]] = {}
    for i in range(len(whats)):
        groups.setdefault(lead(i), []).append(i)
    return tuple(tuple(members) for members in groups.values())


def make_unit(whats: Sequence[What], env: Env) -> tuple[Entry, ...]:
    """Make pieces that belong together: at one size if there are several, each with its remedies."""
    alone = [make_any(what, env) for what in whats]
    if len(whats) == 1:
        return (_entry(alone[0], alone[0], env, None),)
    pieces, cap = _at_one_size(whats, alone, env)
    return tuple(_entry(p, a, env, cap) for p, a in zip(pieces, alone, strict=True))


def _entry(piece: Piece, alone: Piece, env: Env, cap: float | None) -> Entry:
    note = faster_typeface(piece, env, cap)
    noted = replace(piece, problems=(*piece.problems, note)) if note else piece
    return Entry(noted, remedies(piece, env, cap), _cap(alone))


def _at_one_size(whats: Sequence[What], alone: list[Piece], env: Env) -> tuple[list[Piece], float | None]:
    """Set the pieces that will be cut at the size of the smallest; what is on hold alone shrinks nobody.

    Pieces that come out alike by themselves (the same words on the same lid) are left so.
    """
    made = [p for p in alone if p.is_made]
    caps = [cap for p in made if (cap := _cap(p)) is not None]
    if not caps:
        return alone, None
    if len({_looks(p) for p in made}) == 1:
        return alone, caps[0]
    cap = min(caps)
    for _ in range(SHRINK_STEPS):
        pieces = [_again(what, p, env, cap) for what, p in zip(whats, alone, strict=True)]
        if all(_cap(p) is not None for p, a in zip(pieces, alone, strict=True) if a.is_made):
            return pieces, cap
        cap *= SHRINK
    cap = min(caps)
    return [_again(what, p, env, cap) for what, p in zip(whats, alone, strict=True)], cap


def _cap(piece: Piece) -> float | None:
    """Cap height at which the piece was set; None if it has no place at all."""
    return piece.lettering.cap_mm if piece.lettering is not None and piece.lettering.marks else None


def _looks(piece: Piece) -> tuple[object, ...]:
    """Return what makes two pieces of a set look alike: their lines, as high and where."""
    lines = piece.lettering.lines if piece.lettering is not None else ()
    return tuple((line.text, line.cap_mm, line.baseline) for line in lines)


def _again(what: What, alone: Piece, env: Env, cap: float) -> Piece:
    """Return the member at the group's size; one that is on hold by itself keeps its own problems."""
    if not alone.is_made:
        return alone
    if isinstance(what, Task) and alone.task is not None:
        what = replace(what, tracking=alone.task.tracking)  # letters that were opened up to fit alone begin so
    return make_any(what, env, cap)
