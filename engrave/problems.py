"""What can be wrong with an order, as data: a finding is a value, and its fix is found elsewhere."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from engrave.findings import FindingCode, Level

__all__ = ["Level", "Problem", "Verdict", "held", "verdict"]

Verdict = Literal["ready", "waiting", "look", "hold"]

_RANK: dict[str, int] = {"note": 0, "look": 1, "hold": 2}
_VERDICTS: tuple[Verdict, ...] = ("ready", "look", "hold")

NOT_APPROVED: FindingCode = "not-approved"
"""Code of the note that a piece waits for its buyer's yes: nothing is wrong with it, and it is not cut yet."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One finding about one piece.

    code: short and stable, for scripts ('does-not-fit', 'stroke-too-thin'); `findings` lists them all.
    level: 'note' (worth knowing), 'look' (made, but a person should look), 'hold' (not made).
    says: a sentence for people: what, why, what to do.
    where: row, column, character or place ('row 7, column wood', 'the second n of Hannah').
    value, limit: the measured figure and what it was held against, in mm where lengths.
    """

    code: FindingCode
    level: Level
    says: str
    where: str = ""
    value: float | str | None = None
    limit: float | str | None = None


def verdict(problems: Iterable[Problem]) -> Verdict:
    """Return the verdict on a piece: the highest level among its problems, notes counting as ready.

    A piece that would be ready and has not been approved where that is required is waiting.
    """
    found = tuple(problems)
    worst = max((_RANK[p.level] for p in found), default=0)
    return "waiting" if not worst and any(p.code == NOT_APPROVED for p in found) else _VERDICTS[worst]


def held(problems: Iterable[Problem]) -> bool:
    """Tell whether any of the problems keeps the piece from being made."""
    return any(p.level == "hold" for p in problems)
