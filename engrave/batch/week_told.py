"""What the week's own files say of each piece, read from the store as they are written."""

from __future__ import annotations

import errno
from array import array
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from engrave.batch.work_units import Unit
from engrave.on_disk import Places
from engrave.output.page import Card, card_read, outlined
from engrave.output.week_folder import (
    UNIT_LETTERS,
    FolderGone,
    record_of,
    told_lines,
    told_of,
)
from engrave.output.week_tables import Planned

AT_HAND = 2_000_000
"""Bytes of records kept at hand while the pages are written: rows of one unit mostly stand near each other."""


class ToldWeek:
    """What the week's files say of each piece, read from the store as they are written, in the table's order.

    pieces: how many there are. plan: what the week's plan says of those that are in it, by their place in the table.
    """

    def __init__(self, folder: Path, work: Sequence[Unit], pieces: int, plan: Planned) -> None:
        self._folder, self._plan = folder, plan
        self._idents = bytearray()  # of all units, one behind the other
        self._unit, self._number, self._rows = (array("q", [0]) * pieces for _ in range(3))
        for unit in work:
            for number, (i, what) in enumerate(zip(unit.members, unit.whats, strict=True)):
                self._unit[i], self._number[i], self._rows[i] = len(self._idents), number, what.order.row
            self._idents += unit.ident.encode()
        self._at_hand: OrderedDict[str, list[bytes]] = OrderedDict()
        self._bytes = 0

    def entries(self, cards: Places[Card] | None = None) -> Iterator[dict[str, Any]]:
        """Yield the entries of week.json; cards: places that take up each one's card, as much of it as all can be held."""
        for i in range(len(self._rows)):
            told = self._of(i)
            if cards is not None:
                cards[i] = outlined(card_read(told["card"]))
            moves = {"row": self._rows[i] or None, "plan": self._plan.of(i)}  # both hang on the rest of the table
            yield {**told["entry"], **moves}

    def cards(self) -> Iterator[Card]:
        """Yield the cards in full."""
        for i in range(len(self._rows)):
            yield card_read(self._of(i)["card"])

    def bench(self, i: int) -> dict[str, Any]:
        """Return what the bench list says of a piece that is in the plan."""
        return dict(self._of(i)["bench"])

    def _of(self, i: int) -> dict[str, Any]:
        unit = self._idents[self._unit[i] : self._unit[i] + UNIT_LETTERS].decode()
        try:
            return told_of(self._lines(unit)[self._number[i]])
        except (ValueError, LookupError) as error:
            raise FolderGone(errno.EIO, f"{record_of(unit)} was changed while it was read") from error

    def _lines(self, unit: str) -> list[bytes]:
        """Return a unit's lines; those that nobody asked for lately are let go."""
        found = self._at_hand.pop(unit, None)
        if found is None:
            found = told_lines(self._folder, unit)
            self._bytes += sum(map(len, found))
        self._at_hand[unit] = found
        while self._bytes > AT_HAND and len(self._at_hand) > 1:
            self._bytes -= sum(map(len, self._at_hand.popitem(last=False)[1]))
        return found
