"""What an attack is, and what can go wrong under one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Literal, Protocol, get_args

Kind = Literal["traceback", "failed", "hang", "lost", "half-written", "stale", "mixed", "left running"]

KINDS: tuple[Kind, ...] = get_args(Kind)
"""traceback: an error of ours reached the user, or the process died. failed: a piece was held as a fault of ours.
hang: over ten seconds of CPU. lost: something of the shop's, or an answer to a row, is gone. half-written: a file under
its final name is neither as it was nor as it will be. stale: what is old passes for new. mixed: two weeks in one folder.
left running: a process outlived its run."""

HANG_S = 10.0
"""Seconds of CPU from which an answer counts as a hang (the project's own bound)."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that went wrong. says: what, for whoever mends it."""

    kind: Kind
    says: str


class Attack(Protocol):
    """One kind of attack. A case is bytes: the hostile file itself, or JSON that says what is done when.

    name: as the table prints it. share: its part of the time, beside those of the others. suffix: of its case files.
    full: how many cases `--full` takes.
    """

    name: str
    share: float
    suffix: str
    full: int

    def make(self, random: Random) -> bytes:
        """Return a case; the same one for the same state of `random`."""
        ...

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Put the case to the program in an empty folder; yield what went wrong. An exception is a traceback."""
        ...
