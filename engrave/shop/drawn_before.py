"""Our own drawings as they were read before: mending a drawing takes longer than a text takes to be tried."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import shapely

from engrave.kept_data import file_of_library, made_ready
from engrave.shop.places import own_folder
from engrave.shop.shapes import DrawnOutline
from engrave.stored import as_plain, read_as

READ_BY = (
    "engrave.geometry.affine",
    "engrave.geometry.arrays",
    "engrave.geometry.crossings",
    "engrave.geometry.flattening",
    "engrave.geometry.paths",
    "engrave.geometry.regions",
    "engrave.shop.drawing",
    "engrave.shop.drawing_source",
    "engrave.shop.drawn_before",
    "engrave.shop.ends",
    "engrave.shop.outline_svg",
    "engrave.shop.shapes",
    "engrave.stored",
    "engrave.xml_tree",
    "svgelements.svgelements",
)
"""Modules that make an outline, and its plain form, what they are: a kept one counts only while none of them has changed by a letter."""


def outline_of(file: Path, width: float | None, height: float | None, ident: str) -> DrawnOutline:
    """Return what `outline_svg.read_outline` does: for a drawing of ours as it was read before, else read now."""

    def read() -> DrawnOutline:
        from engrave.shop.outline_svg import read_outline

        return read_outline(file, width, height, ident)

    if file.parent != own_folder("shared"):
        return read()
    return _kept("-".join(("drawing", file.stem, ident, str(width), str(height))), [file], "", read)


def outline_of_path(data: str, table: Path, lid: str) -> DrawnOutline:
    """Return what `outline_svg.read_path_data` does: for a lid of a table of ours as it was read before, else read now."""

    def read() -> DrawnOutline:
        from engrave.shop.outline_svg import read_path_data

        return read_path_data(data)

    return _kept(f"path-{lid}", [], data, read) if table.parent == own_folder("shared") else read()


def _kept(name: str, files: list[Path], data: str, read: Callable[[], DrawnOutline]) -> DrawnOutline:
    under = f"geos {shapely.geos_version_string}\n{data}"
    plain = made_ready(name, [*files, *_modules()], lambda: as_plain(read()), under)
    try:
        return read_as(DrawnOutline, plain)
    except (ValueError, TypeError, KeyError):
        return read()  # what was kept is no outline: as if nothing were kept


def _modules() -> list[Path]:
    package = Path(__file__).parents[1]
    ours = [package.joinpath(*name.split(".")[1:]).with_suffix(".py") for name in READ_BY[:-1]]
    return [*ours, *file_of_library("svgelements", "svgelements.py")]
