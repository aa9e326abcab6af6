"""Letters of a drawn typeface: read from its tables, shared, and composed of a base and its marks.

Unit: thousandths of the em, y up, baseline at 0. A letter is drawn wherever its strokes are easiest to write; its two
side bearings, measured from the outermost strokes or from its `box`, then place it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from engrave.geometry.flattening import bounds
from engrave.geometry.paths import Contour, Path, transformed
from withy.strokes import StrokeError, nearest, number, strokes

_HORN = "\u031b"
_EXACT = 0.05
"""Flattening of curves when bounds are taken, in units: a twentieth of what a reader could see at 20 mm."""

_PLACE = re.compile(r"^(?:at (\S+) (\S+))? ?(?:size (\S+))?$")
"""Where a letter that another uses stands in it."""

_ANCHORS = ("top", "bottom", "foot", "beside", "before")
_KEYS = {"strokes", "sides", "box", "height", "use", "place", "turn", "advance", *_ANCHORS}
_BESIDE = 120
"""How far right of a letter a mark beside it stands if the letter does not say: a groove and a narrow gap."""


class TableError(ValueError):
    """A source table that cannot be used: says which letter, what was found and what is allowed."""


@dataclass(frozen=True, slots=True)
class DrawnLetter:
    """One drawn letter or mark.

    path: strokes; advance: width it takes; left, right: what its side bearings are measured from (its box).
    top, bottom: x at which marks above and below are centred; foot: x at which an ogonek hangs; beside, before: x of
    a mark that stands after or before it; height: y from which marks above are counted.
    place: how a mark sits ('above', 'below', 'tied', 'foot', 'beside', 'before', 'horn'), '' for a letter.
    """

    path: Path
    advance: float
    left: float
    right: float
    top: float
    bottom: float
    foot: float
    beside: float
    before: float
    height: float
    place: str = ""

    def moved(self, dx: float, dy: float = 0.0) -> DrawnLetter:
        """Return the letter shifted, its advance unchanged."""
        return replace(
            self,
            path=transformed(self.path, (1, 0, 0, 1, dx, dy)),
            left=self.left + dx,
            right=self.right + dx,
            top=self.top + dx,
            bottom=self.bottom + dx,
            foot=self.foot + dx,
            beside=self.beside + dx,
            before=self.before + dx,
            height=self.height + dy,
        )


def letters(table: Mapping[str, Mapping[str, Any]], lengths: Mapping[str, float]) -> dict[str, DrawnLetter]:
    """Read every letter and mark of the tables; `use` may name letters that stand earlier or later."""
    out: dict[str, DrawnLetter] = {}
    for key in table:
        _read(key, table, lengths, out, ())
    return {key: out[key] for key in table}


def _read(
    key: str,
    table: Mapping[str, Mapping[str, Any]],
    lengths: Mapping[str, float],
    out: dict[str, DrawnLetter],
    asking: tuple[str, ...],
) -> DrawnLetter:
    """Read one letter into `out`, first those that it uses."""
    if key in out:
        return out[key]
    if key not in table or key in asking:
        raise TableError(f"{' uses '.join([*asking, key])}: not drawn, or it uses itself")
    entry = table[key]
    unknown = sorted(set(entry) - _KEYS)
    if unknown:
        raise TableError(f"{key}: {', '.join(unknown)} unknown; allowed are {', '.join(sorted(_KEYS))}")
    used: list[Contour] = []
    for use in entry.get("use", []):
        name, _, rest = use.partition(" ")
        part = _read(name, table, lengths, out, (*asking, key))
        used.extend(_used(part, rest, lengths, key))
    try:
        drawn = strokes(entry.get("strokes", []), lengths, used)
        out[key] = _placed(entry, (*used, *drawn), lengths)
    except StrokeError as error:
        raise TableError(f"{key}: {error}") from error
    return out[key]


def _used(part: DrawnLetter, rest: str, lengths: Mapping[str, float], key: str) -> Path:
    """Return a used letter's strokes, box at 0, shifted by 'at DX DY' and scaled by 'size SCALE' where given."""
    found = _PLACE.match(rest)
    if not found:
        raise TableError(f"{key}: {rest!r} is no place; write 'at DX DY' and, to scale, 'size 0.6'")
    dx, dy, scale = (number(word or usual, lengths) for word, usual in zip(found.groups(), "001", strict=True))
    return transformed(part.path, (scale, 0, 0, scale, dx - scale * part.left, dy))


def _placed(entry: Mapping[str, Any], path: Path, lengths: Mapping[str, float]) -> DrawnLetter:
    """Give a path its side bearings and anchors."""
    extent = bounds(path, _EXACT) or (0.0, 0.0, 0.0, 0.0)
    if entry.get("turn"):
        about_x, about_y = extent[0] + extent[2], number(str(entry["turn"]), lengths)
        path = transformed(path, (-1, 0, 0, -1, about_x, about_y))
        extent = bounds(path, _EXACT) or extent
    box = [number(str(b), lengths) for b in entry.get("box", (extent[0], extent[2]))]
    middle = (box[0] + box[1]) / 2.0
    usual = dict(zip(_ANCHORS, (middle, middle, box[1], box[1] + _BESIDE, box[0] - _BESIDE), strict=True))
    top, bottom, foot, beside, before = (number(str(entry.get(k, usual[k])), lengths) for k in _ANCHORS)
    sides = [number(s, lengths) for s in str(entry.get("sides", "0 0")).split()]
    height = number(str(entry["height"]), lengths) if "height" in entry else _line(extent[3], lengths)
    advance = box[1] - box[0] + sum(sides)
    place = str(entry.get("place", ""))
    letter = DrawnLetter(path, advance, box[0], box[1], top, bottom, foot, beside, before, height, place)
    if letter.place:
        return replace(letter, advance=0.0)
    if not path:
        return replace(letter, advance=number(str(entry.get("advance", 0)), lengths))
    return letter.moved(sides[0] - box[0])


def _line(top: float, lengths: Mapping[str, float]) -> float:
    """Return the named height to which a letter reaches, overshoot or not."""
    return lengths["cap"] if top > (lengths["cap"] + lengths["x"]) / 2.0 else lengths["x"]


@dataclass(frozen=True, slots=True)
class Marking:
    """How marks are set: rises above small letters and capitals, drop below, least side, places of paired marks."""

    small_rise: float
    capital_rise: float
    drop: float
    stack: float
    side: float
    pairs: Mapping[str, tuple[float, float]]


def compose(parts: Sequence[str], drawn: Mapping[str, DrawnLetter], marking: Marking) -> DrawnLetter:
    """Return a base with its marks. parts: key of the base, then of each mark in Unicode's order."""
    base = drawn[parts[0]]
    path, right = base.path, base.right
    rise = marking.capital_rise if base.height > drawn["x"].height else marking.small_rise
    extents: list[tuple[float, float]] = []
    first, above = "", (base.top, base.height + rise)
    for key in parts[1:]:
        mark = drawn[key]
        if mark.place == "above":
            pair = marking.pairs.get(first + key)
            where = (above[0] + pair[0], above[1] + pair[1]) if pair else _stacked(above, drawn, first, marking)
            above, first = (above if pair else where), first + key
        else:
            where = _seat(mark, base, marking)
        placed = mark.moved(*where)
        path = (*path, *placed.path)
        low, _, high, _ = bounds(placed.path, _EXACT) or (0.0, 0.0, 0.0, 0.0)
        extents.append((low, high))
        right = max(right, high) if mark.place == "beside" else right
    return _widened(replace(base, path=path), base, right, extents, marking.side)


def _stacked(
    above: tuple[float, float], drawn: Mapping[str, DrawnLetter], first: str, marking: Marking
) -> tuple[float, float]:
    """Return where a mark goes that stands over the one below it, or over the letter if it is the first."""
    if not first:
        return above
    extent = bounds(drawn[first[-1]].path, _EXACT) or (0.0, 0.0, 0.0, 0.0)
    return above[0], above[1] + extent[3] + marking.stack


def _seat(mark: DrawnLetter, base: DrawnLetter, marking: Marking) -> tuple[float, float]:
    """Return where a mark goes that hangs below, touches its letter or stands beside it."""
    if mark.place == "below":
        return base.bottom, -marking.drop
    if mark.place in ("beside", "before"):
        return base.beside if mark.place == "beside" else base.before, base.height
    return nearest((base.foot if mark.place == "foot" else base.bottom, 0.0), base.path)


def _widened(
    letter: DrawnLetter, base: DrawnLetter, right: float, extents: Iterable[tuple[float, float]], side: float
) -> DrawnLetter:
    """Widen a narrow letter so that its marks keep `side` from its edges, and count what stands beside it."""
    advance = base.advance + right - base.right
    low = min((e[0] for e in extents), default=side)
    high = max((e[1] for e in extents), default=advance - side)
    push = max(0.0, side - low)
    more = max(0.0, high + side - advance)
    return replace(letter.moved(push), advance=advance + push + more)


def decomposed(char: str, beside: Mapping[str, Sequence[str]]) -> list[str]:
    """Return base and marks of a letter: from the table of exceptions, else Unicode's canonical decomposition.

    A soft-dotted i or j under a mark above loses its dot.
    """
    if char in beside:
        return list(beside[char])
    parts = list(unicodedata.normalize("NFD", char))
    if _HORN in parts[1:]:  # letters with a horn are drawn whole
        parts.remove(_HORN)
        parts[0] = unicodedata.normalize("NFC", parts[0] + _HORN)
    if len(parts) > 1 and any(unicodedata.combining(p) == 230 for p in parts[1:]):
        parts[0] = {"i": "ı", "j": "ȷ", "і": "ı", "ј": "ȷ"}.get(parts[0], parts[0])
    return parts
