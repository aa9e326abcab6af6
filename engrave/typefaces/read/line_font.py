"""Single-line fonts as SVG 1.1 font files (W3C Recommendation, chapter 20): glyphs, advances, kerning."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path as File

from fontTools.svgLib.path.parser import parse_path

from engrave.files import Unreadable, whole_file
from engrave.geometry.paths import Path
from engrave.limits import FONT_BYTES, FONT_GLYPHS, FONT_LEVELS
from engrave.typefaces.contours.path_pen import PathPen
from engrave.typefaces.typeface_table import TypefaceError
from engrave.xml_tree import XmlUnread, tree_of

_CURVED = 0.5
"""Share of glyphs with curves from which a font counts as drawn with curves."""


_FORM_NAME = re.compile(r"^\w+\.[a-z]{2}[a-z0-9]{2}$")

LONGEST_DATA = 100_000
"""Letters of one glyph's path: the richest known has 4,000."""

FARTHEST_UNITS = 100_000.0
"""Font units: no point of a glyph lies farther out; usual fonts have 1,000 or 2,048 to the em."""

MOST_KERNS = 200_000
"""Rules of kerning, counted by their first character; what comes after is not kerned. The richest known has 3,000."""


@dataclass(frozen=True, slots=True)
class LineFont:
    """An SVG font as the file has it: path data and advance by character, kerning by pair of glyph names.

    Another form of a character ('three.onum': its glyph name, a dot and the OpenType feature that asks for it; Adobe
    Glyph List specification, section 2) is kept under that name. names: glyph names by character. kerning: by first character, which second ones stand how much nearer, in font
    units.
    """

    data: Mapping[str, str]
    advances: Mapping[str, float]
    names: Mapping[str, str] = field(default_factory=dict)
    kerning: Mapping[str, Sequence[tuple[frozenset[str], float]]] = field(default_factory=dict)

    def kern(self, first: str, second: str) -> float:
        """Return how much nearer `second` stands after `first`; where rules disagree the first counts."""
        return next((k for seconds, k in self.kerning.get(first, ()) if second in seconds), 0.0)

    @property
    def chords(self) -> bool:
        """Whether rounds are given as chords: a font drawn with curves has them in most letters, not in a few."""
        drawn = [d for d in self.data.values() if d]
        return sum(any(c in d for c in "CcQqSsTtAa") for d in drawn) < _CURVED * len(drawn)

    def path(self, char: str, scale: float = 1.0, drop: float = 0.0) -> Path:
        """Return a character's strokes as drawn, scaled, `drop` being the y of the base line in font units."""
        if len(self.data[char]) > LONGEST_DATA:
            raise ValueError(f"its path has {len(self.data[char]):,} letters; at most {LONGEST_DATA:,} are read")
        pen = PathPen(scale, drop)
        parse_path(self.data[char], pen)
        path = pen.path
        points = (p for c in path for p in (c.start, *(q for segment in c.segments for q in segment)))
        if not all(abs(v) <= FARTHEST_UNITS * scale for p in points for v in p):  # nan is not, either
            raise ValueError(f"it reaches farther than {FARTHEST_UNITS:,.0f} units")
        return path


def read_line_font(file: File) -> LineFont:
    """Read an SVG font. Raises TypefaceError if the file is none."""
    try:
        root = tree_of(whole_file(file, FONT_BYTES), FONT_BYTES, FONT_LEVELS)
    except (Unreadable, XmlUnread) as why:
        raise TypefaceError(f"{file.name}: not an SVG file that can be read ({why})") from why
    font = next((e for e in root.iter() if _tag(e) == "font"), None)
    if font is None:
        raise TypefaceError(f"{file.name}: holds no <font>; a single-line typeface is an SVG font, glyphs in a <font>")
    usual = _number(font.get("horiz-adv-x"), 0.0)
    glyphs = [e for e in font if _tag(e) == "glyph" and _key(e)]
    if FONT_GLYPHS.passed(len(glyphs)):
        raise TypefaceError(f"{file.name}: {FONT_GLYPHS.of}: {FONT_GLYPHS.told(len(glyphs))}")
    if not any(e.get("d") for e in glyphs):
        raise TypefaceError(f"{file.name}: its font has no glyph with a path")
    data = {_key(e): e.get("d") or "" for e in glyphs}
    advances = {_key(e): _number(e.get("horiz-adv-x"), usual) for e in glyphs}
    names = {_key(e): e.get("glyph-name") or _key(e) for e in glyphs}
    return LineFont(data, advances, names, _kerning(font, names))


def _key(glyph: ET.Element) -> str:
    """Return a glyph's character, the name of another form of one, '' for what no words reach."""
    char, name = glyph.get("unicode") or "", glyph.get("glyph-name") or ""
    if char:
        return char if len(char) == 1 else ""
    return name if _FORM_NAME.match(name) else ""


def _tag(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2]


def _number(text: str | None, otherwise: float) -> float:
    try:
        found = float(text) if text else otherwise
    except ValueError:
        return otherwise
    return found if math.isfinite(found) else otherwise


def _kerning(font: ET.Element, names: Mapping[str, str]) -> dict[str, list[tuple[frozenset[str], float]]]:
    """Return kerning rules by first character, in the order of the file (SVG 1.1, section 20.7)."""
    chars: dict[str, list[str]] = defaultdict(list)
    for char, name in names.items():
        chars[name].append(char)
    out: dict[str, list[tuple[frozenset[str], float]]] = defaultdict(list)
    count = 0
    for rule in (e for e in font if _tag(e) == "hkern"):
        seconds = frozenset(_sides(rule, "2", chars))
        for first in _sides(rule, "1", chars):
            out[first].append((seconds, _number(rule.get("k"), 0.0)))
            count += 1
        if count > MOST_KERNS:
            break
    return dict(out)


def _sides(rule: ET.Element, side: str, chars: Mapping[str, list[str]]) -> Iterable[str]:
    for name in (rule.get(f"g{side}") or "").split(","):
        yield from chars.get(name.strip(), ())
    for char in (rule.get(f"u{side}") or "").split(","):
        if len(char) == 1:
            yield char
