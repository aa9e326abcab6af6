"""One unit put in place: its record, so that every file of ours is known, and then its files."""

from __future__ import annotations

import errno
import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from engrave.approval import KeptOrders
from engrave.batch.unit_drawn import DrawnEntry, draw_unit, failed_entry
from engrave.batch.work_units import Stems, Unit, proof_names
from engrave.making import Env, Piece
from engrave.output.page import Files, card, card_told
from engrave.output.sheets import bench_row
from engrave.output.week_folder import (
    Kept,
    digest_of,
    record,
    record_of,
)
from engrave.output.week_tables import entry
from engrave.output.writing import put_inside
from engrave.problems import Problem
from engrave.week import (
    Entry,
    What,
    remember,
)

RETRIED = frozenset({"failed", "took-too-long", "svg-not-in-form"})
"""Findings that are the program's own fault or a computer's bad moment: never kept, always tried again."""


@dataclass(frozen=True, slots=True)
class Failed:
    """Why a unit's files could not be written, as the system said it. files: what was announced, by name."""

    number: int
    says: str
    where: str | None
    files: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a process puts what it makes. part: how names of temporary files begin; heard: told of files to come.

    store: where proved geometry is kept.
    """

    folder: Path
    part: str
    store: KeptOrders | None = None
    heard: Callable[[Mapping[str, str]], None] | None = None


Answer = Kept | Failed


def make_and_put(number: int, unit: Unit, env: Env, place: Place) -> Answer:
    """Make a unit, put its record and its files in place, and return what the week remembers of it."""
    try:
        drawn = draw_unit(unit.whats, env, place.store)
    except OSError as error:  # what was proved could not be kept
        return _failed_writing(error, {})
    except Exception as error:  # what goes wrong between the pieces of a unit holds this unit only
        bare = [Entry(Piece(what.order, what.piece)) for what in unit.whats]
        drawn = [DrawnEntry(failed_entry(one, "This piece could not be worked out", error)) for one in bare]
    return put_unit(number, unit, drawn, env, place)


def _failed_writing(error: OSError, files: Mapping[str, str]) -> Failed:
    where = error.filename if isinstance(error.filename, str) else None
    return Failed(error.errno or errno.EIO, error.strerror or str(error), where, files)


def put_unit(number: int, unit: Unit, drawn: Sequence[DrawnEntry], env: Env, place: Place) -> Answer:
    """Put a unit's record in place, and then its files: so every file of ours is known, whatever ends the run."""
    names = [names_of(d, s) for d, s in zip(drawn, unit.stems, strict=True)]
    drawn = [d if w else _not_written(d, n.svg, unit.codes) for d, n, w in zip(drawn, names, unit.write, strict=True)]
    written = [files for d, n, w in zip(drawn, names, unit.write, strict=True) if w for files in _files(d, n)]
    names = [n if w else _lying(n, place.folder) for n, w in zip(names, unit.write, strict=True)]
    lasting = all(unit.write) and not any(p.code in RETRIED for d in drawn for p in d.entry.piece.problems)
    files = {name: digest_of(data) for name, data in written}
    remembered = [remember(d.entry) for d in drawn]
    told = [_told(d, n, unit, env) for d, n in zip(drawn, names, strict=True)]
    key = unit.key_in_rows if _names_rows([remembered, told], unit.whats) else unit.key
    kept = Kept(key if lasting else "", files, remembered)
    if place.heard is not None:
        place.heard(files)
    try:
        put_inside(place.folder / record_of(unit.ident), record(kept, told), place.part)
        for name, data in written:
            (place.folder / name).parent.mkdir(exist_ok=True)
            put_inside(place.folder / name, data, place.part)
    except OSError as error:
        return _failed_writing(error, files)
    return kept


def _names_rows(told: Any, whats: Sequence[What]) -> bool:
    """Tell whether anything that is said of a unit names a row of the table that it stands in."""
    rows = "|".join({str(what.order.row) for what in whats})
    return re.search(rf"rows? (?:\d+(?:, | and ))*(?:{rows})\b", json.dumps(told)) is not None


def _told(drawn: DrawnEntry, names: Files, unit: Unit, env: Env) -> dict[str, Any]:
    """Return what the week's own files say of a piece, as plain values."""
    one, order = drawn.entry, drawn.entry.piece.order
    siblings = sum(what.order.id == order.id for what in unit.whats)
    ident = f"p{sha256(repr((order.id, one.piece.piece)).encode()).hexdigest()[:10]}"
    told = entry(
        one.piece, one.remedies, names.svg, names.proof, names.outline, one.sign, one.recut, one.code, one.letters
    )
    return {
        "entry": {**told, "row": None},  # where it stands in the table and the plan is known when these are
        "card": card_told(card(ident, one, names, env.shop, siblings, drawn.approved)),
        "bench": bench_row(one.piece, env.shop, one.code) if one.piece.is_made else None,
    }


def names_of(drawn: DrawnEntry, stems: Stems) -> Files:
    """Return where a piece's files are to lie in the week's folder.

    Only what may be cut as it stands lies in lids/.
    """
    proof = proof_names(stems)[0] if drawn.proved else None
    if drawn.svg is None:
        return Files(proof=proof)
    place = "lids" if drawn.entry.piece.may_be_cut else "not_yet"
    outline = f"outlines/{stems.lid}.svg" if drawn.outline is not None else None
    return Files(f"{place}/{stems.lid}.svg", proof, outline)


def _lying(files: Files, folder: Path) -> Files:
    """Return those of a piece's files that are there: of a piece that this run leaves out."""
    lies = [name if name and (folder / name).is_file() else None for name in (files.svg, files.proof, files.outline)]
    return Files(*lies)


def _files(drawn: DrawnEntry, names: Files) -> list[tuple[str, str | bytes]]:
    every: list[tuple[str | None, str | bytes | None]] = [(names.svg, drawn.svg), (names.outline, drawn.outline)]
    if names.proof and drawn.proof:
        every += [(names.proof, drawn.proof.png), (f"{names.proof.removesuffix('.png')}.pdf", drawn.proof.pdf)]
    return [(name, data) for name, data in every if name is not None and data is not None]


def _not_written(drawn: DrawnEntry, svg: str | None, codes: Mapping[str, str]) -> DrawnEntry:
    """Mark a piece left out by --only: its files stay as they are, and the page says if they are of another time."""
    if svg is None or codes.get(svg) == drawn.entry.code:
        return drawn
    problem = Problem(
        "not-written",
        "look",
        "Its lid was not written this time, and what lies in the folder, if anything, is of an earlier run. "
        "Run the week without --only.",
    )
    return replace(drawn, entry=drawn.entry.with_problems(problem))
