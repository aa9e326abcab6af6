"""What was tried, drawn into files: the lid, the proof, where it fails; and what is on the shelf."""

from __future__ import annotations

from itertools import zip_longest
from pathlib import Path

from engrave.errors import AskedWrong
from engrave.making import Env, Piece
from engrave.output.pictures import failure_png, shelf_png
from engrave.output.sheets import order_proof
from engrave.output.svg import check_svg, lid_svg
from engrave.setting import Why
from engrave.verbs.result_files import LID_ENDINGS, PICTURE_ENDINGS, PROOF_ENDINGS, ending, put_result
from engrave.verbs.words_tried import Tried


def _made(tried: Tried) -> list[Piece]:
    made = [e.piece for e in tried.entries if e.piece.is_made]
    if not made:
        raise AskedWrong("There is nothing to write: the words are on hold, for the reasons given without this option.")
    return made


def _numbered(file: Path, number: int) -> Path:
    """Return the file itself for the first area, and file_2, file_3 for a lid's further ones."""
    return file if number == 1 else file.with_name(f"{file.stem}_{number}{file.suffix}")


def write_svg(tried: Tried, file: Path, env: Env) -> tuple[Path, ...]:
    """Write the lid as SVG, one file an area; returns them. Raises AskedWrong if nothing is made."""
    ending(file, LID_ENDINGS)
    written = []
    for number, piece in enumerate(_made(tried), 1):
        svg = lid_svg(piece, env.shop)
        wrong = check_svg(svg)
        if wrong:
            raise AskedWrong(f"The SVG did not pass its own check and was not written: {wrong[0]}")
        put_result(_numbered(file, number), svg, env)
        written.append(_numbered(file, number))
    return tuple(written)


def write_proof(tried: Tried, file: Path, env: Env) -> tuple[Path, ...]:
    """Write one proof of all areas, PNG or PDF as the file's name asks; return the file.

    Words that cannot be cut as they stand are drawn all the same, marked as not agreed. Raises AskedWrong if no words
    could be laid.
    """
    laid = [entry.piece for entry in tried.entries if entry.piece.is_laid]
    as_pdf = ending(file, PROOF_ENDINGS) == ".pdf"
    if not laid:
        raise AskedWrong("There is nothing to draw: no words could be laid on this lid.")
    agreed = all(piece.is_made for piece in laid)
    proof = order_proof(laid, tried.entries[0].code if agreed else None, env.shop, env.shelf)
    put_result(file, proof.pdf if as_pdf else proof.png, env)
    return (file,)


def write_picture(tried: Tried, file: Path, env: Env, reasons: tuple[Why, ...] = ()) -> tuple[Path, ...]:
    """Draw what is lost and too thin over the lettering (PNG), one file an area that was set; returns them.

    reasons: what `why` told of the same words; then the picture also shows what limits their size.
    """
    ending(file, PICTURE_ENDINGS)
    written: list[Path] = []
    pieces = [e.piece for e in tried.entries if e.piece.task is not None]
    for piece, limits in zip_longest(pieces, reasons[: len(pieces)]):
        if piece.fitness is not None:
            where = _numbered(file, len(written) + 1)
            put_result(where, failure_png(piece, env.shelf, env.shop, limits), env)
            written.append(where)
    return tuple(written)


def write_shelf(kind: str, file: Path, env: Env) -> Path:
    """Draw what is at hand of one kind (PNG). Raises AskedWrong for kinds that have no looks."""
    ending(file, PICTURE_ENDINGS)
    try:
        drawn = shelf_png(kind, env.shop, env.shelf)
    except ValueError as error:
        raise AskedWrong(str(error)) from error
    put_result(file, drawn, env)
    return file
