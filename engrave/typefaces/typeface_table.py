"""What a typeface's own table, `typeface.toml`, says of it: read, checked, and made for a bare font file."""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from engrave.shop.toml_text import TableUnread, read_toml
from engrave.typefaces.run import ORNAMENT, TypefaceKind

TABLE = "typeface.toml"
OUTLINE_SUFFIXES = (".ttf", ".otf", ".woff", ".woff2")
LINE_SUFFIXES = (".svg",)


class TypefaceError(ValueError):
    """A typeface's table or file that cannot be used; the message names file, key, what was found, what is allowed."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured on a typeface's letters, in mm at a cap height of 1 mm; None where nothing was found.

    stroke: thinnest stroke of H, o, e, s, t (of its own letters in scripts without capitals). web: thinnest wood
    left inside and between the strokes of one of them. counter: widest circle in the smallest counter of a and e.
    stem: thickness of the stem of a small l. reads_from_mm: height of capitals from which words are read at arm's length
    (`legibility`), in mm itself. For single-line typefaces only web and counter apply, between strokes.
    """

    stroke: float | None
    web: float | None
    counter: float | None
    stem: float | None
    reads_from_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Facts:
    """A typeface's particulars. files: font files, slices of one typeface in order of preference.

    reserved_name: the font name that a changed file may not keep, '' if none is reserved. joined: letters touch by
    design. bears_capitals: words all in capitals look right. reference_height: height in font units that counts as
    the cap height where a script has no capitals. spacing: space between letters beyond the file's own, in cap heights,
    for a typeface drawn for a thinner pen than a bit. companions: ids that lend letters, best first. features: OpenType
    features that are always on, or off ('-liga'). features_with: those that come along with one that a row asks for.
    redrawn: letters of a single-line typeface drawn anew, each with its SVG path data in font units.
    instance: which named instance of a variable font. digests: SHA-256 of the files as they lie here.
    """

    id: str
    title: str
    kind: TypefaceKind
    files: tuple[Path, ...]
    licence: str = ""
    maker: str = ""
    source: str = ""
    version: str = ""
    reserved_name: str = ""
    good_for: str = ""
    joined: bool = False
    bears_capitals: bool = True
    reference_height: float | None = None
    spacing: float = 0.0
    companions: tuple[str, ...] = ()
    features: tuple[str, ...] = ()
    features_with: tuple[tuple[str, tuple[str, ...]], ...] = ()
    redrawn: tuple[tuple[str, str], ...] = ()
    instance: str = ""
    digests: tuple[str, ...] = ()
    measured: Measured | None = None
    own: bool = True


WIDEST_SPACING = 0.3
"""Cap heights: letters that stand further apart than that by rule do not make words."""

LONGEST_ID = 80
"""Letters of a typeface's id, which is typed by hand and printed in tables."""

MOST_FILES = 200
"""Slices of one typeface: the largest known, for Chinese on the web, has 120."""

TALLEST_GLYPH = 100_000.0
"""Font units: no letter is taller."""

FEATURE_TAG = re.compile(r"^-?[A-Za-z0-9]{4}$")
"""An OpenType feature: four letters or digits (OpenType specification, feature tags), with a '-' before it for off."""

_TEXT = ("id", "title", "licence", "maker", "source", "version", "good_for", "instance")
_FLAGS = ("joined", "bears_capitals")
_LISTS = ("companions", "digests", "features")
_KEYS = {*_TEXT, *_FLAGS, *_LISTS, "kind", "file", "files", "reserved_name", "reference_height", "spacing", "measured",
         "features_with", "redrawn"}  # fmt: skip
_MEASURED = ("stroke", "web", "counter", "stem", "reads_from_mm")


def read_table(folder: Path, own: bool = True) -> Facts:
    """Read a typeface's folder. Raises TypefaceError for a table that cannot be used."""
    path = folder / TABLE
    try:
        table = read_toml(path)
    except TableUnread as why:
        raise TypefaceError(f"{path}: {why}") from why
    for key in sorted(set(table) - _KEYS)[:1]:
        raise TypefaceError(f"{path}: {key}: no such key; allowed are {', '.join(sorted(_KEYS))}")
    files = _files(path, table)
    kind = table.get("kind", "single-line" if files[0].suffix.lower() in LINE_SUFFIXES else "outline")
    if kind not in ("outline", "single-line"):
        raise TypefaceError(f"{path}: kind: found {kind!r}; allowed are 'outline' and 'single-line'")
    values: dict[str, Any] = {key: _of(path, table, key, str) for key in _TEXT if key in table}
    values |= {key: _of(path, table, key, bool) for key in _FLAGS if key in table}
    values |= {key: _texts(path, table, key) for key in _LISTS if key in table}
    for tag in values.get("features", ()):
        _tag(path, "features", tag)
    values["features_with"] = _with(path, table)
    values["redrawn"] = _redrawn(path, table, kind)
    values.setdefault("id", folder.name)
    if (
        not values["id"].strip()
        or len(values["id"]) > LONGEST_ID
        or not values["id"].isprintable()
        or "/" in values["id"]
    ):
        raise TypefaceError(f"{path}: id: found {values['id'][:80]!r}; a short name is needed, as 'our-script'")
    _not_ours(path, values["id"])
    values.setdefault("title", values["id"])
    return Facts(
        **values, kind=kind, files=files, own=own, reserved_name=_reserved(path, table),
        reference_height=_height(path, table), spacing=_spacing(path, table), measured=_measured(path, table.get("measured")),
    )  # fmt: skip


def bare(file: Path) -> Facts:
    """Return the particulars of a font file that a shop dropped without a table: its name is its id.

    Raises TypefaceError for a name that no typeface may have.
    """
    _not_ours(file, id_of(file))
    kind: TypefaceKind = "single-line" if file.suffix.lower() in LINE_SUFFIXES else "outline"
    return Facts(id_of(file), file.stem, kind, (file,), source=f"the shop's own file {file.name}", own=False)


def _not_ours(path: Path, ident: str) -> None:
    if ident == ORNAMENT:
        raise TypefaceError(f"{path}: id: '{ORNAMENT}' is kept for our ornaments; give the typeface another name")


def id_of(file: Path) -> str:
    """Return the id that a font file without a table has: its name in small letters, blanks as dashes."""
    return "-".join(file.stem.lower().replace("_", " ").split())


def digest(file: Path) -> str:
    """Return the SHA-256 of a file."""
    return hashlib.sha256(file.read_bytes()).hexdigest()


def _files(path: Path, table: Mapping[str, Any]) -> tuple[Path, ...]:
    names = [table["file"]] if "file" in table else table.get("files", [])
    if (
        not names
        or not isinstance(names, list)
        or len(names) > MOST_FILES
        or not all(isinstance(n, str) for n in names)
    ):
        raise TypefaceError(f"{path}: file: found none; name the font file, or several slices under files = [...]")
    files = tuple(path.parent / n for n in names)
    for file in files:
        if not file.is_file():
            raise TypefaceError(f"{path}: file: {file.name} is not in the folder")
        if file.suffix.lower() not in (*OUTLINE_SUFFIXES, *LINE_SUFFIXES):
            allowed = ", ".join((*OUTLINE_SUFFIXES, *LINE_SUFFIXES))
            raise TypefaceError(f"{path}: file: found {file.name}; allowed are files ending in {allowed}")
    return files


def _of(path: Path, table: Mapping[str, Any], key: str, kind: type) -> Any:
    value = table[key]
    if not isinstance(value, kind):
        raise TypefaceError(f"{path}: {key}: found {value!r}; a {kind.__name__} is needed")
    return value


def _texts(path: Path, table: Mapping[str, Any], key: str) -> tuple[str, ...]:
    found = _of(path, table, key, list)
    if not all(isinstance(text, str) for text in found):
        raise TypefaceError(f"{path}: {key}: found {str(found)[:80]}; a list of texts in quotes is needed")
    return tuple(found)


def _tag(path: Path, key: str, tag: str) -> str:
    if not FEATURE_TAG.match(tag):
        raise TypefaceError(
            f"{path}: {key}: found {tag[:40]!r}; OpenType tags are needed, as 'ss01', or '-liga' for off"
        )
    return tag


def _with(path: Path, table: Mapping[str, Any]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return which features come along with which."""
    found = _of(path, table, "features_with", dict) if "features_with" in table else {}
    for tag in found:
        _tag(path, "features_with", tag)
    return tuple((t, tuple(_tag(path, f"features_with.{t}", more) for more in _texts(path, found, t))) for t in found)


def _redrawn(path: Path, table: Mapping[str, Any], kind: TypefaceKind) -> tuple[tuple[str, str], ...]:
    """Return which letters are drawn anew, and how."""
    found = _of(path, table, "redrawn", dict) if "redrawn" in table else {}
    if found and kind == "outline":
        raise TypefaceError(
            f"{path}: redrawn: only single lines can be drawn anew; an outline font is changed as a font"
        )
    for char, data in found.items():
        if len(char) != 1 or not isinstance(data, str):
            raise TypefaceError(
                f'{path}: redrawn: found {char[:40]!r}; one letter and its path are needed, T = "M 0 0 L ..."'
            )
    return tuple(found.items())


def _reserved(path: Path, table: Mapping[str, Any]) -> str:
    value = table.get("reserved_name", False)
    if isinstance(value, bool):
        return str(table.get("title", "")) if value else ""
    return str(_of(path, table, "reserved_name", str))


def _height(path: Path, table: Mapping[str, Any]) -> float | None:
    value = table.get("reference_height")
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= TALLEST_GLYPH:
        raise TypefaceError(f"{path}: reference_height: found {value!r}; a height above 0 in font units is needed")
    return float(value)


def _spacing(path: Path, table: Mapping[str, Any]) -> float:
    value = table.get("spacing", 0.0)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= WIDEST_SPACING:
        raise TypefaceError(
            f"{path}: spacing: found {value!r}; a share of the cap height from 0 to {WIDEST_SPACING:g} is needed"
        )
    return float(value)


def _measured(path: Path, table: Any) -> Measured | None:
    if table is None:
        return None
    if not isinstance(table, dict) or set(table) - set(_MEASURED):
        raise TypefaceError(f"{path}: measured: found {table!r}; allowed are {', '.join(_MEASURED)}")
    for key, value in table.items():
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < math.inf:
            raise TypefaceError(f"{path}: measured: {key}: found {value!r}; a share of the cap height is needed")
    return Measured(**{key: None if table.get(key) is None else float(table[key]) for key in _MEASURED})
