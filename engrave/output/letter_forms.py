"""Which forms of letters and figures were asked for, as people are told of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from engrave.geometry.flattening import bounds
from engrave.intake.letter_features import feature_name
from engrave.setting.lettering import Lettering
from engrave.typefaces.characters import SQUARE_SCRIPTS, script_of

if TYPE_CHECKING:
    from engrave.making import Piece
    from engrave.shop import ProofWords
    from engrave.typefaces import Shelf

USUAL = "lnum"
"""Figures as high as capitals: what is there unless something else is asked for."""


CHORD = 0.002
"""Cap heights that chords may stand off a letter whose height is told: a hundredth of a millimetre on 5 mm."""


def letters_high(lettering: Lettering, n: int) -> float:
    """Return how high the letters of line n are, mm: its capitals, or letters that fill squares as they are drawn."""
    line = lettering.lines[n]
    marks = [m for m in lettering.marks if m.line == n and m.text and script_of(m.text[0]) in SQUARE_SCRIPTS]
    boxes = [box for m in marks if (box := bounds(m.glyph.path, CHORD)) is not None]
    if not boxes or lettering.size_is_of == "capitals":
        return line.cap_mm
    return line.cap_mm * max(top - low for _, low, _, top in boxes)


def forms_asked(pieces: Sequence[Piece]) -> tuple[str, ...]:
    """Return the forms that rows ask for and that their typefaces have, in plain words: 'old-style figures'."""
    return tuple(dict.fromkeys(_named(tag) for piece in pieces for tag in _of_row(piece)))


def forms_shown(pieces: Sequence[Piece], say: ProofWords, shelf: Shelf) -> str:
    """Return in the proof's words the forms that rows or the tables of their typefaces ask for; '' if none."""
    tags = list(dict.fromkeys(tag for piece in pieces for tag in (*_of_table(piece, shelf), *_of_row(piece))))
    named = {"onum": say.old_style_figures, "smcp": say.small_capitals}
    told = [named[tag] for tag in tags if tag in named]
    others = [_named(tag).removeprefix("the forms ") for tag in tags if tag not in named]
    return ", ".join([*told, *([say.letter_forms.format(forms=", ".join(others))] if others else [])])


def _named(tag: str) -> str:
    return f"no {feature_name(tag.removeprefix('-'))}" if tag.startswith("-") else feature_name(tag)


def _of_row(piece: Piece) -> Iterator[str]:
    """Yield the tags that the row asks for, less those which its typeface lacks."""
    if piece.task is not None and piece.lettering is not None and piece.lettering.lines:
        lacking = {p.where for p in piece.problems if p.code == "feature-missing"}
        yield from (tag for tag in piece.task.features if tag not in lacking)


def _of_table(piece: Piece, shelf: Shelf) -> Iterable[str]:
    if piece.task is None or piece.lettering is None:
        return ()
    off = {tag.removeprefix("-") for tag in piece.task.features}
    faces = dict.fromkeys(ident for _, ident in piece.task.typefaces)
    tags = [tag for ident in faces for tag in shelf.facts(ident).features if tag != USUAL]
    return [tag for tag in tags if tag.removeprefix("-") not in off]
