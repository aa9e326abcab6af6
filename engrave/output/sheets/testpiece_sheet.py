"""A test piece as SVG, and the sheet that lies beside it: which figures to read off it, and how to keep them."""

from __future__ import annotations

from engrave.output.bench_cautions import ABOVE_ALL, FULL_LIST
from engrave.output.numbers import plain
from engrave.output.page import page_templates
from engrave.output.svg import drawn_svg
from engrave.testpiece.design import LABEL_DEPTH, PIECE_HEIGHT, PIECE_WIDTH, TestPiece

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


def test_piece_sheet(piece: TestPiece) -> str:
    """Return the sheet as an HTML page to be printed: the piece, figures to be ringed, the command that keeps them."""
    picture = _svg(piece, piece.label_groove if piece.labels_cut else PRINTED).split("\n", 1)[1]
    figures = [
        ("along", "Wood left standing, along the grain", "the gaps that lie", piece.gaps),
        ("across", "Wood left standing, across the grain", "the gaps that stand upright", piece.gaps),
    ]
    if piece.bars:
        figures.append(("stroke", "Thinnest bar", "upright or lying, whichever needs more", piece.bars))
    words = [f"{name}=" for name, *_ in figures] + (["mark="] if piece.cutter.is_beam else [])
    rows = [(title, which, [plain(w) for w in widths]) for _, title, which, widths in figures]
    return page_templates().get_template("test_sheet.html").render(
        piece=piece, picture=picture, rows=rows, words=words, label_depth=plain(LABEL_DEPTH), above_all=ABOVE_ALL,
        full_list=FULL_LIST,
    )  # fmt: skip


test_piece_sheet.__test__ = False  # type: ignore[attr-defined]
