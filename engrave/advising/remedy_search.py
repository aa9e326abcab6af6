"""Remedies: change what was ordered, make the piece again, and offer only what really helps.

What helps is not judged but tried. Changes are tried from near to far, and offered in that order (see `how_near`): first
what keeps words and lid, machine, typeface and character of letter, such as more space between letters or another bit;
then another machine; then another typeface; then fewer words or another lid. Trying stops where enough is found, or when
the shop's patience (`PIECES_TRIED`) is used up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice

from engrave.advising.codes import CANNOT_CUT, GROOVE, HELPABLE, NO_TOOL, TOO_FINE, TOO_SMALL
from engrave.advising.measured import at_depth, spaced, thicker
from engrave.advising.nearness import how_near
from engrave.advising.others import (
    fewer_words,
    larger_lids,
    larger_settings,
    other_cutter_and_setting,
    other_cutter_and_typeface,
    other_cutters,
    other_settings,
    other_typefaces,
)
from engrave.advising.trying import Candidate, Change, Trials, lacks_only_space, leaves, times_larger
from engrave.cutting.letter_room import NO_ROOM_BETWEEN
from engrave.findings import FINDINGS, FindingCode
from engrave.making import Env, Piece, finished
from engrave.problems import held
from engrave.shop.line_weights import AUTO

MOST_SHOWN = 3
"""Remedies shown at most: more than three is a list to study, not an answer."""

ENOUGH_NEAR = 2
"""Remedies that keep machine, typeface, words and lid after which nothing farther is tried."""

PIECES_TRIED = 24
"""Pieces of usual length made at most in search of remedies: a second or so, on a piece that is looked at anyway."""

BLIND = 4
"""Cutters of a machine tried where there are no letters yet from which to tell which of them may pass."""

CUTTERS_TRIED, SETTINGS_TRIED, TYPEFACES_TRIED, LIDS_TRIED, PAIRS_TRIED = 3, 2, 5, 3, 6
"""Candidates tried of a kind, likest first: a list of three shall not be three bits where another typeface helps too."""


@dataclass(frozen=True)
class Remedy:
    """A change that was tried and works: columns of the orders table to their new values, said in a sentence.

    checked: the piece as it was tried; None of one that is only remembered. leaves: all that is then to be looked at, said
    in `says` too. env: with what it was made.
    """

    change: Change
    says: str
    checked: Piece | None
    leaves: tuple[FindingCode, ...] = ()
    env: Env | None = field(default=None, repr=False, compare=False)

    @cached_property
    def piece(self) -> Piece | None:
        """The piece as it comes out with the change made, timed and priced when somebody asks; None if only remembered."""
        return finished(self.checked, self.env) if self.checked is not None and self.env is not None else self.checked


def remedies(piece: Piece, env: Env, cap: float | None = None) -> tuple[Remedy, ...]:
    """Return at most three changes that help the piece, each made and checked, nearest to what was ordered first.

    cap: mm, the size of the group of matching pieces to which it belongs. What the order itself is held for (a question to
    the buyer) no change of ours clears: then nothing is tried.
    """
    targets = set(piece.serious & HELPABLE)
    if not targets or held(piece.order.problems):
        return ()
    trials = Trials(piece, env, cap, PIECES_TRIED)
    found: list[Remedy] = []
    for changes in LEVELS:
        if _enough(found, trials):
            break
        found += _working(changes(trials, targets, found), trials, targets, MOST_SHOWN - len(found))
    return tuple(sorted(found, key=lambda r: _nearness(r, trials))[:MOST_SHOWN])


def _nearness(remedy: Remedy, trials: Trials) -> tuple[int, int, bool, int, int]:
    assert remedy.checked is not None  # it was tried just now
    return how_near(remedy.change, len(remedy.leaves), trials.piece, remedy.checked, trials.env)


def _enough(found: Sequence[Remedy], trials: Trials) -> bool:
    """Tell whether nothing farther need be tried."""
    near = [r for r in found if _nearness(r, trials)[:2] == (0, 0)]
    return len(near) >= ENOUGH_NEAR or len(found) >= MOST_SHOWN


def _working(candidates: Iterable[Candidate], trials: Trials, targets: set[str], most: int) -> list[Remedy]:
    """Return those that work, first as they are, then those that do with more space or another depth as well.

    What leaves nothing to be looked at counts, but for what no change helps: of those at most so many are sought.
    """
    found, nearly = [], list[Candidate]()
    stays = trials.piece.serious - HELPABLE
    for candidate in candidates:
        trial = trials.make(candidate.change)
        remedy = _remedy(candidate, trials, targets)
        if remedy is not None:
            found.append(remedy)
            if sum(stays.issuperset(r.leaves) for r in found) >= most:
                return found
        elif trial is not None and (lacks_only_space(trials.piece, trial, targets) or _lacks_only_depth(trial)):
            nearly.append(candidate)
    for first in nearly[: max(0, most - len(found))]:
        more = at_depth(trials, first.change) or spaced(trials, first.change)
        says = f"{first.says} and {more.says[:1].lower()}{more.says[1:]}" if more else ""
        remedy = _remedy(Candidate(more.change, says), trials, targets) if more else None
        if remedy is not None:
            found.append(remedy)
    return found


def _lacks_only_depth(trial: Piece) -> bool:
    """Tell whether only the wood beside a groove is too thin, as a shallower one might leave it."""
    holds = {p.code for p in trial.problems if p.level == "hold"}
    lines = trial.lettering is not None and trial.lettering.kind == "single-line"
    return bool(holds) and holds <= NO_ROOM_BETWEEN and (lines or holds == {"web-under-depth"})


def _remedy(candidate: Candidate, trials: Trials, targets: set[str]) -> Remedy | None:
    """Return the candidate as a remedy if it helps and does no harm in the order's other areas."""
    trial = trials.make(candidate.change)
    left = leaves(trials.piece, trial, targets) if trial is not None else None
    if trial is None or left is None or trial.lettering is None or not trials.spares_others(candidate.change):
        return None
    says = f"{candidate.says}: comes out with {trial.lettering.size_is_of} {trial.lettering.cap_mm:.1f} mm high"
    if left:
        says += f"; to be looked at then: {', '.join(dict.fromkeys(FINDINGS[code].means for code in left))}"
    return Remedy(candidate.change, says, trial, left, trials.env)


# --- what is tried, from near to far ----------------------------------------------------------------------------------


def _near(trials: Trials, targets: set[str], _: Sequence[Remedy]) -> Iterator[Candidate]:
    """Yield changes that keep words, lid, machine and typeface, those that are seen least first."""
    piece, env = trials.piece, trials.env
    if targets & (CANNOT_CUT | TOO_SMALL) and piece.order.matching:
        yield Candidate((("matching", ""),), "Set it at its own size, apart from its matching pieces")
    if targets & NO_ROOM_BETWEEN and (wider := spaced(trials)):
        yield wider
    if targets & (NO_ROOM_BETWEEN | GROOVE) and (deep := at_depth(trials)):
        yield deep
    if "groove-light" in targets and piece.order.line_weight != AUTO:
        yield Candidate((("line_weight", AUTO),), "Draw the lines with a weight (line_weight auto)")
    if targets & (CANNOT_CUT | NO_TOOL):
        yield from islice(other_cutters(piece, env, targets, here=True), CUTTERS_TRIED if piece.lettering else BLIND)
    if targets & TOO_FINE and (thick := thicker(trials)):
        yield thick
    if targets & CANNOT_CUT:
        yield from islice(larger_settings(piece, env, targets), 1)
    if targets & TOO_SMALL:
        yield from islice(other_settings(piece, env), SETTINGS_TRIED)


def _other_machine(trials: Trials, targets: set[str], _: Sequence[Remedy]) -> Iterator[Candidate]:
    """Yield cutters of another machine."""
    if targets & (CANNOT_CUT | NO_TOOL):
        yield from islice(other_cutters(trials.piece, trials.env, targets, here=False), CUTTERS_TRIED)


def _other_typeface(trials: Trials, targets: set[str], _: Sequence[Remedy]) -> Iterator[Candidate]:
    yield from islice(other_typefaces(trials.piece, trials.env, targets), TYPEFACES_TRIED)


def _less_or_larger(trials: Trials, targets: set[str], _: Sequence[Remedy]) -> Iterator[Candidate]:
    """Yield fewer words and larger lids: another sale."""
    yield from fewer_words(trials.piece)
    if targets & (TOO_SMALL | CANNOT_CUT):
        yield from islice(larger_lids(trials.piece, trials.env, targets), LIDS_TRIED)


def _two_changes(trials: Trials, targets: set[str], found: Sequence[Remedy]) -> Iterator[Candidate]:
    """Yield changes of two columns, for what no single one helps without another sale."""
    if targets & (CANNOT_CUT | NO_TOOL) and not found:
        if targets & TOO_SMALL or trials.piece.task is None:
            yield from other_cutter_and_setting(trials.piece, trials.env)
        yield from islice(other_cutter_and_typeface(trials.piece, trials.env, targets), PAIRS_TRIED)


Widening = Callable[[Trials, set[str], Sequence[Remedy]], Iterator[Candidate]]

LEVELS: tuple[Widening, ...] = (_near, _other_machine, _other_typeface, _two_changes, _less_or_larger)
"""What is tried, from near to far; a kind of change that a shop can make has its place here once."""


MOST_TIMES_TOLD = 20.0
"""Times that letters may have to be larger for it to be said: beyond, size is not what they lack."""


def nothing_helps(piece: Piece, found: Sequence[Remedy]) -> str:
    """Return what to say where changes were tried and none helps, '' where one does or none was asked for."""
    targets = piece.serious & HELPABLE
    if found or not targets or held(piece.order.problems):
        return ""
    times = times_larger(piece, targets)
    if piece.lettering is None or times <= 1.0 or times > MOST_TIMES_TOLD:
        return "Nothing that was tried would help; the words or the lid must change."
    return (
        f"Nothing that was tried would help: the letters would have to be {times:.1f} times as large, with "
        f"{piece.lettering.size_is_of} of {times * piece.lettering.cap_mm:.0f} mm. The words or the lid must change."
    )
