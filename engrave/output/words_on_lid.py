"""The words of a lid as they are cut, for sheets and pages: what is left out is not there, a sign is the one drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.typefaces.characters import clusters
from engrave.typefaces.supply import drawing_for

if TYPE_CHECKING:
    from engrave.making import Piece


def words_cut(piece: Piece) -> tuple[str, ...]:
    """Return the lines of a piece as the lid will bear them; none if it is not set.

    A picture sign of a telephone stands as the plain drawing that is cut for it, one that no typeface has not at all.
    """
    if piece.lettering is None:
        return ()
    left_out, drawn = signs_left_out(piece), {p.where for p in piece.problems if p.code == "sign-drawn"}

    def cut(text: str) -> str:
        parts = (part for part in clusters(text) if part not in left_out)
        return "".join(drawing_for(part) if part in drawn else part for part in parts)

    lines = (cut(line.text) for line in piece.lettering.lines)
    return tuple(" ".join(line.split()) if left_out else line for line in lines)


def signs_left_out(piece: Piece) -> tuple[str, ...]:
    """Return the picture signs of a piece's words that no typeface has, each once."""
    return tuple(dict.fromkeys(p.where for p in piece.problems if p.code == "sign-left-out"))
