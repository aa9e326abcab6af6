"""The folder of what was proved: a folder a code, written whole when its proof is made, and never altered."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from engrave.approval.facts import OrderFacts, PieceFacts, order_digest
from engrave.intake.order import Order
from engrave.making import Piece
from engrave.output.writing import sync
from engrave.setting import Lettering
from engrave.signs import CODE_SIGNS, signs_of
from engrave.stored import as_plain, read_as

KEPT = "kept"
"""Name of the folder, in the shop's folder where there is one, else in the week's."""

FACTS = "facts.json"
PART_FOLDER = ".part-"
"""How the name of a folder begins that is still being written; one left by a killed run is nobody's and is passed over."""

LENGTHS = range(6, 13, 2)
"""Signs that a code may have: six, and two more wherever two digests meet in the short form."""


CODE = re.compile(rf"[{CODE_SIGNS}]{{6,24}}")
"""What a code looks like, case and blanks apart."""


def as_code(approved: str) -> str:
    """Return what stands in the column `approved` as codes are written: capitals, without blanks and dashes."""
    return re.sub(r"[\s\-‐-―]+", "", approved).upper()


def code_of(facts: OrderFacts) -> str:
    """Return an order's code where nothing is kept."""
    return signs_of(bytes.fromhex(order_digest(facts)), LENGTHS[0])


class PruneError(ValueError):
    """What was asked of the kept folder cannot be done; the message says why."""


@dataclass(frozen=True, slots=True)
class KeptOrder:
    """What lies under a code. letterings: the exact geometry of each piece, in the order's order. made_with: the program."""

    code: str
    digest: str
    facts: OrderFacts
    letterings: tuple[Lettering, ...]
    made_with: str


@dataclass(frozen=True, slots=True)
class KeptOrders:
    """The folder of kept orders; it need not be there yet."""

    folder: Path

    def code_for(self, digest: str) -> str:
        """Return the shortest code that is free or already means this digest; what is damaged keeps its code taken."""
        code = ""
        for length in LENGTHS:
            code = signs_of(bytes.fromhex(digest), length)
            if self._digest_at(code) == digest or not os.path.lexists(self.folder / code):
                return code
        return code

    def keep(
        self, pieces: Sequence[Piece], facts: OrderFacts, svgs: Callable[[], Sequence[str]], made_with: str
    ) -> str:
        """Keep an order's geometry under its code, if it is not there yet, and return the code.

        svgs: draws a file a piece; asked for only if it is not there yet.

        Raises OSError where it cannot be written. Two runs that keep the same at once both end well: a folder is put in
        place whole by one renaming, and the second finds it there.
        """
        from shutil import rmtree  # words that are tried are kept by nobody
        from tempfile import mkdtemp

        digest = order_digest(facts)
        code = self.code_for(digest)
        if self._digest_at(code) == digest:
            return code
        drawn = svgs()
        self.folder.mkdir(exist_ok=True)  # what holds it is there; a week that vanished is not made anew
        part = Path(mkdtemp(prefix=PART_FOLDER, dir=self.folder))
        try:
            letterings = [piece.lettering for piece in pieces]
            told = {
                "digest": digest,
                "code": code,
                "made_with": made_with,
                "pieces": as_plain(list(facts)),
                "letterings": as_plain(letterings),
            }
            for number, svg in enumerate(drawn, 1):
                _written(part / f"{number}.svg", svg)
            _written(part / FACTS, json.dumps(told, ensure_ascii=True) + "\n")
            sync([part])
            os.rename(part, self.folder / code)
            sync([self.folder])
        except OSError:
            if self._digest_at(code) != digest:  # else another run was first
                raise
        finally:
            rmtree(part, ignore_errors=True)
        return code

    def find(self, code: str) -> KeptOrder | None:
        """Return what is kept under a code; None if nothing is, or what lies there is damaged."""
        told = self._read(code)
        if told is None:
            return None
        try:
            facts = tuple(read_as(PieceFacts, one) for one in told["pieces"])
            letterings = tuple(read_as(Lettering, one) for one in told["letterings"])
            if order_digest(facts) != told["digest"] or len(letterings) != len(facts):
                return None
            return KeptOrder(code, str(told["digest"]), facts, letterings, str(told["made_with"]))
        except (KeyError, TypeError, ValueError, RecursionError):
            return None

    def named_by(self, orders: Iterable[Order]) -> list[str]:
        """Return the digests of what lies under the codes that orders name, of a buyer's yes or of a spoiled lid."""
        codes = {
            code for order in orders for code in (as_code(order.approved), order.recut_was) if CODE.fullmatch(code)
        }
        return [digest for code in sorted(codes) if (digest := self._digest_at(code)) is not None]

    def listed(self) -> tuple[tuple[str, date, OrderFacts], ...]:
        """Return (code, day it was kept, facts) of all that is kept, oldest first."""
        found = []
        for place in sorted(self.folder.iterdir()) if self.folder.is_dir() else ():
            kept = self.find(place.name) if not place.name.startswith(".") else None
            if kept is not None:
                found.append((_kept_on(place / FACTS), kept))
        return tuple((kept.code, day, kept.facts) for day, kept in sorted(found, key=lambda one: (one[0], one[1].code)))

    def prune(self, older_than: timedelta, today: date) -> tuple[str, ...]:
        """Take away what was kept longer ago, and return its codes. Raises `PruneError` where that cannot be done."""
        from shutil import rmtree

        gone = [code for code, day, _ in self.listed() if today - day > older_than]
        for code in gone:
            try:
                rmtree(self.folder / code)
            except OSError as error:
                raise PruneError(f"{self.folder / code} cannot be taken away: {error.strerror or error}") from error
        return tuple(gone)

    def _digest_at(self, code: str) -> str | None:
        told = self._read(code)
        return None if told is None else str(told.get("digest"))

    def _read(self, code: str) -> dict[str, Any] | None:
        try:
            told = json.loads((self.folder / code / FACTS).read_text("utf-8"))
        except (OSError, ValueError, RecursionError):
            return None
        return told if isinstance(told, dict) else None


def _written(file: Path, text: str) -> None:
    with file.open("w", encoding="utf-8", newline="") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())


def _kept_on(file: Path) -> date:
    return datetime.fromtimestamp(file.stat().st_mtime).date()
