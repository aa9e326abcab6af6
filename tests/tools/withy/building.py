"""Withy built from its tables: strokes, rules of composition, kerning by class. The same tables give the same file."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from withy.kerning import kerning
from withy.letters import DrawnLetter, Marking, TableError, compose, decomposed, letters
from withy.strokes import number
from withy.svg_font import Kern, svg_font

HOME = Path(__file__).parents[3] / "fonts_open" / "withy"
"""Where the checkout keeps its own typeface."""


@dataclass(frozen=True, slots=True)
class DrawnTypeface:
    """A typeface as drawn: its particulars, metrics, letters by character, and kerning."""

    font: Mapping[str, str]
    metrics: Mapping[str, float]
    glyphs: Mapping[str, DrawnLetter]
    kerning: tuple[Kern, ...]

    def svg(self) -> str:
        """Return it as an SVG font."""
        return svg_font(self.font, self.metrics, self.glyphs, self.kerning)


def tables(folder: Path) -> dict[str, Any]:
    """Read all source tables of a typeface, letters of every file together under 'letters'."""
    out: dict[str, Any] = {"letters": {}}
    for path in sorted((folder / "source").glob("*.toml")):
        with path.open("rb") as file:
            table = tomllib.load(file)
        drawn = table.pop("letters", {})
        twice = sorted(set(drawn) & set(out["letters"]))
        if twice:
            raise TableError(f"{path.name}: {', '.join(twice)} drawn twice")
        out["letters"].update(drawn)
        for key, value in table.items():
            out.setdefault(key, {}).update(value)
    return out


def build(folder: Path = HOME) -> DrawnTypeface:
    """Read a typeface's tables and return it: letters as drawn, then shared, then composed, then kerned."""
    source = tables(folder)
    lengths = _lengths(source["metrics"])
    drawn = letters(source["letters"], lengths)
    for char, same in source["same"].items():
        for one in char:
            drawn[one] = drawn[same]
    glyphs = _composed(drawn, source, _marking(source, lengths))
    bases = {char: decomposed(char, source["parts"])[0] for char in glyphs if len(char) == 1}
    bases.update({char: same for chars, same in source["same"].items() for char in chars})
    glyphs = {char: _settled(letter, lengths) for char, letter in glyphs.items()}
    return DrawnTypeface(source["font"], lengths, glyphs, kerning(source, glyphs, bases))


def _lengths(metrics: Mapping[str, Any]) -> dict[str, float]:
    """Return the named lengths; each may be a sum of those before it."""
    out: dict[str, float] = {}
    for name, value in metrics.items():
        out[name] = number(str(value), out)
    return out


def _marking(source: Mapping[str, Any], lengths: Mapping[str, float]) -> Marking:
    rules = source["marking"]
    pairs = {key: (float(dx), float(dy)) for key, (dx, dy) in source["mark_pairs"].items()}
    sizes = {k: number(str(rules[k]), lengths) for k in ("small_rise", "capital_rise", "drop", "stack", "side")}
    return Marking(pairs=pairs, **sizes)


def _composed(drawn: Mapping[str, DrawnLetter], source: Mapping[str, Any], marking: Marking) -> dict[str, DrawnLetter]:
    """Return all letters with those that are made of a base and marks."""
    out = dict(drawn)
    for text in source["composed"].values():
        for char in text.split():
            parts = decomposed(char, source["parts"])
            missing = [p for p in parts if p not in drawn]
            if missing or len(parts) < 2:
                raise TableError(f"{char}: cannot be composed of {' + '.join(parts)}; not drawn: {missing}")
            if char in drawn:
                raise TableError(f"{char}: drawn as well as composed")
            out[char] = compose(parts, drawn, marking)
    return out


def _settled(letter: DrawnLetter, lengths: Mapping[str, float]) -> DrawnLetter:
    """Return a letter as it is written: a combining mark alone sits above or below a small letter, centred on 0."""
    if letter.place == "above":
        return letter.moved(0.0, lengths["x"] + lengths["rise"])
    if letter.place in ("below", "beside"):
        return letter.moved(0.0, -lengths["drop"] if letter.place == "below" else lengths["cap"])
    if letter.place:
        return letter
    return replace(letter, advance=round(letter.advance))
