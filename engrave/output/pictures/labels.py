"""Words on pictures, set in our own typefaces, so that a proof looks the same on every machine and in any script."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from shapely import MultiLineString

from engrave.cache import Cache, CacheKind
from engrave.geometry.flattening import flatten
from engrave.geometry.regions import signed_area
from engrave.typefaces.run import Glyph, Run

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from engrave.typefaces import Shelf

PLAIN = ("noto-sans", "quicksand", "vollkorn")
STRONG = ("noto-sans-bold", "noto-sans", "vollkorn")
"""Typefaces for words, figures and names on pictures, best first; the first that is on the shelf is used."""

FINE = 4
"""Letters are drawn so many times larger and then reduced; and are placed to the same part of a pixel."""

STROKE = 0.11
"""Width of a single-line letter's stroke on a label, in cap heights: ISO 3098-1 type B has a tenth of the height."""

UNDRAWN = "\u00ad\u200b\u200c\u200d\u200e\u200f\u2060\ufeff"
"""Characters that draw nothing by nature; a label need not show where they are lacking."""


KNOWN_LINES = 500
"""Lines kept drawn: a few megabytes, and every label that comes back on the next lid."""


class Faces(Protocol):
    """What is asked of a shelf of typefaces here."""

    @property
    def ids(self) -> Sequence[str]:
        """Names of all typefaces."""
        ...

    def get(self, id_: str, /) -> Face:
        """Return a typeface."""
        ...


BITMAPS: CacheKind[tuple[Picture | None, int, int]] = CacheKind("bitmaps of letters", 4096)
LABELS: CacheKind[Labels] = CacheKind("labels", 1)


class Face(Protocol):
    """What is asked of a typeface here."""

    def shape(self, text: str, /) -> Run:
        """Return one line of words, shaped."""
        ...


class Labels:
    """Draws words on a picture. Sizes are cap heights in pixels; places are of the baseline's start."""

    def __init__(self, shelf: Faces) -> None:
        self._shelf = shelf
        self._drawn = Cache()
        self._runs: dict[tuple[str, str], Run] = {}
        self._lines: dict[tuple[str, float, str], tuple[Picture | None, int, int]] = {}

    def _face(self, wanted: Sequence[str]) -> str:
        return next((i for i in wanted if i in self._shelf.ids), self._shelf.ids[0])

    def run(self, text: str, wanted: Sequence[str] = PLAIN) -> Run:
        """Return a line shaped for a label; characters that no typeface has are told by their number."""
        key = (self._face(wanted), text)
        if key not in self._runs:
            if len(self._runs) >= 4 * KNOWN_LINES:
                self._runs.clear()
            face = self._shelf.get(key[0])
            run = face.shape(text)
            told = _told(text, run)
            self._runs[key] = run if told == text else face.shape(told)
        return self._runs[key]

    def width(self, text: str, cap: float, wanted: Sequence[str] = PLAIN) -> float:
        """Return the length in pixels of a line of words."""
        return self.run(text, wanted).advance * cap

    def draw(
        self, picture: Picture, at: tuple[float, float], text: str, cap: float, colour: str,
        wanted: Sequence[str] = PLAIN, align: float = 0.0,
    ) -> float:  # fmt: skip
        """Draw a line of words and return its length in pixels; align 0 begins at the place, 0.5 centres, 1 ends."""
        length = self.width(text, cap, wanted)
        mask, left, top = self._line(text, cap, self._face(wanted))
        if mask is not None:
            picture.paste(colour, (round(at[0] - align * length) + left, round(at[1]) + top), mask)
        return length

    def _line(self, text: str, cap: float, face: str) -> tuple[Picture | None, int, int]:
        """Return a whole line as a mask and its place from the baseline's start; most lines are on many proofs."""
        key = (text, cap, face)
        if key not in self._lines:
            if len(self._lines) >= KNOWN_LINES:
                self._lines.clear()
            self._lines[key] = _line_mask(self.run(text, (face,)), cap, self._drawn)
        return self._lines[key]

    def wrapped(self, text: str, cap: float, most: float, wanted: Sequence[str] = PLAIN) -> list[str]:
        """Return the lines of a text, broken at its own breaks and then at spaces so that none is longer than `most`."""
        lines: list[str] = []
        for part in text.replace("\r\n", "\n").replace("\r", "\n").split("\n"):
            line = ""
            for word in part.split(" "):
                longer = f"{line} {word}" if line else word
                if line and self.width(longer, cap, wanted) > most:
                    lines.append(line)
                    longer = word
                line = longer
            lines += self._cut(line, cap, most, wanted)
        return lines

    def _cut(self, line: str, cap: float, most: float, wanted: Sequence[str]) -> list[str]:
        """Break a single word that no line can hold."""
        width = self.width(line, cap, wanted)
        if width <= most or len(line) < 2:
            return [line]
        at = max(1, int(len(line) * most / width))
        return [line[:at], *self._cut(line[at:], cap, most, wanted)]


def _told(text: str, run: Run) -> str:
    """Return the text with each character that the run does not draw written as its name, such as [balloon]."""
    drawn = {i for p in run.placed for i in range(p.start, p.start + len(p.text))}
    return "".join(c if i in drawn or c.isspace() or c in UNDRAWN else f"[{_name(c)}]" for i, c in enumerate(text))


def _name(char: str) -> str:
    return unicodedata.name(char, "a sign without a name").lower()


def _line_mask(run: Run, cap: float, drawn: Cache) -> tuple[Picture | None, int, int]:
    """Return a line as a mask with the place of its corner from the start of the baseline, in pixels. drawn: letters."""
    stamps = []
    for placed in run.placed:
        if placed.glyph.path:
            x, y = round(placed.x * cap * FINE), round(-placed.y * cap * FINE)
            key = (_Keyed(placed.glyph), round(cap * placed.scale * 16), x % FINE, y % FINE)
            mask, left, top = drawn.get(BITMAPS, key, partial(_bitmap, *key))
            if mask is not None:
                stamps.append((mask, x // FINE + left, y // FINE + top))
    if not stamps:
        return (None, 0, 0)
    x0, y0 = min(x for _, x, _ in stamps), min(y for _, _, y in stamps)
    x1, y1 = max(x + m.width for m, x, _ in stamps), max(y + m.height for m, _, y in stamps)
    line = Image.new("L", (x1 - x0, y1 - y0), 0)
    for mask, x, y in stamps:
        line.paste(255, (x - x0, y - y0), mask)
    return (line, x0, y0)


def labels_for(shelf: Shelf) -> Labels:
    """Return the labels of a shelf, with what was drawn before still at hand."""
    return shelf.cache.get(LABELS, "labels", lambda: Labels(shelf))


class _Keyed:
    """A glyph that is told from others by its key alone, so that looking it up does not compare paths."""

    __slots__ = ("glyph",)

    def __init__(self, glyph: Glyph) -> None:
        self.glyph = glyph

    def __hash__(self) -> int:
        return hash(self.glyph.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Keyed) and other.glyph.key == self.glyph.key


def _bitmap(keyed: _Keyed, sixteenths: int, dx: int, dy: int) -> tuple[Picture | None, int, int]:
    """Return a letter as a mask, with the place of its corner in pixels; dx, dy: parts of a pixel it is moved by."""
    glyph = keyed.glyph
    scale = sixteenths / 16.0 * FINE
    rings = [_pixels(flatten(c, 0.002), scale, dx, dy) for c in glyph.path]
    if not rings:
        return (None, 0, 0)
    pen = 0.0 if glyph.kind == "outline" else STROKE * scale
    every = np.concatenate(rings)
    low = np.floor((every.min(axis=0) - pen) / FINE).astype(int) - 1
    high = np.ceil((every.max(axis=0) + pen) / FINE).astype(int) + 1
    mask = Image.new("L", (int(high[0] - low[0]) * FINE, int(high[1] - low[1]) * FINE), 0)
    draw = ImageDraw.Draw(mask)
    moved = [r - low * FINE for r in rings]
    if glyph.kind == "outline":
        for ring in _outer_first(moved):
            draw.polygon(
                [tuple(p) for p in ring.tolist()], fill=255 if ring is not None and signed_area(ring) < 0 else 0
            )
    else:
        lines = MultiLineString([r for r in moved if len(r) > 1])
        groove = lines.buffer(max(1.0, pen) / 2.0, quad_segs=8)  # round ends, as a bit or a beam leaves them
        for part in getattr(groove, "geoms", [groove]):
            draw.polygon([tuple(p) for p in part.exterior.coords], fill=255)
            for hole in part.interiors:
                draw.polygon([tuple(p) for p in hole.coords], fill=0)
    return (mask.reduce(FINE), int(low[0]), int(low[1]))


def _pixels(points: NDArray[np.float64], scale: float, dx: int, dy: int) -> NDArray[np.float64]:
    return np.column_stack([points[:, 0] * scale + dx, -points[:, 1] * scale + dy])


def _outer_first(rings: list[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
    """Return rings by size, all turned so that outer ones have a negative area, whatever way the typeface turns them."""
    ordered = sorted(rings, key=lambda r: -abs(signed_area(r)))
    if ordered and signed_area(ordered[0]) > 0:
        ordered = [r[::-1] for r in ordered]
    return ordered
