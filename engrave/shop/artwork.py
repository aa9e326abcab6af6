"""A shop's own drawings: SVG files in its folder `artwork/`, filled shapes or single lines, to be cut beside words.

What is filled is cut as a shape, what is only stroked as a line; what is filled with white leaves the wood below it
standing. Their size is no matter: a drawing is fitted into the room of the lid.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path as File
from typing import TYPE_CHECKING, Literal

from engrave.cache import Cache, CacheKind
from engrave.files import Unreadable, is_there, whole_file
from engrave.geometry.flattening import chords_needed
from engrave.geometry.paths import Path, box, transformed
from engrave.limits import ARTWORK_CHORDS, ARTWORK_NODES, DRAWING_BYTES
from engrave.shop.mistakes import close, listed
from engrave.shop.shapes import OutlineError

if TYPE_CHECKING:
    from engrave.shop.drawing import Shape

FOLDER = "artwork"
"""The folder of drawings in a shop's own folder."""

LONGEST_DRAWING_NAME = 100
"""Characters of a drawing's name at most: a name that is longer is a slip."""

TRUE_TO = 0.0005
"""Share of a drawing's size that chords may stand off its curves when its work is counted."""

LEAST_DRAWING = 0.01
"""User units: a drawing smaller than that either way draws nothing that can be fitted."""

INKS = Literal["shape", "line", "blank"]


class ArtworkError(ValueError):
    """A drawing that cannot be used; the message is a sentence that says why and what to do."""


@dataclass(frozen=True, slots=True)
class ArtworkPart:
    """One shape of a drawing: what it is cut as, its contours (top left of the drawing at (0, 0), y down, longer side 1)."""

    ink: INKS
    contours: Path
    evenodd: bool


@dataclass(frozen=True, slots=True)
class Artwork:
    """A drawing ready to be fitted. name: of its file. digest: of the file's bytes. width, height: the longer is 1."""

    name: str
    digest: str
    parts: tuple[ArtworkPart, ...]
    width: float
    height: float


ARTWORKS: CacheKind[Artwork] = CacheKind("artworks", 64)
"""The drawings of a week, by file and digest, which tells one that was changed."""


class Drawings:
    """A shop's own drawings by name, each read when it is first asked for. folder: the shop's own, if it has one."""

    def __init__(self, folder: File | None = None, cache: Cache | None = None) -> None:
        """Begin with none read."""
        self.folder = folder
        self._cache = cache or Cache()

    def named(self, name: str) -> Artwork:
        """Return the drawing of a name. Raises ArtworkError with the reason."""
        file, data = _found(name, self.folder)
        digest = hashlib.sha256(data).hexdigest()
        return self._cache.get(ARTWORKS, (file, digest), lambda: _read(file, digest))


def _found(name: str, folder: File | None) -> tuple[File, bytes]:
    """Return the file of a name and what it holds. Raises ArtworkError."""
    bare = name if name.lower().endswith(".svg") else f"{name}.svg"
    if len(bare) > LONGEST_DRAWING_NAME or any(c in bare for c in "/\\:\0") or bare.startswith("."):
        raise ArtworkError(
            f"'{name[:40]}' is no bare file name. Write the name alone, as oak-leaf.svg; the file lies in the folder '{FOLDER}'."
        )
    if folder is None:
        raise ArtworkError(
            f"Drawings lie in a folder '{FOLDER}' of the shop's own; name the shop's folder with --shop."
        )
    file = folder / FOLDER / bare
    if not is_there(file):
        raise ArtworkError(f"There is no drawing '{bare}'. {_there(folder, bare)}")
    try:
        return file, whole_file(file, DRAWING_BYTES)
    except Unreadable as error:
        raise ArtworkError(f"The drawing '{bare}' {error}. Put it into the folder '{FOLDER}' anew.") from error


def artwork_files(folder: File) -> tuple[File, ...]:
    """Return the drawings that lie in a shop's folder."""
    found = folder / FOLDER
    try:
        return tuple(sorted(f for f in found.iterdir() if f.suffix.lower() == ".svg")) if found.is_dir() else ()
    except OSError:
        return ()


def _there(folder: File, asked: str) -> str:
    names = [f.name for f in artwork_files(folder)]
    if not names:
        return f"The folder '{FOLDER}' holds no drawing (.svg)."
    hint = close(asked, names)
    return f"Did you mean '{hint}'?" if hint else f"In the folder '{FOLDER}' there are: {listed(names)}."


def _read(file: File, digest: str) -> Artwork:
    from engrave.shop.drawing import shapes_of  # the reader of drawings is loaded where there is one to read

    try:
        shapes = shapes_of(file)
    except OutlineError as error:
        raise ArtworkError(f"The drawing '{file.name}' {error}.") from error
    inked = [(_ink(shape), shape) for shape in shapes]
    seen = [(ink, shape) for ink, shape in inked if ink is not None]
    found = box(tuple(c for ink, s in seen if ink != "blank" for c in s.contours))
    if found is None:
        raise ArtworkError(
            f"The drawing '{file.name}' draws nothing that can be cut: no filled shape and no line. Turn words and pictures "
            "into paths."
        )
    left, top, right, bottom = found
    size = max(right - left, bottom - top)
    if not size > LEAST_DRAWING:
        raise ArtworkError(f"The drawing '{file.name}' is a single point. Draw a shape or a line.")
    parts = tuple(
        ArtworkPart(ink, transformed(s.contours, (1 / size, 0, 0, 1 / size, -left / size, -top / size)), s.evenodd)
        for ink, s in seen
    )
    _little_work(file.name, parts)
    return Artwork(file.name, digest, parts, (right - left) / size, (bottom - top) / size)


def _ink(shape: Shape) -> INKS | None:
    """Return what a shape is cut as; None for one that is neither filled nor stroked."""
    if shape.filled:
        return "blank" if shape.white else "shape"
    return "line" if shape.stroked else None


def _little_work(name: str, parts: tuple[ArtworkPart, ...]) -> None:
    nodes = sum(len(c.segments) + 1 for p in parts for c in p.contours)
    chords = sum(chords_needed(c, TRUE_TO) for p in parts for c in p.contours)
    for limit, count in ((ARTWORK_NODES, nodes), (ARTWORK_CHORDS, int(min(chords, 10**9)))):
        if limit.passed(count):
            raise ArtworkError(
                f"The drawing '{name}' has more than is read: {limit.of}: {limit.told(count)}. Simplify it: a cutter makes no "
                "finer parts."
            )
