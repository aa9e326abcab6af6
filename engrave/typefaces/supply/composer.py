"""Letters made of parts: a base with marks, a stroke through a stem, quotes of commas.

Marks are the typeface's own where it shows them on another letter or alone; else they are the strokes of the
typeface that is drawn in this project, in an outline typeface with a pen as thick as its hyphen.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol
from unicodedata import normalize

import numpy as np
from shapely import LineString, MultiLineString, get_coordinates
from shapely.geometry.base import BaseGeometry

from engrave.geometry.flattening import bounds, flatten
from engrave.geometry.paths import Contour, Path, transformed
from engrave.geometry.regions import polygons, region
from engrave.typefaces.characters import invisible
from engrave.typefaces.contours.outline_union import stroked, together
from engrave.typefaces.letter_form import FormBox, LetterForm, shifted
from engrave.typefaces.read import Spelling
from engrave.typefaces.supply.accents import ACCENTS, EXCEPTIONS, SIDE_BY_SIDE, Accent
from engrave.typefaces.supply.substitutions import HALF_SIGNS, LINKED, SAME_FORM, SEVERAL, STRUCK, TURNED_SIGNS
from engrave.typefaces.typeface_table import Facts

_FLAT = 0.004
"""Cap heights: chords for finding tops, feet and stems."""
_APART = 0.02
"""Cap heights: a mark that clears its letter by this much was drawn apart from it."""
_HEIGHTS = (0.5, 0.28)
"""Shares of a letter's height at which the stroke through an l may go: the middle, or under the flourishes of a script."""
_CLEARER = 0.85
"""A stroke leaves the middle of an l only where the letter hides so much less of it: else nothing is in its way."""
_STACK = 0.06
"""Cap heights between two marks, one over the other: about the gap between letter and mark in text typefaces."""
_THICKEST = 0.13
"""Cap heights: no pen for marks is thicker, whatever the hyphen: a breve would run into a blot."""
_PEN = 0.08
"""Cap heights: thickness of a pen where a typeface has no hyphen to measure."""


class LetterParts(Protocol):
    """What is asked of a typeface whose letters are put together."""

    facts: Facts

    @property
    def x_height(self) -> float:
        """Height of its small letters, in cap heights."""
        ...

    def own(self, cluster: str) -> Spelling | None:
        """Return how its files set a cluster, None if they lack it."""
        ...

    def form(self, char: str) -> LetterForm | None:
        """Return a character's form, None if its files lack it."""
        ...


class Composer:
    """Makes what a typeface lacks. strokes: a single-line typeface that lends marks, None if there is none."""

    def __init__(self, parts: LetterParts, strokes: LetterParts | None) -> None:
        self._parts = parts
        self._strokes = strokes
        self._lines = parts.facts.kind == "single-line"
        self._thickness: float | None = None

    def spelling(self, cluster: str) -> Spelling | None:
        """Return how a cluster is set with what the typeface has, None if that cannot be done well."""
        char = normalize("NFC", "".join(c for c in cluster if not invisible(c)))
        same = SAME_FORM.get(char)
        if same and (own := self._parts.own(same)):
            return own
        char = same or char
        if char in SEVERAL and (codes := self._codes(SEVERAL[char])):
            return Spelling(codes, how=f"it is set as {SEVERAL[char]}")
        made = self._made(char)
        if made is None:
            return None
        form, how = made
        base = STRUCK.get(char[0], normalize("NFD", char)[0])
        code = ord(base) if self._parts.own(base) else ord(" ")
        name = "".join(f"u{ord(c):04X}" for c in char)
        return Spelling((code,), how=how, made=form, name=name)

    def _codes(self, text: str) -> tuple[int, ...] | None:
        spellings = [self._parts.own(c) for c in text]
        return tuple(code for spelling in spellings if spelling for code in spelling.codes) if all(spellings) else None

    def _made(self, char: str) -> tuple[LetterForm, str] | None:
        for make in (
            self._quote,
            self._dash,
            self._linked,
            self._struck,
            self._dotless,
            self._upside_down,
            self._marked,
        ):
            found = make(char)
            if found is not None:
                return found
        return None

    # --- signs

    def _quote(self, char: str) -> tuple[LetterForm, str] | None:
        if char in HALF_SIGNS and (double := self._parts.form(HALF_SIGNS[char][0])):
            return _half(double), f"it is half of {HALF_SIGNS[char][0]}"
        if char not in "‘’‚“”„" or (comma := self._parts.form(",")) is None or comma.box is None:
            return None
        one = comma
        if char in "‘’“”":
            if char in "‘“":
                one = _turned(comma)
            level = self._top("'") or 1.0
            box = one.box
            assert box is not None
            one = one.moved(0.0, level - box[3])
        if char in "“”„":
            one = LetterForm((*one.path, *shifted(one.path, one.advance * 0.8, 0.0)), one.advance * 1.8)
        return one, "it is made of a comma"

    def _dash(self, char: str) -> tuple[LetterForm, str] | None:
        hyphen = self._parts.form("-")
        if char not in "–—" or hyphen is None or hyphen.box is None:
            return None
        left, low, right, high = hyphen.box
        long = (right - left) * (1.5 if char == "–" else 2.5)
        side = max(left, 0.02)
        line = _line((side + self.pen / 2, (low + high) / 2), (side + long - self.pen / 2, (low + high) / 2))
        return LetterForm(self._inked((line,)), long + 2 * side), "it is drawn as a longer hyphen"

    def _linked(self, char: str) -> tuple[LetterForm, str] | None:
        if not self._lines or char not in LINKED:
            return None
        one, two = (self._parts.form(c) for c in LINKED[char])
        if one is None or two is None or one.box is None or two.box is None:
            return None
        shift = one.box[2] - two.box[0]
        return LetterForm(
            (*one.path, *shifted(two.path, shift, 0.0)), two.advance + shift
        ), f"it is made of {LINKED[char]}"

    # --- letters

    def _struck(self, char: str) -> tuple[LetterForm, str] | None:
        base = self._parts.form(STRUCK.get(char, "\0"))
        if base is None or base.box is None:
            return None
        bar = self._bar(char, base)
        return LetterForm(
            self._whole([base.path, self._inked((bar,))]), base.advance
        ), f"it is made of {STRUCK[char]} and a stroke through it"

    def _bar(self, char: str, base: LetterForm) -> Contour:
        """Return the stroke through a letter, from the way each is usually drawn."""
        assert base.box is not None
        left, low, right, high = base.box
        x = self._parts.x_height
        if char in "øØ":
            return _line((left - 0.02, low - 0.04), (right + 0.02, high + 0.04))
        if char in "łŁ":
            bars = [self._slanted(base.path, share * high) for share in _HEIGHTS]
            hidden = [self._hidden(base.path, bar) for bar in bars]
            return bars[0] if min(hidden) > _CLEARER * hidden[0] else bars[hidden.index(min(hidden))]
        if char in "đħ":
            at = (x + high) / 2
            stem = self._stems(base.path, at)[-1 if char == "đ" else 0]
            return _line((stem - (0.2 if char == "đ" else 0.12), at), (stem + (0.12 if char == "đ" else 0.2), at))
        if char == "Ħ":
            return _line((left - 0.06, 0.74 * high), (right + 0.06, 0.74 * high))
        at = 0.5 * high
        stem = self._stems(base.path, at)[0]
        return _line((stem - 0.14, at), (stem + 0.18, at))

    def _slanted(self, path: Path, at: float) -> Contour:
        stem = self._stems(path, at)[0]
        return _line((stem - 0.13, at - 0.07), (stem + 0.15, at + 0.11))

    def _hidden(self, path: Path, bar: Contour) -> float:
        """Return how much of a bar the letter hides: besides the stem a script's flourishes, among which it is lost."""
        return float(LineString(flatten(bar, _FLAT)).intersection(self._shape(path).buffer(_PEN / 2)).length)

    def _stems(self, path: Path, y: float) -> list[float]:
        """Return where a level line meets the middle of strokes, from left to right."""
        box = bounds(path, _FLAT)
        assert box is not None
        level = LineString([(box[0] - 1.0, y), (box[2] + 1.0, y)])
        met = self._shape(path).intersection(level)
        parts = [g for g in getattr(met, "geoms", [met]) if not g.is_empty]
        return sorted(g.centroid.x for g in parts) or [(box[0] + box[2]) / 2]

    def _shape(self, path: Path) -> BaseGeometry:
        return MultiLineString([flatten(c, _FLAT) for c in path]) if self._lines else region(path, _FLAT)

    def _marked(self, char: str) -> tuple[LetterForm, str] | None:
        spelling = EXCEPTIONS.get(char) or normalize("NFD", char)
        letter, marks = spelling[0], spelling[1:]
        if not marks or not all(m in ACCENTS for m in marks):
            return None
        base = self._base(letter, any(ACCENTS[m].seat == "above" for m in marks))
        if base is None or base.box is None:
            return None
        parts, top, before = [base.path], _top_box(base.path), ""
        for mark in marks:
            placed = self._placed(mark, letter, base, top, before)
            if placed is None:
                return None
            parts.append(placed)
            if ACCENTS[mark].seat == "above":
                top, before = _over(placed, top), mark
        names = " and ".join(ACCENTS[m].name for m in marks)
        return _wide_enough(LetterForm(self._whole(parts), base.advance), base), f"it is made of {letter} and {names}"

    def _dotless(self, char: str) -> tuple[LetterForm, str] | None:
        made = self._base("i" if char == "ı" else "j", True) if char in ("ı", "ȷ") else None
        return (made, "it is drawn without its dot") if made else None

    def _upside_down(self, char: str) -> tuple[LetterForm, str] | None:
        upright = self._parts.form(TURNED_SIGNS.get(char, "\0"))
        return (_turned(upright), f"it is a turned {TURNED_SIGNS[char]}") if upright and upright.box else None

    def _base(self, letter: str, above: bool) -> LetterForm | None:
        """Return the form of a base, an i or a j without its dot if a mark comes in its place."""
        if above and letter in "ij":
            dotless = self._parts.form("ı" if letter == "i" else "ȷ")
            if dotless is not None:
                return dotless
            dotted = self._parts.form(letter)
            return dotted and LetterForm(_below(dotted.path, self._parts.x_height * 0.95), dotted.advance)
        found = self._parts.form(letter)
        if found is None and letter in STRUCK:
            made = self._struck(letter)
            return made[0] if made else None
        return found

    def _placed(self, mark: str, letter: str, base: LetterForm, top: FormBox, before: str) -> Path | None:
        """Return a mark's path where it belongs. top: box of the upper part of what it stands on."""
        assert base.box is not None
        seat = ACCENTS[mark].seat
        if seat == "above":
            return self._above(mark, letter, top, before)
        if seat == "horn":
            drawn = self._lent(mark)
            return drawn and shifted(drawn, top[2] - self._half_pen, min(top[3], base.box[3]) - 0.1 * base.box[3])
        if seat == "apostrophe":
            drawn = self._apostrophe(mark)
            return drawn and shifted(drawn, base.box[2] + 0.06, base.box[3])
        foot = _foot_box(base.path)
        if seat == "below":
            drawn = self._shown(mark, letter) or self._lent(mark)
            return drawn and shifted(drawn, (foot[0] + foot[2]) / 2, min(foot[1], 0.0))
        drawn = self._alone(mark)
        if drawn is not None:
            box = bounds(drawn, _FLAT)
            assert box is not None
            at = foot[2] - (box[2] - box[0]) / 2 if seat == "tail" else (foot[0] + foot[2]) / 2
            return shifted(drawn, at, 0.0)
        drawn = self._lent(mark)
        if drawn is None:
            return None
        aim = foot[2] - 0.05 if seat == "tail" else (foot[0] + foot[2]) / 2
        return shifted(drawn, *_nearest((aim, 0.0), base.path, self._half_pen))

    def _above(self, mark: str, letter: str, top: FormBox, before: str) -> Path | None:
        drawn = self._shown(mark, letter)
        if drawn is None:
            drawn = self._alone(mark)
            drawn = shifted(drawn, 0.0, -self._parts.x_height) if drawn else self._lent(mark)
        box = bounds(drawn, _FLAT) if drawn else None
        if drawn is None or box is None:
            return None
        middle = (top[0] + top[2]) / 2
        if not before:
            return shifted(drawn, middle, top[3])
        if (before, mark) in SIDE_BY_SIDE:
            return shifted(drawn, top[2] - box[0] - 0.02, top[3] - box[1] - 0.06)
        return shifted(drawn, middle, top[3] + _STACK - box[1])

    # --- where marks come from

    def _shown(self, mark: str, letter: str) -> Path | None:
        """Return a mark as the typeface draws it on a letter of that size, its middle at 0, the letter's top at 0."""
        what = ACCENTS[mark]
        donors = what.capitals + what.small if letter.isupper() else what.small + what.capitals
        for donor in donors:
            whole = self._parts.form(donor)
            bare = self._parts.form(normalize("NFD", donor)[0])
            if whole is None or bare is None or bare.box is None or not bare.path:
                continue
            found = self._apart(whole.path, bare.path, what)
            if found:
                return found
        return None

    def _apart(self, whole: Path, bare: Path, what: Accent) -> Path | None:
        edge = _foot_box(bare) if what.seat == "below" else _top_box(bare)
        level = edge[1] if what.seat == "below" else edge[3]
        if what.seat == "below":
            path = tuple(c for c in whole if _extent(c)[1] < level - _APART / 2)
        else:
            path = tuple(c for c in whole if _extent(c)[0] > level + _APART / 2)
        if not path or len(path) == len(whole):
            return None
        return shifted(path, -(edge[0] + edge[2]) / 2, -level)

    def _alone(self, mark: str) -> Path | None:
        """Return the mark's character of its own, its middle at 0, at the height where it sits on a small letter."""
        spacing = ACCENTS[mark].spacing
        form = self._parts.form(spacing) if spacing else None
        if form is None or form.box is None:
            return None
        return shifted(form.path, -(form.box[0] + form.box[2]) / 2, 0.0)

    def _apostrophe(self, mark: str) -> Path | None:
        found = self._parts.form("’") or ((made := self._quote("’")) and made[0]) or None
        if found is None or found.box is None:
            return None
        return shifted(found.path, -found.box[0], -found.box[3])

    def _lent(self, mark: str) -> Path | None:
        """Return a mark of our own strokes: middle at 0 and the letter's top, foot or point of touch at 0."""
        form = self._strokes.form(mark) if self._strokes else None
        if form is None or self._strokes is None:
            return None
        lift = self._strokes.x_height if ACCENTS[mark].seat == "above" else 0.0
        return self._inked(shifted(form.path, 0.0, -lift))

    # --- ink

    @property
    def pen(self) -> float:
        """Thickness of the typeface's thin strokes, in cap heights; none in single lines."""
        if self._thickness is None:
            self._thickness = self._measured_pen()
        return self._thickness

    def _measured_pen(self) -> float:
        if self._lines:
            return 0.0
        hyphen = self._parts.form("-")
        bars = polygons(region(hyphen.path, _FLAT)) if hyphen else []
        if not bars:
            return _PEN
        half, area = float(bars[0].length) / 2, float(bars[0].area)  # of a bar: length + thickness, length x thickness
        return min(_THICKEST, (half - math.sqrt(max(0.0, half * half - 4 * area))) / 2)

    @property
    def _half_pen(self) -> float:
        return self.pen / 2

    def _inked(self, lines: Path) -> Path:
        """Return strokes as the typeface draws: as they are, or as the outline of a pen."""
        return lines if self._lines else stroked(lines, self.pen)

    def _whole(self, parts: Sequence[Path]) -> Path:
        """Return parts as one: side by side as lines, united as outlines, whichever way each of them turns."""
        return tuple(c for part in parts for c in part) if self._lines else together(parts)

    def _top(self, char: str) -> float | None:
        form = self._parts.form(char)
        return form.box[3] if form and form.box else None


def _line(a: tuple[float, float], b: tuple[float, float]) -> Contour:
    return Contour(a, ((b,),), False)


def _extent(one: Contour) -> tuple[float, float]:
    """Return the least and the greatest y of a contour."""
    points = flatten(one, _FLAT)
    return float(points[:, 1].min()), float(points[:, 1].max())


def _below(path: Path, y: float) -> Path:
    return tuple(c for c in path if _extent(c)[0] < y)


def _dense(path: Path) -> np.ndarray:
    """Return points along a path, at most 0.02 cap heights apart, so that long straight strokes count in a box."""
    lines = MultiLineString([flatten(c, _FLAT) for c in path]).segmentize(0.02)
    return np.asarray(get_coordinates(lines), dtype=float)


def _top_box(path: Path) -> FormBox:
    """Return the box of a letter's upper third: a mark stands over that, not over a tail or a long foot."""
    points = _dense(path)
    high = points[:, 1].max()
    upper = points[points[:, 1] > 0.66 * high]
    return (float(upper[:, 0].min()), 0.66 * float(high), float(upper[:, 0].max()), float(high))


def _foot_box(path: Path) -> FormBox:
    """Return the box of a letter's lowest part, within a quarter of its height."""
    points = _dense(path)
    low, high = points[:, 1].min(), points[:, 1].max()
    lower = points[points[:, 1] < low + 0.25 * (high - low)]
    return (float(lower[:, 0].min()), float(low), float(lower[:, 0].max()), float(lower[:, 1].max()))


def _over(mark: Path, top: FormBox) -> FormBox:
    """Return the box on which the next mark stands."""
    return bounds(mark, _FLAT) or top


def _nearest(aim: tuple[float, float], path: Path, inwards: float) -> tuple[float, float]:
    """Return the point of a path nearest to the aim, a little inside an outline's ink."""
    points = _dense(path)
    x, y = points[int(np.hypot(points[:, 0] - aim[0], points[:, 1] - aim[1]).argmin())]
    return float(x), float(y) + inwards


def _half(double: LetterForm) -> LetterForm:
    """Return the left half of a double sign, in half its width."""
    box = double.box
    assert box is not None
    middle = (box[0] + box[2]) / 2
    left = tuple(c for c in double.path if (b := bounds((c,), _FLAT)) and (b[0] + b[2]) / 2 < middle)
    found = bounds(left, _FLAT)
    assert found is not None
    return LetterForm(left, found[2] + box[0])


def _turned(form: LetterForm) -> LetterForm:
    """Return a form turned by half a turn about its middle."""
    box = form.box
    assert box is not None
    turned = transformed(form.path, (-1.0, 0.0, 0.0, -1.0, box[0] + box[2], box[1] + box[3]))
    return LetterForm(turned, form.advance)


def _wide_enough(form: LetterForm, base: LetterForm) -> LetterForm:
    """Widen a narrow letter whose mark would stand in its neighbour: a mark may overhang by a twentieth."""
    box = form.box
    if box is None or base.box is None:
        return form
    left = max(0.0, min(0.0, base.box[0]) - 0.05 - box[0])
    right = max(0.0, box[2] - max(base.advance, base.box[2]) - 0.05)
    return LetterForm(shifted(form.path, left, 0.0), form.advance + left + right)
