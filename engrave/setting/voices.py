"""The words of each field in their typeface: shaped once as a strip, cut into units that no line breaks."""

from __future__ import annotations

import unicodedata
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from engrave.geometry.paths import flatten
from engrave.problems import Problem
from engrave.setting.breaks import Piece, pieces
from engrave.setting.shapes import Floats, Unit, hull_slices, letter_slices
from engrave.shop.models import Setting
from engrave.tasks import Task
from engrave.typefaces import Glyph, Placed, Run, Shelf, Typeface, thickened

CHORD = 0.0001
"""Cap heights that chords may stand off a letter's curve when it is placed: 1 micrometre on a letter of 10 mm."""

FINE = 0.002
"""Cap heights likewise for gaps between lines, where a fiftieth of a millimetre decides nothing."""

AROUND = np.array([(-FINE, -FINE), (-FINE, FINE), (FINE, -FINE), (FINE, FINE)])
"""Corners of a square that, moved along chords within FINE of a curve, covers it."""

MOST_KEPT = 2000
"""Glyphs whose measures are kept: every letter of a shelf of typefaces that a week uses."""

CAPITALS = 2
"""Words with fewer letters than this are not 'all in capitals': an initial is a name as it should be."""


@dataclass(frozen=True, slots=True, eq=False)
class Measure:
    """What setting needs of a glyph, in caps. outlines: contours, (n, 2) each. hull: (n, 2) corners; rough: fewer corners around them.

    slices: tops and bottoms (see `shapes`). ink: its area (outline) or length (single-line); centre_y: height of the ink's centroid.
    """

    outlines: tuple[Floats, ...]
    hull: Floats
    rough: Floats
    slices: Floats
    ink: float
    centre_y: float


@dataclass(frozen=True, slots=True)
class Word:
    """A unit's glyphs as placed in the field's strip, and what they make as a shape."""

    piece: Piece
    placed: tuple[Placed, ...]
    unit: Unit


@dataclass(frozen=True, slots=True)
class Voice:
    """One field ready to be set. ratio: its cap over the first field's. pitch: in its own caps.

    mixed: it reads in both directions, so that a line must be shaped whole to know its order.
    """

    field: str
    ratio: float
    pitch: float
    tracking: float
    typeface: Typeface
    text: str
    words: tuple[Word, ...]
    mixed: bool

    def line(self, first: int, last: int) -> tuple[str, tuple[Placed, ...]]:
        """Return the text and the glyphs, in caps, of the line made of words first to last - 1."""
        text = self.text[self.words[first].piece.start : self.words[last - 1].piece.end]
        if self.mixed:
            return text, self.typeface.shape(text, self.tracking).placed
        return text, tuple(p for w in self.words[first:last] for p in w.placed)


_measures: OrderedDict[str, Measure] = OrderedDict()


def measure(glyph: Glyph) -> Measure | None:
    """Return a glyph's measures, kept by its key; None if it draws nothing."""
    if not glyph.path:
        return None
    found = _measures.get(glyph.key)
    if found is None:
        found = _measures[glyph.key] = _measured(glyph)
        if len(_measures) > MOST_KEPT:
            _measures.popitem(last=False)
    return found


def _measured(glyph: Glyph) -> Measure:
    outlines = tuple(o if len(o) > 1 else np.repeat(o, 2, axis=0) for o in (flatten(c, CHORD) for c in glyph.path))
    rough = [flatten(c, FINE) for c in glyph.path]
    hull = corners(np.concatenate(outlines))
    ink, centre = _area(rough) if glyph.kind == "outline" else _length(rough)
    around = corners(np.concatenate([np.concatenate(rough) + corner for corner in AROUND]))
    return Measure(
        outlines,
        hull,
        around,
        letter_slices([r if len(r) > 1 else np.repeat(r, 2, axis=0) for r in rough]),
        ink,
        centre,
    )


def _area(rings: Iterable[Floats]) -> tuple[float, float]:
    """Return the area inside rings and the height of its centroid (shoelace formula)."""
    area = moment = 0.0
    for r in rings:
        cross = r[:-1, 0] * r[1:, 1] - r[1:, 0] * r[:-1, 1]
        area += float(cross.sum()) / 2
        moment += float((cross * (r[:-1, 1] + r[1:, 1])).sum()) / 6
    return abs(area), moment / area if area else 0.0


def _length(strokes: Iterable[Floats]) -> tuple[float, float]:
    length = moment = 0.0
    for s in strokes:
        parts = np.hypot(*np.diff(s, axis=0).T)
        length += float(parts.sum())
        moment += float((parts * (s[:-1, 1] + s[1:, 1])).sum()) / 2
    return length, moment / length if length else 0.0


def corners(points: Floats) -> Floats:
    """Return the corners of the convex hull, turning left from the leftmost."""
    hull = shapely.convex_hull(shapely.linestrings(np.concatenate([points, points[:1]])))
    if hull.geom_type != "Polygon":
        ends = np.asarray(hull.coords)
        return ends[np.lexsort((ends[:, 1], ends[:, 0]))]
    ring = np.asarray(hull.exterior.coords)[:-1]
    if not hull.exterior.is_ccw:
        ring = ring[::-1]
    return np.roll(ring, -int(np.lexsort((ring[:, 1], ring[:, 0]))[0]), axis=0)


def shape_of(placed: Sequence[Placed], rough: bool = False) -> Floats | None:
    """Return the hull corners of placed glyphs together, in caps; None if they draw nothing."""
    measures = [(p, m) for p in placed if (m := measure(p.glyph))]
    points = [(m.rough if rough else m.hull) * p.scale + (p.x, p.y) for p, m in measures]
    return corners(np.concatenate(points)) if points else None


def voices(task: Task, shelf: Shelf) -> tuple[tuple[Voice, ...], tuple[Problem, ...]]:
    """Return every field that leaves ink, the first with ratio 1, and what is to be said of letters and capitals."""
    setting = task.setting
    ratios = {"name": 1.0, "message": setting.message_ratio, "foot": setting.foot_ratio}
    out: list[Voice] = []
    problems: list[Problem] = []
    for field, words in task.words.filled():
        typeface = thickened(shelf.get(task.typeface(field)), task.thicken)
        capitals = all_capitals(words)
        if capitals and not typeface.bears_capitals:
            problems.append(_in_capitals(field, words, typeface))
        tracking = _tracking(task, capitals, typeface)
        found, said, mixed = _words(words, typeface, tracking, setting)
        problems += said
        if found:
            out.append(Voice(field, ratios[field], pitch(words, setting), tracking, typeface, words, found, mixed))
    if out:
        out = [replace(v, ratio=v.ratio / out[0].ratio) for v in out]
    return tuple(out), tuple(dict.fromkeys(problems))


def _tracking(task: Task, capitals: bool, typeface: Typeface) -> float:
    """Return the extra space between letters in caps: the order's, and the setting's between capitals; none if joined."""
    if typeface.joined:
        return 0.0
    return task.tracking + (task.setting.tracking_capitals if capitals else 0.0)


def _in_capitals(field: str, words: str, typeface: Typeface) -> Problem:
    says = (
        f"The {field} is all in capitals, which {typeface.title} does not bear: its capitals are made to begin words. "
        "It is set as written; ask the buyer for capitals and small letters, or take another typeface."
    )
    return Problem("all-capitals-in-script", "look", says, where=f"{field}: {words}")


def all_capitals(words: str) -> bool:
    """Tell whether words are written in capitals alone."""
    cased = [c for c in words if c.lower() != c.upper()]
    return len(cased) > CAPITALS and all(c.isupper() for c in cased)


def pitch(words: str, setting: Setting) -> float:
    """Return the line pitch in caps by what the words hold (ISO 3098-1, type B: b3, b2, b1 over h)."""
    if any(c.isupper() and len(unicodedata.normalize("NFD", c)) > 1 for c in words):
        return setting.pitch_accents
    return setting.pitch_capitals if all_capitals(words) else setting.pitch_mixed


def _words(
    text: str, typeface: Typeface, tracking: float, setting: Setting
) -> tuple[tuple[Word, ...], list[Problem], bool]:
    """Shape each line that the buyer asked for as one strip, and cut it into words; one that leaves no ink is left."""
    mixed = _reads_both_ways(text)
    problems: list[Problem] = []
    out: list[Word] = []
    at = 0
    every = pieces(text)
    for line in text.split("\n"):
        run = typeface.shape(line, tracking)
        problems += run.problems
        inside = [replace(p, start=p.start - at) for p in every if at <= p.start < at + len(line) + 1]
        cut = _apart(inside, typeface, tracking) if mixed else _cut(inside, run)
        for piece, glyphs in zip(inside, cut, strict=True):
            hull, around = shape_of(glyphs), shape_of(glyphs, rough=True)
            if hull is not None and around is not None:
                shape = Unit(piece.text, hull, hull_slices(around), piece.price * setting.ampersand, piece.closes)
                out.append(Word(replace(piece, start=piece.start + at, end=piece.end), glyphs, shape))
        at += len(line) + 1
    return tuple(out), problems, mixed


def _cut(inside: Sequence[Piece], run: Run) -> list[tuple[Placed, ...]]:
    return [tuple(p for p in run.placed if q.start <= p.start < q.start + len(q.text)) for q in inside]


def _apart(inside: Sequence[Piece], typeface: Typeface, tracking: float) -> list[tuple[Placed, ...]]:
    """Shape each word by itself, side by side: as wide as the line will be, whatever its order."""
    blank = typeface.shape("n n", tracking).advance - 2 * typeface.shape("n", tracking).advance
    out: list[tuple[Placed, ...]] = []
    at = 0.0
    for piece in inside:
        run = typeface.shape(piece.text, tracking)
        out.append(tuple(replace(p, x=p.x + at) for p in run.placed))
        at += run.advance + max(blank, 0.0)
    return out


def _reads_both_ways(text: str) -> bool:
    ways = {unicodedata.bidirectional(c) for c in text}
    return bool(ways & {"R", "AL"}) and bool(ways & {"L", "EN", "AN"})
