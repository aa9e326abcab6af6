"""Remedies: change what was ordered, make the piece again, and offer only what really helps.

A remedy clears the problem it is for and adds none; that is not judged but tried. They are tried in the order of how
little they change for the buyer: more space between letters is hardly seen and another bit is the shop's own business,
another typeface is seen, a left-out message is missed. One column is changed, and where only the space between letters
is still too small then, that as well. Trying stops at three that work, or when the shop's patience (`TRIES`) is used up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from engrave.advising.codes import CANNOT_CUT, HELPABLE, NO_TOOL, TOO_FINE, TOO_SMALL
from engrave.advising.measured import spaced, thicker
from engrave.advising.others import (
    fewer_words,
    larger_lids,
    other_cutter_and_typeface,
    other_cutters,
    other_settings,
    other_typefaces,
)
from engrave.advising.trying import Candidate, Change, Trials, clears, lacks_only_space, times_larger
from engrave.cutting.letter_room import NO_ROOM_BETWEEN
from engrave.making import Env, Piece, finished

MOST_SHOWN = 3
"""Remedies shown at most: more than three is a list to study, not an answer."""

TRIES = 20
"""Pieces of usual length made at most in search of remedies: a second or so, on a piece that is looked at anyway."""

BLIND = 6
"""Cutters tried where there are no letters yet from which to tell which of them may pass."""

CUTTERS, TYPEFACES, LIDS, PAIRS = 3, 5, 3, 6
"""Candidates tried of a kind, likest first: a list of three shall not be three bits where another typeface helps too."""


LEAST_SEEN_FIRST = ("spacing", "cutter", "matching", "thicken", "setting", "typeface", "foot", "message", "lid")
"""Columns by how little a change in them is seen: a hair of space and another bit hardly, another lid is another sale."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change that was tried and works: columns of the orders table to their new values, said in a sentence.

    piece: the piece as it comes out with the change made.
    """

    change: Change
    says: str
    piece: Piece


def remedies(piece: Piece, env: Env, cap: float | None = None) -> tuple[Remedy, ...]:
    """Return at most three changes that clear the piece's problems, each made and checked, best first.

    cap: mm, the size of the group of matching pieces to which it belongs.
    """
    targets = set(piece.serious & HELPABLE)
    if not targets:
        return ()
    trials = Trials(piece, env, cap, TRIES)
    found = list(islice(_working(_one_change(trials, targets), trials, targets), MOST_SHOWN))
    found = found or list(islice(_working(_two_changes(trials, targets), trials, targets), MOST_SHOWN))
    return tuple(sorted(found, key=_seen_by_the_buyer))


def _seen_by_the_buyer(remedy: Remedy) -> tuple[int, int]:
    """Return how much of what was ordered a remedy changes: its most visible column, then how many they are."""
    return (max(LEAST_SEEN_FIRST.index(column) for column, _ in remedy.change), len(remedy.change))


def _working(candidates: Iterable[Candidate], trials: Trials, targets: set[str]) -> Iterator[Remedy]:
    """Yield those that work, first as they are, then those that do with more space between the letters as well."""
    nearly: list[Candidate] = []
    for candidate in candidates:
        trial = trials.make(candidate.change)
        if trial is not None and clears(trials.piece, trial, targets):
            if trials.spares_others(candidate.change):
                yield _remedy(candidate, trial, trials.env)
        elif trial is not None and lacks_only_space(trials.piece, trial, targets):
            nearly.append(candidate)
    for first in nearly:
        wider = spaced(trials, first.change)
        again = trials.make(wider.change) if wider else None
        if wider is None or again is None or not clears(trials.piece, again, targets):
            continue
        if trials.spares_others(wider.change):
            says = f"{first.says} and {wider.says[:1].lower()}{wider.says[1:]}"
            yield _remedy(Candidate(wider.change, says), again, trials.env)


def _remedy(candidate: Candidate, trial: Piece, env: Env) -> Remedy:
    assert trial.lettering is not None  # what clears is made
    says = f"{candidate.says}: comes out with capitals {trial.lettering.cap_mm:.1f} mm high"
    return Remedy(candidate.change, says, finished(trial, env))


def _one_change(trials: Trials, targets: set[str]) -> Iterator[Candidate]:
    """Yield changes worth trying, those that change least for the buyer first."""
    piece, env = trials.piece, trials.env
    if targets & (CANNOT_CUT | TOO_SMALL) and piece.order.matching:
        yield Candidate((("matching", ""),), "Set it at its own size, apart from its matching pieces")
    if targets & NO_ROOM_BETWEEN and (wider := spaced(trials)):
        yield wider
    if targets & (CANNOT_CUT | NO_TOOL):
        yield from islice(other_cutters(piece, env, targets), CUTTERS if piece.lettering else BLIND)
    if targets & TOO_FINE and (thick := thicker(trials)):
        yield thick
    if targets & TOO_SMALL:
        yield from other_settings(piece, env)
    yield from islice(other_typefaces(piece, env, targets), TYPEFACES)
    yield from fewer_words(piece)
    if targets & (TOO_SMALL | CANNOT_CUT):
        yield from islice(larger_lids(piece, env, targets), LIDS)


def _two_changes(trials: Trials, targets: set[str]) -> Iterator[Candidate]:
    """Yield changes of two columns, for what no single one helps."""
    if targets & (CANNOT_CUT | NO_TOOL):
        yield from islice(other_cutter_and_typeface(trials.piece, trials.env, targets), PAIRS)


def nothing_helps(piece: Piece, found: Sequence[Remedy]) -> str:
    """Return what to say where changes were tried and none helps, '' where one does or none was asked for."""
    targets = piece.serious & HELPABLE
    if found or not targets:
        return ""
    times = times_larger(piece, targets)
    if piece.lettering is None or times <= 1.0:
        return "Nothing that was tried would help; the words or the lid must change."
    return (
        f"Nothing that was tried would help: the letters would have to be {times:.1f} times as large, with capitals "
        f"of {times * piece.lettering.cap_mm:.0f} mm. The words or the lid must change."
    )
