"""Digests of everything a piece comes from, by which a later run knows what it need not make anew."""

from __future__ import annotations

import json
import platform
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from hashlib import sha256
from importlib import metadata
from pathlib import Path
from typing import Any

from engrave.shop.artwork import artwork_files
from engrave.shop.inputs import input_files
from engrave.shop.places import own_folder
from engrave.stored import as_plain
from engrave.tasks import Plain, Refused, Task
from engrave.version import VERSION

PACKAGE = Path(__file__).resolve().parent

UNREAD = frozenset({".png", ".pyc", ".md", ".txt"})
"""Endings of files beside ours that nothing is made from."""

LIBRARIES = (
    "babel", "fonttools", "jinja2", "numpy", "pillow", "python-bidi", "scipy", "shapely", "skia-pathops", "svgelements",
    "svgwrite", "typst", "uharfbuzz", "uniseg",
)  # fmt: skip
"""Libraries whose versions may change a byte of what is made; one that is not installed is passed over."""


def surroundings(shop_folder: Path | None) -> str:
    """Return the digest of what all pieces share: the program, its libraries, tables and typefaces, ours and the shop's."""
    digest = sha256(json.dumps([VERSION, platform.python_version(), *_versions()]).encode())
    for root in (PACKAGE, own_folder("shared"), own_folder("fonts_open")):
        _add(digest, root, (path for path in sorted(root.rglob("*")) if path.suffix not in UNREAD))
    if shop_folder is not None:
        drawings = artwork_files(shop_folder)  # each counts for the pieces that it is cut on alone
        _add(digest, shop_folder, (path for path in input_files(shop_folder) if path not in drawings))
    return digest.hexdigest()


def unit_key(around: str, whats: Sequence[Task | Plain | Refused], names: Iterable[Sequence[str]]) -> str:
    """Return the digest of what one unit is made from. around: see `surroundings`; names: of each piece's files.

    A task follows from its order and the tables, so the order tells it all. Where a row stands in the table is no part of
    it, as long as nothing that is said of it names the row: a row put in above changes nothing.
    """
    told: list[Any] = [around, [list(name) for name in names]]
    for what in whats:
        area = what.area.name if isinstance(what, Task) else ""
        problems = () if isinstance(what, Plain) else what.problems
        told.append([type(what).__name__, what.piece, area, as_plain(replace(what.order, row=0)), as_plain(problems)])
        if isinstance(what, Task) and what.artwork is not None:
            told.append(what.artwork.digest)
    return sha256(json.dumps(told, ensure_ascii=True).encode()).hexdigest()


def with_rows(key: str, whats: Sequence[Task | Plain | Refused]) -> str:
    """Return the key of a unit of which something names the rows that it stands in."""
    return sha256(json.dumps([key, [what.order.row for what in whats]]).encode()).hexdigest()


def _versions() -> Iterator[str]:
    for name in LIBRARIES:
        try:
            yield f"{name} {metadata.version(name)}"
        except metadata.PackageNotFoundError:
            continue


def _add(digest: Any, root: Path, files: Iterable[Path]) -> None:
    for path in files:
        if path.is_file():
            name = path.relative_to(root) if path.is_relative_to(root) else path
            digest.update(
                f"{name.as_posix()} {sha256(path.read_bytes()).hexdigest()}\n".encode("utf-8", "surrogatepass")
            )
