"""The proof code: a short name of exactly this geometry and these words."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import TYPE_CHECKING

from engrave.geometry.paths import Contour, StraightLine
from engrave.output.numbers import plain
from engrave.output.point_texts import points_told
from engrave.signs import signs_of

if TYPE_CHECKING:
    from engrave.making import Piece

CODE_LENGTH = 6
"""Signs of a code: 30 to the 6th is 729 million, so ten thousand lids meet by chance with odds of about one in fifteen."""

CODE_DECIMALS = 3
"""Decimals of mm that count: a micrometre, below what any machine can do and above the last digits of arithmetic."""


def proof_code(piece: Piece) -> str | None:
    """Return the code of what would be cut: words, lid, wood, typefaces, tool and every point; None if nothing is.

    The order's id is not part of it: the same words on the same lid have the same code, and may be cut for either.
    """
    if piece.task is None or piece.lettering is None or piece.toolpath is None or not piece.is_made:
        return None
    task, tool = piece.task, piece.task.tool
    told = [
        *(f"{field}={words}" for field, words in task.words.filled()),
        *(f"{line.field}:{line.text}" for line in piece.lettering.lines),
        task.lid.id, task.area.name, task.area.side, task.wood.id, *(f"{f}={t}" for f, t in task.typefaces),
        tool.cutter.id, tool.method, plain(tool.depth, CODE_DECIMALS), plain(piece.lettering.groove, CODE_DECIMALS),
        *_points(piece.toolpath.strokes),
    ]  # fmt: skip
    return signs_of(hashlib.sha256("\n".join(told).encode("utf-8", "surrogatepass")).digest(), CODE_LENGTH)


def _points(strokes: Iterable[Contour]) -> Iterable[str]:
    for stroke in strokes:
        if isinstance(stroke, StraightLine):
            yield "o" + points_told(stroke.line, CODE_DECIMALS, b" ", b",", trimmed=True).removeprefix(" ")
            continue
        yield ("z" if stroke.closed else "o") + " ".join(
            f"{plain(x, CODE_DECIMALS)},{plain(y, CODE_DECIMALS)}" for x, y in stroke.points
        )
