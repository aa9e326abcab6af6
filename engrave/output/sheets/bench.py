"""The bench list: two or three sheets that run a week of lids beside the machine, a row a lid in the order of work."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from engrave.output.bench_cautions import ABOVE_ALL, cautions
from engrave.output.numbers import bench_length, count, due_told, in_shop_units
from engrave.output.pictures import Scene, scene
from engrave.output.pictures.fittings import fitting_kind, is_metal
from engrave.output.pictures.vectors import drawing, drawn
from engrave.output.quotation import quoted
from engrave.output.sheets.sheet_layout import common_paper
from engrave.output.typesetting import typesetter_for
from engrave.output.words_on_lid import words_cut
from engrave.units import duration
from engrave.week.totals import lids_of

if TYPE_CHECKING:
    from engrave.making import Piece
    from engrave.shop import Shop
    from engrave.shop.models import KeepOut
    from engrave.typefaces import Shelf
    from engrave.week import Plan, Week

THUMB_MM = (29.0, 14.5)
"""mm: the box that a lid's small picture fits in, width and height."""

HAIRLINE_MM = 0.12
"""mm: least width of a line on the sheet; finer ones are lost in print."""

MOST_WORDS = 90
"""Characters of the words on a row; the proof has them all."""

INK, LID_TONE, EDGE_TONE = "#2f2218", "#f3e9d8", "#8b7a63"
FITTING_TONE, METAL_TONE, HOLLOW_TONE = "#d9c9a8", "#c9a24f", "#a8977c"


LIDS_A_LIST = 500
"""Lids on a list at most, as on a page: what is set at once takes memory by the lid."""

Numbered = Sequence[tuple[int, int, "Piece"]]
"""Lids of the list: number in the order of work, entry of the week, piece."""

PieceRow = Mapping[str, Any]
"""What the list says of one lid, as plain values, but for its number; `svg` is its picture."""


def bench_names(lids: int) -> tuple[str, ...]:
    """Return the names that the bench lists of a week with at most so many lids may have."""
    return ("bench.pdf", *(f"bench_{n}.pdf" for n in range(2, math.ceil(lids / LIDS_A_LIST) + 1)))


BenchSheet = tuple[Mapping[str, Any], Mapping[str, bytes]]
"""A bench list that is still to be set: its data and its pictures."""


def bench_sheets(
    week: Week, plan: Plan, shop: Shop, row: Callable[[int], PieceRow]
) -> Iterator[tuple[str, BenchSheet]]:
    """Yield the name of each bench list with what is to be set: cautions of these machines, woods and finishes first.

    A week of more lids than a person carries to the bench at once comes in parts, in the order of work; orders that are
    not on the list stand at the end of the last. row: gives what `bench_row` says of an entry of the week.
    """
    names = bench_names(len(plan.steps))
    for number, name in enumerate(names):
        title = "Bench list" if len(names) == 1 else f"Bench list, part {number + 1} of {len(names)}"
        held = _held(week, shop) if number + 1 == len(names) else []
        yield name, _list(title, _numbered_part(plan, number * LIDS_A_LIST, week), week, shop, row, held)


def _numbered_part(plan: Plan, begin: int, week: Week) -> Numbered:
    """Return the lids of one list. begin: how many are on those before it."""
    steps = plan.steps[begin : begin + LIDS_A_LIST]
    return [(n, step.entry, week.entries[step.entry].piece) for n, step in enumerate(steps, begin + 1)]


def bench_pdf(sheet: BenchSheet, shelf: Shelf) -> bytes:
    """Return a bench list set as a PDF."""
    data, pictures = sheet
    (pdf,) = typesetter_for(data, shelf).pages("bench.typ", data, pictures)
    return pdf


def _list(
    title: str,
    numbered: Numbered,
    week: Week,
    shop: Shop,
    row: Callable[[int], PieceRow],
    held: list[tuple[str, str]],
) -> BenchSheet:
    pictures: dict[str, bytes] = {}
    runs = [_run(list(group), pictures, row) for _, group in groupby(numbered, key=lambda one: _run_key(one[2]))]
    t = week.totals
    width, height = common_paper(shop.proof.units)
    data = {
        "title": title,
        "shop": shop.name,
        "foot": shop.name,
        "page": {"width": width, "height": height},
        "counts": f"{count(lids_of(p for _, _, p in numbered).total(), 'lid')}, machine {duration(t.machine_seconds)}, "
        f"hands {duration(t.hand_seconds + sum(s for _, s in week.shared))}",
        "above_all": ABOVE_ALL,
        "cautions": cautions([piece for _, _, piece in numbered] or (e.piece for e in week.entries)),
        "columns": {
            "lid": "order and words",
            "box": "box",
            "cut": "cut",
            "proof": "proof",
            "held": "Not on this list",
            "note": "buyer's note:",
        },
        "runs": runs,
        "held": held,
    }
    return data, pictures


def _run_key(piece: Piece) -> tuple[str, str]:
    assert piece.task is not None  # pieces without a task are not in the order of work
    return piece.task.tool.machine.id, piece.task.tool.cutter.id


def _run(
    lids: Sequence[tuple[int, int, Piece]], pictures: dict[str, bytes], row: Callable[[int], PieceRow]
) -> dict[str, Any]:
    """Return the lids that are cut one after another with one cutter in one machine: number, entry and piece of each."""
    task = lids[0][2].task
    assert task is not None
    machine = task.tool.machine
    corner = machine.datum.replace("-", " ")
    powers = {piece.task.tool.recipe.power for _, _, piece in lids if piece.task} - {""}
    power = f"; {powers.pop()}" if len(powers) == 1 else ""
    return {
        "title": task.tool.cutter.title,
        "about": f"{machine.title}, datum {corner}{power}",
        "lids": [_numbered(number, row(i), pictures) for number, i, _ in lids],
    }


def _numbered(number: int, row: PieceRow, pictures: dict[str, bytes]) -> dict[str, Any]:
    """Return a lid's row with its number in the order of work, and its picture put among the sheet's."""
    name = f"thumb-{number}.svg"
    pictures[name] = row["svg"].encode()
    return {**{key: value for key, value in row.items() if key != "svg"}, "number": str(number), "picture": name}


def bench_row(piece: Piece, shop: Shop, code: str | None) -> PieceRow:
    """Return what the list says of a piece that is made."""
    task, seen = piece.task, scene(piece)
    assert task is not None
    assert seen is not None
    shrink = min(THUMB_MM[0] / seen.view.width, THUMB_MM[1] / seen.view.height)
    words = " / ".join(words_cut(piece))
    area = {"lid": "", "inside": ", inside"}.get(task.area.name, f", {task.area.name}")
    passes = f", {count(piece.toolpath.passes, 'pass', 'passes')}" if piece.toolpath else ""
    return {
        "svg": thumbnail(seen),
        "width": seen.view.width * shrink,
        "height": seen.view.height * shrink,
        "order": piece.order.id + (f" ({piece.piece})" if piece.piece > 1 else ""),
        "times": _times(piece),
        "words": words if len(words) <= MOST_WORDS else words[: MOST_WORDS - 1] + "…",
        "not_yet": _not_yet(piece),
        "note": piece.order.note,
        "lid": f"{task.lid.title}{area}",
        "wood": task.wood.title,
        "depth": f"{bench_length(task.tool.depth, shop.proof.units)}{passes}",
        "time": duration(piece.estimate.seconds) if piece.estimate else "",
        "code": code or "",
        "due": f"due {due_told(piece.order.due, shop)}" if piece.order.due else "",
    }


def _not_yet(piece: Piece) -> str:
    """Return why a lid of the list, which is planned and drawn, may not be cut yet; '' if it may."""
    why = "waits for the buyer" if piece.verdict == "waiting" else "needs a look"
    return "" if piece.may_be_cut else f"Not yet to be cut: {why}"


def _times(piece: Piece) -> str:
    """Return how many lids are cut: those ordered, and those cut again."""
    ordered = f"× {piece.order.quantity}" if piece.order.quantity > 1 else ""
    return f"{ordered or '× 1'} + {piece.order.recut} again" if piece.order.recut else ordered


def _held(week: Week, shop: Shop) -> list[tuple[str, str]]:
    """Return the orders that are not on the list, each with the first reason."""
    return [
        (
            e.piece.order.id,
            next((quoted(in_shop_units(p.says, shop)) for p in e.piece.problems if p.level == "hold"), ""),
        )
        for e in week.entries
        if e.piece.verdict == "hold"
    ]


def thumbnail(seen: Scene) -> str:
    """Return a small picture of a lid as SVG: its outline, what stands on it, and the lettering at its true width."""
    shrink = min(THUMB_MM[0] / seen.view.width, THUMB_MM[1] / seen.view.height)
    least = HAIRLINE_MM / shrink
    fittings = [drawn(keep.outline, _tone(keep), EDGE_TONE, least) for keep in seen.keep_outs]
    lid = drawn(seen.outline, LID_TONE, EDGE_TONE, least)
    lettering = drawn(seen.strokes, "none", INK, max(seen.groove, least)) if seen.single else drawn(seen.strokes, INK)
    return drawing((0.0, 0.0, seen.view.width, seen.view.height), [lid, *fittings, lettering], "mm").decode()


def _tone(keep: KeepOut) -> str:
    """Return the tone of a fitting: brass, the shade of a hollow, or wood."""
    if fitting_kind(keep) == "hollow":
        return HOLLOW_TONE
    return METAL_TONE if is_metal(keep) else FITTING_TONE
