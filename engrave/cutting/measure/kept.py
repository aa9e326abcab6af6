"""Glyph measures kept in memory and on disk, so that a letter is measured once and not once a week.

On disk: one JSON file a typeface in a folder that may be deleted at any time. Numbers are written so that they read
back exactly (shortest repr), so cold and warm runs give the same bytes. Files are replaced whole, by renaming, after
merging with what another run may have written meanwhile: the worst that two runs at once can do is to measure a
glyph twice. Where a letter is missing, a file that another process has replaced since is read again: workers of one week
measure each letter once between them. A file that cannot be read or written is as good as none, and so is a measure in
it whose digest is not that of its figures, or whose figures cannot be those of the glyph.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Hashable
from contextlib import suppress
from pathlib import Path
from typing import Any

import shapely

from engrave.cache import Cache, CacheKind
from engrave.cutting.measure.believable import Bounds, is_believable
from engrave.cutting.measure.crotch import Crotch
from engrave.cutting.measure.glyphs import GlyphMeasure
from engrave.files import whole_file
from engrave.geometry.narrow_strips import Narrow
from engrave.kept_data import cache_folder, file_of_library, replace_whole
from engrave.limits import MEASURES_BYTES

MEASURED_BY = (
    "engrave.cutting.criteria",
    "engrave.cutting.measure.components",
    "engrave.cutting.measure.crotch",
    "engrave.cutting.measure.glyphs",
    "engrave.cutting.measure.kept",
    "engrave.geometry.affine",
    "engrave.geometry.arrays",
    "engrave.geometry.flattening",
    "engrave.geometry.medial_edges",
    "engrave.geometry.medial_graph",
    "engrave.geometry.medial_points",
    "engrave.geometry.narrow_strips",
    "engrave.geometry.paths",
    "engrave.geometry.regions",
)
"""Modules that make a measure what it is: kept ones count only while none of them has changed by a letter."""

MOST_KEPT = 2000
"""Measures kept on disk a typeface, some MB: every letter as drawn, then as many others as there is room for."""

GAPS: CacheKind[Narrow | None] = CacheKind("gaps", 20_000)
"""Every pair of neighbours of a large week, about 4 MB."""

PACKAGE_FOLDER = Path(__file__).resolve().parents[2]

_KINDS = ("strokes", "parts", "webs", "counters", "specks")


def measures_version() -> str:
    """Return what must agree for a kept measure to be the one that would be taken now: the code and its libraries."""
    digest = hashlib.sha256()
    for name in MEASURED_BY:
        digest.update(source_of(name))
    digest.update(_said_by_scipy())
    return f"{digest.hexdigest()[:24]} geos {shapely.geos_version_string}"


def _said_by_scipy() -> bytes:
    """Return what scipy says of its version, read and not loaded; what is installed says the same ten times slower."""
    for file in file_of_library("scipy", "version.py"):
        with suppress(OSError):
            return file.read_bytes()
    from importlib.metadata import version

    return version("scipy").encode()


def source_of(module: str) -> bytes:
    """Return the text of a module of ours, which need not be loaded for it."""
    return PACKAGE_FOLDER.joinpath(*module.split(".")[1:]).with_suffix(".py").read_bytes()


class KeptMeasures:
    """Measures by key ('typeface/...'), taken when first asked for. folder: None keeps nothing on disk."""

    def __init__(self, folder: Path | str | bool | None = True, cache: Cache | None = None) -> None:
        """Keep measures in `folder`; True (the rule) asks `cache_folder`, None or False keeps them in memory only."""
        base = cache_folder() if folder is True else Path(folder) if folder else None
        self._folder = base / "measures" if base else None
        self._known: dict[str, dict[str, GlyphMeasure]] = {}
        self._texts: dict[str, dict[str, str]] = {}
        self._read_of: dict[str, tuple[int, int] | None] = {}
        self._fresh: set[str] = set()
        self._version = measures_version()
        self.cache = cache or Cache()

    def get(self, key: str, bounds: Bounds, take: Callable[[], GlyphMeasure]) -> GlyphMeasure:
        """Return the measure kept under the key, or take, keep and return it. bounds: the glyph's, in cap heights."""
        typeface = key.split("/", 1)[0]
        known = self._known.setdefault(typeface, {})
        found = known.get(key)
        if found is None:
            found = _believed(self._text(typeface, key), bounds)
            if found is None:
                found = take()
                self._fresh.add(typeface)
            known[key] = found
        return found

    def _text(self, typeface: str, key: str) -> str | None:
        """Return a measure as it stands on disk, None if it does not; the file is read again if another is in its place."""
        text = self._texts.get(typeface, {}).get(key)
        if text is None and _lasts(key):
            lies = _which_lies_at(self._file(typeface))
            if typeface not in self._texts or lies != self._read_of[typeface]:
                self._texts[typeface], self._read_of[typeface] = self._read(typeface), lies
                text = self._texts[typeface].get(key)
        return text

    def gap(self, key: Hashable, take: Callable[[], Narrow | None]) -> Narrow | None:
        """Return the gap between two neighbours kept under the key, or measure it; kept in memory only."""
        return self.cache.get(GAPS, key, take)

    def save(self) -> None:
        """Write what is new to disk. Failing to is no failure: the next run measures again."""
        for typeface in sorted(self._fresh):
            self._write(typeface)
        self._fresh.clear()

    def _file(self, typeface: str) -> Path | None:
        if self._folder is None:
            return None
        safe = "".join(c if c.isalnum() or c in "-_" else "_" for c in typeface)[:80]
        return self._folder / f"{safe}.json"

    def _read(self, typeface: str) -> dict[str, str]:
        """Return the measures of a file as texts, by key; those of which the digest says so are as they were written."""
        file = self._file(typeface)
        if file is None:
            return {}
        try:
            kept = json.loads(whole_file(file, MEASURES_BYTES))
            if kept["version"] != self._version:
                return {}
            pairs = {key: pair for key, pair in kept["measures"].items() if isinstance(pair, list) and len(pair) == 2}
            return {key: text for key, (digest, text) in pairs.items() if digest == _digest(key, text)}
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            return {}  # missing, half deleted, foreign or of another day: measure anew

    def _write(self, typeface: str) -> None:
        file = self._file(typeface)
        if file is None:
            return
        merged = {**self._read(typeface), **{key: _to_text(m) for key, m in self._known[typeface].items()}}
        merged = {key: merged[key] for key in sorted(filter(_lasts, merged), key=_by_use)[:MOST_KEPT]}
        measures = {key: [_digest(key, merged[key]), merged[key]] for key in sorted(merged)}
        try:
            replace_whole(file, json.dumps({"version": self._version, "measures": measures}, separators=(",", ":")))
        except OSError:
            return
        self._texts[typeface], self._read_of[typeface] = merged, _which_lies_at(file)


def _which_lies_at(file: Path | None) -> tuple[int, int] | None:
    """Return what tells one file in a place from the next that is put there, None if there is none."""
    try:
        found = file.stat() if file is not None else None
    except OSError:
        return None
    return (found.st_ino, found.st_mtime_ns) if found is not None else None


def _digest(key: str, text: object) -> str:
    """Return what tells whether a measure is as it was written, under the key under which it was written."""
    return hashlib.sha256(f"{key}\n{text}".encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _believed(text: str | None, bounds: Bounds) -> GlyphMeasure | None:
    """Return the measure that a text holds; None if it holds none that can be the glyph's."""
    if text is None:
        return None
    try:
        measure = _from_json(json.loads(text))
    except (ValueError, TypeError, OverflowError, RecursionError):
        return None
    return measure if is_believable(measure, bounds) else None


def _lasts(key: str) -> bool:
    """Tell whether what is measured may come again: letters bent along a rim do not."""
    return "~" not in key


def _by_use(key: str) -> tuple[bool, bool, str]:
    """Order keys by how often what they name comes again: letters as drawn, thickened ones, whole joined words."""
    return ("/joined/" in key, "+" in key, key)


def _to_text(measure: GlyphMeasure) -> str:
    figures = [
        *([[n.width, n.x, n.y, n.axis, n.closed_by] for n in getattr(measure, kind)] for kind in _KINDS),
        [[c.width, c.length, c.x, c.y, c.axis] for c in measure.crotches],
    ]
    return json.dumps(figures, separators=(",", ":"))


def _from_json(value: Any) -> GlyphMeasure:
    *narrow, crotches = value
    if len(narrow) != len(_KINDS):
        raise ValueError("not a measure of this format")
    strokes, parts, webs, counters, specks = (tuple(_narrow(*row) for row in rows) for rows in narrow)
    found = tuple(Crotch(*(float(v) for v in row)) for row in crotches)
    return GlyphMeasure(strokes, parts, webs, counters, specks, found)


def _narrow(width: float, x: float, y: float, axis: float | None, closed_by: float) -> Narrow:
    return Narrow(float(width), float(x), float(y), None if axis is None else float(axis), float(closed_by))
