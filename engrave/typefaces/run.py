"""Words shaped in a typeface: what every typeface gives, whatever its file.

Unit: the cap height. A glyph's path is scaled so that the typeface's capitals (or, in scripts without capitals, its
reference height) are 1 high; y up, baseline at 0. So a letter 8 mm high is its glyph times 8, in any typeface, and
what is measured on a glyph once holds at every size.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

from engrave.geometry.paths import Path
from engrave.problems import Problem

TypefaceKind = Literal["outline", "single-line"]

ORNAMENT = "ornament"
"""Stands where a typeface's id does in the keys of what is set with the words and is none; no typeface may be called so."""


@dataclass(frozen=True, slots=True)
class Glyph:
    """One drawn form. Outline: closed contours, united, outer and inner rings turning opposite ways.

    Single-line: strokes, ends joined. key: 'typeface/name/digest'; equal keys mean equal paths, on every computer.
    """

    key: str
    kind: TypefaceKind
    path: Path
    advance: float


@dataclass(frozen=True, slots=True)
class Placed:
    """A glyph in a run: its origin at (x, y) in cap heights, `scale` 1 except for a companion's matched letters.

    text: the characters of the words that it draws; start: index of the first of them in the run's text.
    """

    glyph: Glyph
    x: float
    y: float
    text: str
    start: int
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class Run:
    """One line of words, shaped, in visual order from left to right; advance in cap heights."""

    text: str
    typeface: str
    placed: tuple[Placed, ...]
    advance: float
    problems: tuple[Problem, ...] = ()


class Typeface(Protocol):
    """What setting asks of a typeface. x_height in cap heights; joined: letters touch by design (scripts).

    bears_capitals: whether words all in capitals look right. lacks_capitals: Hebrew, Arabic, Devanagari and the like.
    """

    @property
    def id(self) -> str:
        """Name of its folder."""
        ...

    @property
    def title(self) -> str:
        """Name for people."""
        ...

    @property
    def kind(self) -> TypefaceKind:
        """Outline or single-line."""
        ...

    @property
    def x_height(self) -> float:
        """Height of the small letters, in cap heights."""
        ...

    @property
    def joined(self) -> bool:
        """Whether letters touch by design; such a typeface is never letter-spaced."""
        ...

    @property
    def bears_capitals(self) -> bool:
        """Whether words all in capitals look right in it."""
        ...

    def shape(self, text: str, tracking: float = 0.0) -> Run:
        """Shape one line of words (no line breaks); tracking in cap heights is added between letters."""
        ...
