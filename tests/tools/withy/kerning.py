"""Kerning by class, lessened where two strokes would come nearer than the least gap.

A class of first letters is known by its right side, one of second letters by its left side. Members are named by the
letters whose drawing they share: accented letters follow their base.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from shapely import MultiLineString
from shapely.affinity import translate

from engrave.geometry.flattening import flatten
from withy.letters import DrawnLetter, TableError
from withy.svg_font import Kern

_FLAT = 2.0
"""Chords for distances, in units: far below the gap that they are held against, and quick."""


def kerning(source: Mapping[str, Any], glyphs: Mapping[str, DrawnLetter], bases: Mapping[str, str]) -> tuple[Kern, ...]:
    """Return rules that name every pair once. bases: for each character the one whose class it follows."""
    first, second = (_members(source[f"kern_{side}"], glyphs, bases) for side in ("first", "second"))
    rules = source["kern_rules"]
    lines = {c: MultiLineString([flatten(s, _FLAT) for s in glyphs[c].path]) for c in {*first, *second}}
    found: dict[tuple[tuple[str, float], ...], list[str]] = defaultdict(list)
    for one, its_class in sorted(first.items()):
        asked = source["kern"].get(its_class, {})
        stray = sorted(set(asked) - set(source["kern_second"]))
        if stray:
            raise TableError(f"kern.{its_class}: {', '.join(stray)} is no class of kern_second")
        row = []
        for two, class_two in sorted(second.items()):
            if class_two in asked:
                safe = _safe(lines[one], lines[two], glyphs[one].advance, asked[class_two], rules)
                row.append((two, safe))
        found[tuple(r for r in row if r[1])].append(one)
    return tuple(_grouped(found))


def _members(classes: Mapping[str, str], glyphs: Mapping[str, DrawnLetter], bases: Mapping[str, str]) -> dict[str, str]:
    """Return the class of every character that has one: as listed, else its base's."""
    listed = {char: name for name, chars in classes.items() for char in chars.split()}
    out = {}
    for char, letter in glyphs.items():
        name = listed.get(char) or listed.get(bases.get(char, char))
        if name and letter.path and not letter.place and len(char) == 1:
            out[char] = name
    return out


def _safe(
    one: MultiLineString, two: MultiLineString, advance: float, asked: float, rules: Mapping[str, float]
) -> float:
    """Return the asked kerning, or the most in whole steps that keeps the least gap (none if nothing does)."""
    least, step = rules["least_gap"], rules["step"]
    if asked <= 0:  # set apart on purpose
        return asked
    kern = asked
    while kern > 0 and one.distance(translate(two, advance - kern)) < least:
        kern = math.ceil(kern / step) * step - step
    return max(kern, 0)


def _grouped(found: Mapping[tuple[tuple[str, float], ...], Sequence[str]]) -> list[Kern]:
    """Return one rule for each group of first letters and each figure."""
    out: list[Kern] = []
    for row, ones in sorted(found.items(), key=lambda item: tuple(item[1])):
        by_value: dict[float, list[str]] = defaultdict(list)
        for two, value in row:
            by_value[value].append(two)
        out.extend((tuple(ones), tuple(by_value[value]), value) for value in sorted(by_value))
    return out
