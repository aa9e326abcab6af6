"""The work of a table: its units, how each piece's files will be named, and what is asked of this run."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from engrave.approval import KeptOrders
from engrave.fingerprint import unit_key, with_rows
from engrave.intake import OrdersError
from engrave.on_disk import long_list
from engrave.output.names import file_names, lid_names
from engrave.output.week_folder import (
    UNREADABLE,
    pieces_told,
    unit_id,
)
from engrave.tasks import Task
from engrave.week import (
    What,
    belonging,
)


@dataclass(frozen=True, slots=True)
class Stems:
    """How a piece's files are named, without folder and ending: its lid's and its outline's, and its proof's."""

    lid: str
    proof: str


@dataclass(frozen=True, slots=True)
class Unit:
    """Pieces that have a say in one another, and how they are to be written.

    members: their places in the table. ident: what the store knows it by; key: the digest of all it is made from.
    write: which pieces' files are written; codes: the proof codes of the lids that lie there of those that are not.
    """

    members: tuple[int, ...]
    whats: tuple[What, ...]
    stems: tuple[Stems, ...]
    ident: str
    key: str
    write: tuple[bool, ...]
    codes: Mapping[str, str]

    @property
    def key_in_rows(self) -> str:
        """The key where something that is said of the unit names the rows it stands in."""
        return with_rows(self.key, self.whats)


def chosen_pieces(whats: Sequence[What], only: Sequence[str], piece: int | None) -> Container[int]:
    """Return indices of the pieces to be written: all, those of the orders named, or one of them."""
    if not only and piece is None:
        return range(len(whats))
    known = {what.order.id for what in whats}
    missing = [order for order in only if order not in known]
    if missing:
        raise OrdersError(f"--only names {', '.join(missing)}, but the table has no such order")
    found = {i for i, what in enumerate(whats) if not only or what.order.id in only}
    if piece is None:
        return found
    one = {i for i in found if whats[i].piece == piece}
    if len(only) != 1 or not one:
        pieces = f"the order has {len(found)}, from 1 on" if len(only) == 1 else "name one order with --only"
        raise OrdersError(f"--piece {piece}: there is no such piece; {pieces}")
    return one


def with_spoiled(whats: Sequence[What], out: Path, parts: Sequence[object]) -> Sequence[What]:
    """Return what is to be made, with the proof codes of lids that are to be cut again, as a week's folder lists them.

    parts: what many pieces have in common.
    """
    again = {(what.order.id, what.piece) for what in whats if what.order.recut}
    if not again:
        return whats
    codes: dict[tuple[str, int], Any] = {}
    with suppress(*UNREADABLE):
        codes = {
            key: (p.get("recut") or {"was": p["proof_code"]})["was"]
            for p in pieces_told(out)
            if (key := (p["order"], p["piece"])) in again
        }
    found = (
        replace(what, order=replace(what.order, recut_was=str(codes.get((what.order.id, what.piece)) or "")))
        if what.order.recut
        else what
        for what in whats
    )
    return long_list(found, parts)


def table_units(
    whats: Sequence[What], chosen: Container[int], around: str, codes: Mapping[str, str], store: KeptOrders
) -> Iterator[Unit]:
    """Yield the work of a table, in its order. store: what is kept under the codes that rows name is part of a unit."""
    stems = _stems_of(whats)
    for members in belonging(whats):
        some = tuple(whats[i] for i in members)
        named = tuple(stems[i] for i in members)
        ident = unit_id([(what.order.id, what.piece) for what in some])
        kept = "".join(store.named_by([what.order for what in some]))
        key = unit_key(around + kept, some, [(s.lid, s.proof) for s in named])
        lying = {n: codes[n] for w, s in zip(some, named, strict=True) for n in may_write(w, s) if n in codes}
        yield Unit(members, some, named, ident, key, tuple(i in chosen for i in members), lying)


@dataclass(frozen=True, slots=True)
class MayWrite:
    """The files that a run may come to. made: of pieces that it was told to make; else of those that it leaves out."""

    work: Sequence[Unit]
    made: bool = True

    def __iter__(self) -> Iterator[str]:
        """Yield the names, unit by unit."""
        return (name for unit in self.work for name in self.of(unit))

    def of(self, unit: Unit) -> Iterator[str]:
        """Yield the names of one unit's files."""
        for what, stems, write in zip(unit.whats, unit.stems, unit.write, strict=True):
            if write == self.made:
                yield from may_write(what, stems)


def _stems_of(whats: Iterable[What]) -> list[Stems]:
    keys = [
        (what.order.id, what.piece, *((what.lid.id, what.wood.id) if isinstance(what, Task) else ("", "")))
        for what in whats
    ]
    proofs = file_names([(order, 1) for order, *_ in keys])
    return [Stems(lid, proof) for lid, proof in zip(lid_names(keys), proofs, strict=True)]


def may_write(what: What, stems: Stems) -> tuple[str, ...]:
    """Return the files that a piece may come to; none for what is no lettering whatever happens."""
    if not isinstance(what, Task):
        return ()
    return (*(f"{place}/{stems.lid}.svg" for place in ("lids", "not_yet", "outlines")), *proof_names(stems))


def proof_names(stems: Stems) -> tuple[str, str]:
    """Return the names of a piece's proof as a picture and as a sheet to print."""
    return f"proofs/{stems.proof}.png", f"proofs/{stems.proof}.pdf"


def codes_lying(out: Path) -> dict[str, str]:
    """Return the proof codes of the lids that lie in a week's folder, by file, as its week.json lists them."""
    try:
        return {p["svg"]: p["proof_code"] for p in pieces_told(out) if p["svg"] and (out / p["svg"]).is_file()}
    except UNREADABLE:
        return {}
