"""For words that lack room: how many letters of them would fit, in their own typeface and in a plainer one.

Each number is made and checked for room: so many letters from the words' beginning do fit. Somebody who writes to the buyer
can name it.
"""

from __future__ import annotations

from collections.abc import Sequence

from engrave.advising.codes import TOO_SMALL
from engrave.advising.nearness import character_of, typeface_of
from engrave.advising.trying import Change, Trials
from engrave.making import Env, Piece
from engrave.problems import held
from engrave.setting import least_cap
from engrave.typefaces import Typeface

SHORTENINGS = 4
"""Lengths tried for each typeface, halving between what fits and what does not."""

FEWEST_LETTERS = 3
"""Letters under which nothing is said: no words are so short."""

TRIES_OF_LETTERS = 12
"""Pieces of usual length made at most for it."""


LettersFit = tuple[str, str, int]
"""A typeface's id and title, and how many letters of the words would fit in it."""


def letters_that_fit(piece: Piece, env: Env) -> tuple[LettersFit, ...]:
    """Return the words' own typeface and then a plainer one, each with the letters that would fit in it.

    () where words do not lack room, or where they wait for an answer. A typeface in which hardly any fit is left out.
    """
    if piece.task is None or not piece.serious & TOO_SMALL or held(piece.order.problems):
        return ()
    trials = Trials(piece, env, None, TRIES_OF_LETTERS)
    own = typeface_of(piece, env)
    plainer = _plainer(piece, own, env)
    found = [(face, _letters(trials, face if face != own else "")) for face in (own, plainer) if face]
    return tuple((face, env.shelf.get(face).title, count) for face, count in found if count >= FEWEST_LETTERS)


def letters_told(letters: Sequence[LettersFit]) -> str:
    """Return the sentence that says how many letters would fit, '' for none."""
    told = [f"{count} in {title} ({face})" for face, title, count in letters]
    return f"So many letters of these words would fit: {', '.join(told)}." if told else ""


def _plainer(piece: Piece, own: str, env: Env) -> str:
    """Return the typeface with even strokes of the same kind in which the words, as small as they may be, are narrowest."""
    kind, task = env.shelf.kinds()[own], piece.task
    if task is None:
        return ""
    words = [(field, line) for field, text in task.words.filled() for line in text.split("\n")]
    letters = {c for _, line in words for c in line if c.isalpha()}

    def least_width(face: Typeface) -> float:
        return sum(face.shape(line).advance * least_cap(task, field, face) for field, line in words)

    even = [
        env.shelf.get(i) for i, k in env.shelf.kinds().items()
        if k == kind and i != own and character_of(i, env) == "even" and all(env.shelf.get(i).own(c) for c in letters)
    ]  # fmt: skip
    best = min(even, key=lambda face: (least_width(face), face.id), default=None)
    return best.id if best is not None else ""


def _letters(trials: Trials, face: str) -> int:
    """Return how many letters of the words fit in a typeface, '' for their own; 0 if none were found to."""
    words = trials.piece.task.words.filled() if trials.piece.task is not None else ()
    field, text = max(words, key=lambda pair: len(pair[1]), default=("", ""))
    beside = sum(_count(other) for name, other in words if name != field)
    fits, fails = 0, len(text) + (1 if face else 0)
    at = round(len(text) * _share(trials.piece))
    for _ in range(SHORTENINGS):
        if fails - fits <= 1:
            break
        at = at if fits < at < fails else (fits + fails) // 2
        if _has_room(trials, field, text[:at].rstrip(), face):
            fits = at
        else:
            fails = at
        at = 0
    return beside + _count(text[:fits]) if fits else 0


def _has_room(trials: Trials, field: str, text: str, face: str) -> bool:
    change: Change = ((field, text), ("typeface", face)) if face else ((field, text),)
    return trials.has_room(change)


def _share(piece: Piece) -> float:
    """Return the share of the words that may fit, by how much too small they are."""
    pairs = [(p.value, p.limit) for p in piece.problems if p.code in TOO_SMALL]
    shares = [v / w for v, w in pairs if isinstance(v, float) and isinstance(w, float) and 0.0 < v < w]
    return min(shares, default=0.6)


def _count(text: str) -> int:
    return sum(not c.isspace() for c in text)
