"""The steps of a plan: of a long week's only the figures are in memory."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import overload

from engrave.on_disk import FEW_THINGS

_FIGURES, _NONE = 4, -1
"""Figures of a step, and what stands for none."""


@dataclass(frozen=True, slots=True)
class Step:
    """One piece in the order of work. day: index into the plan's days; on: its date, if the start is known.

    late: days after `due`; None if nothing is promised or no start was given.
    """

    entry: int
    day: int
    on: date | None
    late: int | None


def listed(steps: Iterable[Step], most: int) -> Sequence[Step]:
    """Return steps as a sequence. most: how many there may be."""
    return tuple(steps) if most <= FEW_THINGS else OrderOfWork(steps)


class OrderOfWork(Sequence[Step]):
    """The order of work of a long week, of which only the figures are held."""

    def __init__(self, steps: Iterable[Step]) -> None:
        self._figures = array("q")
        for step in steps:
            on = step.on.toordinal() if step.on else _NONE
            self._figures.extend((step.entry, step.day, on, _NONE if step.late is None else step.late))

    def __len__(self) -> int:
        """Return how many pieces there are in it."""
        return len(self._figures) // _FIGURES

    @overload
    def __getitem__(self, place: int) -> Step: ...

    @overload
    def __getitem__(self, place: slice) -> tuple[Step, ...]: ...

    def __getitem__(self, place: int | slice) -> Step | tuple[Step, ...]:
        """Return a step, or several, by their places."""
        every = range(len(self))[place]
        return self._step(every) if isinstance(every, int) else tuple(self._step(i) for i in every)

    def _step(self, place: int) -> Step:
        entry, day, on, late = self._figures[_FIGURES * place : _FIGURES * (place + 1)]
        return Step(entry, day, None if on == _NONE else date.fromordinal(on), None if late == _NONE else late)

    def __eq__(self, other: object) -> bool:
        """Tell whether another holds the same steps."""
        return self._figures == other._figures if isinstance(other, OrderOfWork) else NotImplemented

    __hash__ = None  # type: ignore[assignment]  # as of any list
