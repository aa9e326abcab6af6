"""Pieces that belong together get one size: the largest that all allow that will be cut."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from engrave.advising import Remedy, letters_that_fit, remedies, time_savers
from engrave.advising.word_lengths import LettersFit
from engrave.cutting.growth import growth_needed
from engrave.making import Env, How, Piece, make, make_any, rechecked, set_and_checked
from engrave.pricing import Recut
from engrave.pricing.recut import NONE
from engrave.problems import Problem, held
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
class Entry:
    """One piece of the week, the remedies found for it, and the cap height in mm that it would have alone.

    sign: what accepts the looks of its row, '' if there are none. recut: what lids cut again take. code: its order's
    proof code, None if it has none. letters: where words lack room, typefaces with the letters of them that would fit. leads: its size was proved and is kept, so that its matching pieces follow it.
    """

    piece: Piece
    remedies: tuple[Remedy, ...] = ()
    alone_mm: float | None = None
    sign: str = ""
    recut: Recut = NONE
    code: str | None = None
    leads: bool = False
    letters: tuple[LettersFit, ...] = ()

    def with_problems(self, *problems: Problem) -> Entry:
        """Return the entry with more that was found of its piece."""
        return replace(self, piece=replace(self.piece, problems=(*self.piece.problems, *problems)))


def units(whats: Sequence[What]) -> tuple[tuple[int, ...], ...]:
    """Group indices that must be made together: words with one matching value, everything else alone, in order.

    A drawing without words has no size that words could match.
    """
    together: dict[str, list[int]] = {}
    for i, what in enumerate(whats):
        matches = isinstance(what, Task) and what.order.matching and what.words.filled()
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


def make_unit(
    whats: Sequence[What], env: Env, proved: Mapping[int, Lettering | None] | None = None, *, advice: bool = True
) -> tuple[Entry, ...]:
    """Make pieces that belong together: at one size if there are several, each with its remedies.

    proved: what was proved of some of them and is to be cut so, by place in `whats`; the others follow its size. None
    for what its approval will hold: it follows and binds nobody. advice: that remedies are sought at once; else `advised`
    seeks them, for whoever wants the answer first.
    """
    alone = [make_any(what, env) for what in whats]
    if len(whats) == 1:
        return (_entry(alone[0], alone[0], env, None, advice),)
    proved = proved or {}
    held_back = {i for i, lettering in proved.items() if lettering is None}
    leading = _leading(whats, proved, env)
    if leading:
        pieces, cap = _beside_proved(whats, alone, leading, proved, env)
    else:
        pieces, cap = _among_themselves(whats, alone, proved, env)
    if cap is not None:
        pieces = [_following(whats[i], one, env, cap) if i in held_back else one for i, one in enumerate(pieces)]
    made = [_entry(p, a, env, cap, advice) for p, a in zip(pieces, alone, strict=True)]
    return tuple(replace(one, leads=i in leading) for i, one in enumerate(made))


def _entry(piece: Piece, alone: Piece, env: Env, cap: float | None, advice: bool) -> Entry:
    made = Entry(piece, (), _cap(alone))
    return with_remedies(made, env, cap) if advice else made


def with_remedies(entry: Entry, env: Env, cap: float | None = None) -> Entry:
    """Return an entry with what would help its piece. cap: mm, the size of its group."""
    found = remedies(entry.piece, env, cap)
    return replace(entry, remedies=found, letters=letters_that_fit(entry.piece, env))


def advised(entry: Entry, env: Env) -> Entry:
    """Return the entry of words that are tried with what would help, and with notes on what would save time."""
    return with_remedies(entry.with_problems(*time_savers(entry.piece, env)), env)


def _leading(whats: Sequence[What], proved: Mapping[int, Lettering | None], env: Env) -> dict[int, Lettering]:
    """Return what was proved of those that can still be cut so: what will not be cut binds nobody."""
    found = {}
    for i, lettering in proved.items():
        what = whats[i]
        if (
            lettering
            and isinstance(what, Task)
            and lettering.marks
            and not held(rechecked(what, lettering, env).problems)
        ):
            found[i] = lettering
    return found


def _among_themselves(
    whats: Sequence[What], alone: Sequence[Piece], proved: Mapping[int, Lettering | None], env: Env
) -> tuple[list[Piece], float | None]:
    """Set those at one size of which nothing was proved: what was, and can no longer be cut so, will be on hold.

    Where nobody is left, those of which a new proof is to be made are set at one size, so that it shows them so.
    """
    bound = [i for i in range(len(whats)) if i not in proved and alone[i].is_made]
    bound = bound or [i for i in range(len(whats)) if proved.get(i) is None]
    some, cap = _at_one_size([whats[i] for i in bound], [alone[i] for i in bound], env)
    pieces = list(alone)
    for i, piece in zip(bound, some, strict=True):
        pieces[i] = piece
    return pieces, cap


def _following(what: What, piece: Piece, env: Env, cap: float) -> Piece:
    """Return a piece that is held for its approval at its set's size, where it can be; its next proof shows it so."""
    if not piece.is_made or _cap(piece) == cap:
        return piece
    again = _again(what, piece, env, cap)
    return again if again.is_made else piece


def _beside_proved(
    whats: Sequence[What],
    alone: Sequence[Piece],
    leading: Mapping[int, Lettering],
    proved: Mapping[int, Lettering | None],
    env: Env,
) -> tuple[list[Piece], float | None]:
    """Set the others at the size that was proved, where they can be cut so; the rest at one size among themselves.

    What was proved and can no longer be cut so, and what its approval holds, is none of them.
    """
    cap = min(lettering.cap_mm for lettering in leading.values())
    share = min(weight for lettering in leading.values() for weight in _weights(lettering))
    whats = _weighing(whats, share)
    pieces = list(alone)
    apart = []
    for i, (what, piece) in enumerate(zip(whats, alone, strict=True)):
        if i in leading:
            if piece.lettering != leading[i]:
                pieces[i] = _again(what, piece, env, leading[i].cap_mm)
        elif i not in proved and piece.is_made and not (_cap(piece) == cap and _is_as_heavy(piece, share)):
            pieces[i] = _again(what, piece, env, cap)
            if not pieces[i].is_made:
                apart.append(i)
    rest, _ = _at_one_size([whats[i] for i in apart], [alone[i] for i in apart], env)
    for i, piece in zip(apart, rest, strict=True):
        pieces[i] = replace(piece, problems=(*piece.problems, _apart(piece, cap)))
    return pieces, cap


def _apart(piece: Piece, cap: float) -> Problem:
    says = (
        f"It matches a piece that was proved with {piece.lettering.size_is_of if piece.lettering else 'letters'} {cap:.1f} mm high and cannot be cut so: it is "
        f"{_cap(piece) or 0.0:.1f} mm. Cut it so, or make one new proof of all of them: empty their column approved."
    )
    return Problem("matching-apart", "look", says, "column matching", _cap(piece), cap)


def _at_one_size(whats: Sequence[What], alone: list[Piece], env: Env) -> tuple[list[Piece], float | None]:
    """Set the pieces that will be cut at the size of the smallest; what is on hold alone shrinks nobody.

    Pieces that come out alike by themselves (the same words on the same lid) are left so. Where one would be on hold at
    that size, the next is taken at which none is: a larger one first, as what is too thin grows with its letters.
    """
    made = [p for p in alone if p.is_made]
    caps = [cap for p in made if (cap := _cap(p)) is not None]
    if not caps:
        return alone, None
    if len({_looks(p) for p in made}) == 1:
        return alone, caps[0]
    share = _lightest(made)
    whats = _weighing(whats, share) if share is not None else whats
    cap = min(caps)
    first = _all_at(whats, alone, cap, share, env)
    if _all_made(first, alone):
        return first, cap
    larger = _larger_for_all(whats, alone, first, cap, share, env)
    if larger is not None:
        return larger
    return _smaller_for_all(whats, alone, first, cap, share, env)


def _all_at(
    whats: Sequence[What], alone: Sequence[Piece], cap: float, share: float | None, env: Env, how: How = make
) -> list[Piece]:
    """Return the members at one size. share: the weight of their lines, None where nobody asks for one.

    Whoever has just that size alone, and would be on hold in the set's even pitch, stays as alone.
    """
    pieces = [_again(what, p, env, cap, how) for what, p in zip(whats, alone, strict=True)]
    return [
        a if a.is_made and not p.is_made and _cap(a) == cap and (share is None or _is_as_heavy(a, share)) else p
        for p, a in zip(pieces, alone, strict=True)
    ]


def _all_made(pieces: Sequence[Piece], alone: Sequence[Piece]) -> bool:
    return all(p.is_made for p, a in zip(pieces, alone, strict=True) if a.is_made)


def _larger_for_all(
    whats: Sequence[What], alone: Sequence[Piece], pieces: Sequence[Piece], cap: float, share: float | None, env: Env
) -> tuple[list[Piece], float] | None:
    """Return the members at a size as much larger as those on hold lack, where all have room for it; None if it fails."""
    most = OVER_TASTE * min((_greatest(p, env) for p in alone if p.is_made), default=cap)
    for _ in range(GROWN_TRIED):
        lacking = [p for p, a in zip(pieces, alone, strict=True) if a.is_made and not p.is_made]
        growth = max(_growth(p) for p in lacking)
        cap *= growth * SIZE_OVER
        if growth <= 1.0 or cap > most:
            return None
        pieces = _all_at(whats, alone, cap, share, env, set_and_checked)
        if _all_made(pieces, alone):
            return _all_at(whats, alone, cap, share, env), cap
        if any(_cap(p) is None for p, a in zip(pieces, alone, strict=True) if a.is_made):
            return None
    return None


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


def _smaller_for_all(
    whats: Sequence[What], alone: Sequence[Piece], first: list[Piece], cap: float, share: float | None, env: Env
) -> tuple[list[Piece], float]:
    """Return the members at the next smaller size at which none is on hold; if there is none, all have a place."""
    sizes = [cap * SHRINK**step for step in range(SHRINK_STEPS)]
    placed = None
    for size in sizes:
        pieces = first if size == cap else _all_at(whats, alone, size, share, env, set_and_checked)
        if _all_made(pieces, alone):
            return _all_at(whats, alone, size, share, env), size
        if placed is None and all(_cap(p) is not None for p, a in zip(pieces, alone, strict=True) if a.is_made):
            placed = size
    return (first, cap) if placed in (None, cap) else (_all_at(whats, alone, placed, share, env), placed)


def _lightest(made: Sequence[Piece]) -> float | None:
    """Return the weight of the lightest lines of those that will be cut and ask for one, so that all match; None if none."""
    lettered = [p for p in made if p.lettering is not None and p.task is not None and _asks_for_weight(p.task)]
    return min((weight for p in lettered if p.lettering is not None for weight in _weights(p.lettering)), default=None)


def _weighing(whats: Sequence[What], share: float) -> list[What]:
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


def _weights(lettering: Lettering) -> list[float]:
    """Return how heavy a lettering's lines are, in cap heights; 0 for plain ones."""
    return [line.weight / line.cap_mm for line in lettering.lines if line.cap_mm > 0.0] or [0.0]


def _is_as_heavy(piece: Piece, share: float) -> bool:
    """Tell whether a piece's lines have a weight in cap heights, or need none: those of letters with a body."""
    if piece.task is None or piece.lettering is None or not _asks_for_weight(piece.task):
        return True
    return min(_weights(piece.lettering)) == share


def _cap(piece: Piece) -> float | None:
    """Cap height at which the piece was set; None if it has no place at all."""
    return piece.lettering.cap_mm if piece.lettering is not None and piece.lettering.marks else None


def _looks(piece: Piece) -> tuple[object, ...]:
    """Return what makes two pieces of a set look alike: their lines, as high, as heavy and where."""
    lines = piece.lettering.lines if piece.lettering is not None else ()
    return tuple((line.text, line.cap_mm, line.baseline, line.weight) for line in lines)


def _again(what: What, alone: Piece, env: Env, cap: float, how: How = make) -> Piece:
    """Return the member at the group's size; one that is on hold by itself keeps its own problems."""
    if not alone.is_made:
        return alone
    if isinstance(what, Task) and alone.task is not None:
        what = replace(what, tracking=alone.task.tracking)  # letters that were opened up to fit alone begin so
    return make_any(what, env, cap, how)
