"""Glyph measures kept in memory and on disk, so that a letter is measured once and not once a week.

On disk: one JSON file a typeface in a folder that may be deleted at any time. Numbers are written so that they read
back exactly (shortest repr), so cold and warm runs give the same bytes. Files are replaced whole, by renaming, after
merging with what another run may have written meanwhile: the worst that two runs at once can do is to measure a
glyph twice. Where a letter is missing, a file that another process has replaced since is read again: workers of one week
measure each letter once between them. A file that cannot be read or written is as good as none, and so is a measure in
it whose digest is not that of its figures, or whose figures cannot be those of the glyph.

The usual letters of our own typefaces come measured, in files of the same form, packed (`tests/tools/letters_measured.py`):
a first week need not measure them. They count under the same terms as what a run has kept.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import zlib
from collections.abc import Callable, Hashable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import shapely

from engrave.cache import Cache, CacheKind
from engrave.cutting.measure.believable import Bounds, is_believable
from engrave.cutting.measure.crotch import Crotch
from engrave.cutting.measure.glyphs import GlyphMeasure
from engrave.files import Unreadable, whole_file
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

LETTERS_MEASURED = Path(__file__).resolve().parent / "letters"
"""Where the measures lie that come with the program."""

PACKAGE_FOLDER = Path(__file__).resolve().parents[2]

_KINDS = ("strokes", "parts", "webs", "counters", "specks")


def measures_version() -> str:
    """Return what must agree for a kept measure to be the one that would be taken now: the code and its libraries."""
    digest = hashlib.sha256()
    for name in MEASURED_BY:
        digest.update(source_of(name))
    scipy = hashlib.sha256(_said_by_scipy()).hexdigest()
    return f"{digest.hexdigest()[:24]} scipy {scipy[:24]} geos {shapely.geos_version_string}"


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
        """Keep measures in `folder`; True (the rule) asks `cache_folder`, None or False keeps them in memory only.

        Only by the rule are those looked up that come with the program.
        """
        base = cache_folder() if folder is True else Path(folder) if folder else None
        self._folder = base / "measures" if base else None
        self._with_program = LETTERS_MEASURED if folder is True else None
        self._come: dict[str, dict[str, str]] = {}
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
            return text if text is not None else self._come_with_program(typeface).get(key)
        return text

    def _come_with_program(self, typeface: str) -> Mapping[str, str]:
        """Return the measures of a typeface that come with the program, as texts, by key."""
        if typeface not in self._come:
            folder = self._with_program
            self._come[typeface] = (
                packed_measures(folder / file_name(typeface, "json.gz"), self._version) if folder else {}
            )
        return self._come[typeface]

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
        return self._folder / file_name(typeface, "json")

    def _read(self, typeface: str) -> dict[str, str]:
        """Return the measures of a file as texts, by key; those of which the digest says so are as they were written."""
        file = self._file(typeface)
        try:
            return _whole_ones(whole_file(file, MEASURES_BYTES), self._version) if file is not None else {}
        except Unreadable:
            return {}

    def _write(self, typeface: str) -> None:
        file = self._file(typeface)
        if file is None:
            return
        merged = {**self._read(typeface), **{key: _to_text(m) for key, m in self._known[typeface].items()}}
        merged = {key: merged[key] for key in sorted(filter(_lasts, merged), key=_by_use)[:MOST_KEPT]}
        try:
            replace_whole(file, _in_file(merged, self._version))
        except OSError:
            return
        self._texts[typeface], self._read_of[typeface] = merged, _which_lies_at(file)


def file_name(typeface: str, ending: str) -> str:
    """Return what the file of a typeface's measures is called."""
    return f"{''.join(c if c.isalnum() or c in '-_' else '_' for c in typeface)[:80]}.{ending}"


def _in_file(texts: Mapping[str, str], version: str) -> str:
    """Return what a file of measures holds, each as a text beside its digest."""
    measures = {key: [_digest(key, texts[key]), texts[key]] for key in sorted(texts)}
    return json.dumps({"version": version, "measures": measures}, separators=(",", ":"))


def _whole_ones(data: bytes, version: str) -> dict[str, str]:
    """Return the measures of a file as texts, by key: those of which the digest says so are as they were written."""
    try:
        kept = json.loads(data)
        if kept["version"] != version:
            return {}
        pairs = {key: pair for key, pair in kept["measures"].items() if isinstance(pair, list) and len(pair) == 2}
        return {key: text for key, (digest, text) in pairs.items() if digest == _digest(key, text)}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}  # half deleted, foreign or of another day: measure anew


def pack(measures: Mapping[str, GlyphMeasure]) -> bytes:
    """Return what a file holds of measures that come with the program: the same ones give the same bytes."""
    texts = {key: _to_text(measure) for key, measure in measures.items()}
    return gzip.compress(_in_file(texts, measures_version()).encode(), 9, mtime=0)


def packed_measures(file: Path, version: str) -> dict[str, str]:
    """Return the measures of a packed file as texts, by key; {} if it is none of this version."""
    try:
        return _whole_ones(gzip.decompress(whole_file(file, MEASURES_BYTES)), version)
    except (Unreadable, OSError, EOFError, zlib.error):
        return {}


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
