"""A test piece as SVG, and the sheet that lies beside it: which figures to read off it, and how to keep them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from engrave.output.bench_cautions import ABOVE_ALL, FULL_LIST
from engrave.output.numbers import plain
from engrave.output.sheets.sheet_layout import common_paper
from engrave.output.svg import drawn_svg
from engrave.output.typesetting import own_typesetter
from engrave.tasks.choosing import midway
from engrave.testpiece.design import LABEL_DEPTH, LETTER_CAPS, PIECE_HEIGHT, PIECE_WIDTH, TestPiece

if TYPE_CHECKING:
    from engrave.shop import Shop

SHOWN, SHOWN_OF_BEAM = 1.7, 1.4
"""How many times as large the sheet shows the piece: room for the figures below it on one page, of a beam two more."""

PRINTED = 0.25
"""mm: labels that only the sheet shows, since the cutter is too wide to write so small."""


def test_piece_svg(piece: TestPiece) -> str:
    """Return the test piece in the normal form of SVG, true to size: letters and bars first, then lines, then labels."""
    return _svg(piece, piece.label_groove if piece.labels_cut else None)


def _svg(piece: TestPiece, labels: float | None) -> str:
    """Return the piece with its labels in lines so wide in mm, or without them."""
    lines = [(c, piece.groove) for c in piece.lines]
    if labels is not None:
        lines += [(c, labels) for c in piece.labels]
    return drawn_svg(
        PIECE_WIDTH,
        PIECE_HEIGHT,
        f"Test piece: {piece.cutter.id} in {piece.wood.id}",
        _says(piece),
        piece.shapes,
        lines,
    )


test_piece_svg.__test__ = False  # type: ignore[attr-defined]  # test runners take the name for a test


def _says(piece: TestPiece) -> str:
    labels = (
        f" Labels are the last {len(piece.labels)} paths: cut them {plain(LABEL_DEPTH)} mm deep."
        if piece.labels_cut
        else ""
    )
    return (
        f"Test piece for the cutter '{piece.cutter.title}' in {piece.wood.title}, {plain(PIECE_WIDTH)} x {plain(PIECE_HEIGHT)} mm; "
        f"the grain runs from left to right. Cut it as the recipe says, with the feeds of a lid.{labels}"
    )


def test_piece_sheet(piece: TestPiece, shop: Shop) -> bytes:
    """Return the sheet to print as PDF: the piece enlarged, figures to be ringed, the command that keeps them."""
    width, height = common_paper(shop.proof.units)
    shown = SHOWN_OF_BEAM if piece.cutter.is_beam else SHOWN
    data = {
        "title": f"Test piece: {piece.cutter.title} in {midway(piece.wood.title)}",
        "shop": shop.name,
        "page": {"width": width, "height": height},
        "picture": {"width": shown * PIECE_WIDTH, "height": shown * PIECE_HEIGHT},
        "below": _below(piece),
        "steps": _steps(piece),
        "rows": _rows(piece),
        "keep": "Keep the figures, so that every check of this cutter in this wood uses them:",
        "command": f"engrave testpiece --cutter {piece.cutter.id} --wood {piece.wood.id} --shop FOLDER --record "
        + " ".join(f"{name}=____" for name in _names(piece)),
        "cautions": f"{ABOVE_ALL} Guards and draught as for a lid: a beam is never left alone, ears and eyes are covered at "
        f"a bit, dust and smoke are drawn off. The full list stands in the {FULL_LIST}.",
    }
    picture = _svg(piece, piece.label_groove if piece.labels_cut else PRINTED)
    (pdf,) = own_typesetter().pages("testpiece.typ", data, {"piece.svg": picture.encode()})
    return pdf


def _below(piece: TestPiece) -> str:
    says = f"Shown larger; the file is true to size, {plain(PIECE_WIDTH)} × {plain(PIECE_HEIGHT)} mm. The grain runs from left to right."
    if piece.labels_cut:
        return says
    return (
        f"{says} The cutter is too wide to write so small: the figures beside bars and gaps, in mm, stand on this sheet "
        "alone. Lay the piece beside it, the same way up: the long row of bars and gaps to the top."
    )


def _steps(piece: TestPiece) -> list[str]:
    labels = f" The labels come last; cut them {plain(LABEL_DEPTH)} mm deep." if piece.labels_cut else ""
    steps = [
        f"Take a scrap of the same board, planed like a lid, and cut the file as the recipe says.{labels}",
        "Brush it off. Ring, in each row, the first width that came out well and after which all did: nothing broken "
        "out, nothing filled up, nothing burnt away. Rows run from thin to thick, from the left or from the top.",
    ]
    if piece.cutter.is_beam:
        steps.append(
            "Wood stayed clean where neither side is charred over and it still shows, held half a metre off: that may be "
            "a wider gap than the first that stood."
        )
        steps.append("Measure the width of the zigzag's line with a glass scale or callipers.")
    return [*steps, "Time the zigzag and the circles with a watch if you like, from first to last touch."]


def _names(piece: TestPiece) -> list[str]:
    """Return the figures that are kept of this piece."""
    walls = ["wall_along", "wall_across"] if _has_walls(piece) else ["along", "across"]
    names = [*walls, *(["stroke"] if piece.bars else [])]
    if piece.cutter.is_beam:
        names += [*(["clean"] if piece.bars else []), *(["clean_lines"] if piece.line_gaps else []), "mark"]
    return names


def _has_walls(piece: TestPiece) -> bool:
    """Tell whether the gaps of a piece are walls between V-cuts, which widen downwards."""
    return "vee" in piece.cutter.methods and bool(piece.bars)


def _rows(piece: TestPiece) -> list[dict[str, object]]:
    """Return what is read off the piece: title, which part of it, widths to ring; no widths where one is written down."""
    what, word = ("Wall between V-cuts", "wall_") if _has_walls(piece) else ("Wood left standing", "")
    rows = [
        _row(f"{what}, along the grain", f"{word}along: the gaps that lie", piece.gaps),
        _row(f"{what}, across the grain", f"{word}across: the gaps that stand upright", piece.gaps),
    ]
    if piece.bars:
        rows.append(_row("Thinnest bar", "stroke: upright or lying, whichever needs more", piece.bars))
    if piece.cutter.is_beam and piece.bars:
        rows.append(
            _row("Wood that stayed clean", "clean: the gaps, lying or upright, whichever needs more", piece.gaps)
        )
    if piece.line_gaps:
        rows.append(
            _row("The same between two lines", "clean_lines: the pairs of lines, at the lower left", piece.line_gaps)
        )
    if piece.cutter.is_beam:
        rows.append(_row("Width of a single line", "mark"))
    letters = _row("Letters that read well", ", ".join(piece.letters), sorted(LETTER_CAPS))
    return [*rows, letters, _row("Zigzag and circles took", unit="s")]


def _row(title: str, which: str = "", widths: Sequence[float] = (), unit: str = "mm") -> dict[str, object]:
    return {"title": title, "which": which, "widths": [plain(w) for w in widths], "unit": unit}


test_piece_sheet.__test__ = False  # type: ignore[attr-defined]
