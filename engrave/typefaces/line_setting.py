"""A line set: stretches of one typeface, script and direction, side by side from left to right."""

from __future__ import annotations

from collections.abc import Sequence

from engrave.typefaces.characters import JOINING, Item, itemise, language_of, visual
from engrave.typefaces.run import Placed, Run
from engrave.typefaces.supply import Cluster, LinePlan


def set_line(text: str, plan: LinePlan, asked: str, tracking: float, features: Sequence[str] = ()) -> Run:
    """Set a planned line: stretches of one owner, script and direction, side by side from left to right.

    features: OpenType features asked for beyond those of the typefaces' tables.
    """
    owners = list(dict.fromkeys((p.owner, p.scale) for p in plan.parts if not p.left_out))
    kept = [p for p in plan.parts if not p.left_out and p.spelling is not None]
    index = [-1] * len(text)
    for part in kept:
        number = owners.index((part.owner, part.scale))
        index[part.start : part.start + len(part.text)] = [number] * len(part.text)
    language = language_of(text)
    placed: list[Placed] = []
    x = tail = 0.0
    for item in visual(itemise(text, index)):
        if item.owner < 0:
            continue
        inside = [p for p in kept if item.start <= p.start < item.end]
        stretch, advance, tail = _stretch(inside, item, language, tracking, features)
        placed += [_shifted(p, x) for p in stretch]
        x += advance
    return Run(text, asked, tuple(placed), x - tail, tuple(plan.problems))


def _stretch(
    parts: list[Cluster], item: Item, language: str | None, tracking: float, features: Sequence[str]
) -> tuple[list[Placed], float, float]:
    """Return a stretch's glyphs, its advance, and how much of that is tracking after the last letter."""
    if not parts:
        return [], 0.0, 0.0
    owner, scale = parts[0].owner, parts[0].scale
    loose = 0.0 if item.script in JOINING or owner.facts.joined else tracking / scale
    spellings = [(p.start, p.spelling) for p in parts if p.spelling is not None]
    glyphs, advance = owner.source.set(spellings, item.script, item.right_to_left, language, loose, features)
    used = sorted({s.at for s in glyphs})
    text = {p.start: p.text for p in parts}
    ends = dict(zip(used, [*used[1:], item.end], strict=False))
    placed = []
    for s in glyphs:
        words = "".join(t for at, t in text.items() if s.at <= at < ends[s.at]).rstrip() or text[s.at]
        placed.append(Placed(s.glyph, s.x * scale, s.y * scale, words, s.at, scale))
    return placed, advance * scale, loose * scale


def _shifted(p: Placed, x: float) -> Placed:
    return Placed(p.glyph, p.x + x, p.y, p.text, p.start, p.scale)
