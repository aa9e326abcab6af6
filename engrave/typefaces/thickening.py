"""Letters made thicker: each outline moved outwards all around, so that hairlines are not lost under a bit.

Type founders call it emboldening. Every stroke gains the same, counters lose the same; the white between letters, the
height of capitals and the baseline stay what they were.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import groupby

from engrave.cache import Cache, CacheKind
from engrave.typefaces.characters import JOINING, script_of
from engrave.typefaces.contours.outline_union import grown
from engrave.typefaces.derived import Derived
from engrave.typefaces.letter_form import LetterForm, glyph
from engrave.typefaces.run import Glyph, Placed, Run, Typeface, TypefaceKind

THICK_GLYPHS: CacheKind[Glyph] = CacheKind("thick glyphs", 2048)
"""Several typefaces, every letter."""


@dataclass(frozen=True, slots=True)
class Thickened(Derived):
    """A typeface whose strokes are `gain` cap heights thicker, before its capitals are brought back to their height.

    A stroke of w cap heights becomes (w + gain) / (1 + gain); see `gain_for`.
    """

    gain: float
    cache: Cache = field(default_factory=Cache, repr=False, compare=False)

    @property
    def kind(self) -> TypefaceKind:
        """Outline: single lines have no body to thicken."""
        return self.drawn.kind

    @property
    def x_height(self) -> float:
        """Height of the small letters, in cap heights."""
        return (self.drawn.x_height + self.gain) / (1.0 + self.gain)

    def shape(self, text: str, tracking: float = 0.0) -> Run:
        """Shape one line of words; tracking in cap heights is added between letters."""
        run = self.drawn.shape(text, tracking * (1.0 + self.gain))
        placed: list[Placed] = []
        wider = 0.0
        for _, cluster in groupby(run.placed, key=lambda p: p.start):
            glyphs = list(cluster)
            placed += [self._placed(p, wider) for p in glyphs]
            # joined letters stay where they meet; others keep the white between them
            wider += 0.0 if self.joined or script_of(glyphs[0].text[0]) in JOINING else self.gain
        return replace(run, placed=tuple(placed), advance=(run.advance + wider) / (1.0 + self.gain))

    def _placed(self, p: Placed, wider: float) -> Placed:
        shrink, half = 1.0 / (1.0 + self.gain), self.gain / 2.0
        thick = self._thick(p.glyph, self.gain / p.scale)
        return replace(p, glyph=thick, x=(p.x + wider + half) * shrink, y=(p.y + half) * shrink, scale=p.scale * shrink)

    def _thick(self, drawn: Glyph, gain: float) -> Glyph:
        return self.cache.get(THICK_GLYPHS, (drawn.key, gain), lambda: _grown(drawn, gain))


def thickened(typeface: Typeface, gain: float, cache: Cache | None = None) -> Typeface:
    """Return the typeface with strokes `gain` cap heights thicker; as it is if it has no body to thicken."""
    return Thickened(typeface, gain, cache or Cache()) if gain > 0.0 and typeface.kind == "outline" else typeface


def gain_for(stroke: float, wanted: float) -> float:
    """Return the gain by which a stroke of `stroke` cap heights comes out `wanted` cap heights thick.

    Solves wanted = (stroke + gain) / (1 + gain).
    """
    return max(0.0, (wanted - stroke) / (1.0 - wanted))


def thicker_by(gain: float) -> float:
    """Return by how many cap heights a hairline comes out thicker; what is thick already gains a little less."""
    return gain / (1.0 + gain)


def _grown(drawn: Glyph, gain: float) -> Glyph:
    typeface, name, _ = drawn.key.split("/", 2)
    form = LetterForm(grown(drawn.path, gain / 2.0), drawn.advance)
    return glyph(typeface, f"{name}+{gain:g}", drawn.kind, form)
