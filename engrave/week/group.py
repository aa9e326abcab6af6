"""Pieces that belong together get one size: the largest that all allow that will be cut."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from engrave.advising import Remedy, letters_that_fit, remedies, time_savers
from engrave.advising.word_lengths import LettersFit
from engrave.making import Env, Piece, make_any, rechecked
from engrave.pricing import Recut
from engrave.pricing.recut import NONE
from engrave.problems import Problem, held
from engrave.setting import Lettering
from engrave.tasks import Task
from engrave.week.one_size import What, again_at, at_one_size, cap_of, has_share, shares_of, with_share


@dataclass(frozen=True, slots=True)
class Entry:
    """One piece of the week, the remedies found for it, and the cap height in mm that it would have alone.

    sign: what accepts the looks of its row, '' if there are none. recut: what lids cut again take. code: its order's
    proof code, None if it has none. letters: where words lack room, typefaces with the letters of them that would fit.
    leads: its size was proved and is kept, so that its matching pieces follow it.
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
    made = Entry(piece, (), cap_of(alone))
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
    some, cap = at_one_size([whats[i] for i in bound], [alone[i] for i in bound], env)
    pieces = list(alone)
    for i, piece in zip(bound, some, strict=True):
        pieces[i] = piece
    return pieces, cap


def _following(what: What, piece: Piece, env: Env, cap: float) -> Piece:
    """Return a piece that is held for its approval at its set's size, where it can be; its next proof shows it so."""
    if not piece.is_made or cap_of(piece) == cap:
        return piece
    again = again_at(what, piece, env, cap)
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
    share = min(weight for lettering in leading.values() for weight in shares_of(lettering))
    whats = with_share(whats, share)
    pieces = list(alone)
    apart = []
    for i, (what, piece) in enumerate(zip(whats, alone, strict=True)):
        if i in leading:
            if piece.lettering != leading[i]:
                pieces[i] = again_at(what, piece, env, leading[i].cap_mm)
        elif i not in proved and piece.is_made and not (cap_of(piece) == cap and has_share(piece, share)):
            pieces[i] = again_at(what, piece, env, cap)
            if not pieces[i].is_made:
                apart.append(i)
    rest, _ = at_one_size([whats[i] for i in apart], [alone[i] for i in apart], env)
    for i, piece in zip(apart, rest, strict=True):
        pieces[i] = replace(piece, problems=(*piece.problems, _apart(piece, cap)))
    return pieces, cap


def _apart(piece: Piece, cap: float) -> Problem:
    says = (
        f"It matches a piece that was proved with {piece.lettering.size_is_of if piece.lettering else 'letters'} {cap:.1f} mm high and cannot be cut so: it is "
        f"{cap_of(piece) or 0.0:.1f} mm. Cut it so, or make one new proof of all of them: empty their column approved."
    )
    return Problem("matching-apart", "look", says, "column matching", cap_of(piece), cap)
