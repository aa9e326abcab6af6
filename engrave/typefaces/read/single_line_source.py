"""Single-line typefaces: SVG fonts, mended as each letter is first asked for, and set with their own kerning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from statistics import median
from unicodedata import normalize

from engrave.geometry.flattening import bounds
from engrave.geometry.paths import transformed
from engrave.limits import LINE_NODES
from engrave.typefaces.characters import invisible
from engrave.typefaces.contours.dots import has_dots, solid_dots
from engrave.typefaces.contours.mend import mended_lines
from engrave.typefaces.letter_form import LetterForm, glyph
from engrave.typefaces.read.features import asked_features
from engrave.typefaces.read.line_font import read_line_font
from engrave.typefaces.read.sound import check_advance, check_drawn
from engrave.typefaces.read.spelling import X_OF_CAP, SetGlyph, Spelling
from engrave.typefaces.run import Glyph
from engrave.typefaces.typeface_table import Facts, TypefaceError

_CAPITALS = "HIEFT"
_SMALL = "xnmriu"
_STANDING = "nmruihHIE"
"""Letters that stand on the base line in upright hands and scripts alike; the median forgives a swash or two."""


SMALL_CAPITAL, BROADER = 1.06, 1.1
"""Small capitals: as high as the small letters and a shade more, and broader than a capital of that height, because
the pen keeps its width (common practice, no source)."""


def small_capital(capital: LetterForm, x_height: float) -> LetterForm:
    """Return a capital as a small one: of a single line only the way shrinks, never the stroke."""
    high = SMALL_CAPITAL * x_height
    wide = min(1.0, BROADER * high)
    left, right = (capital.box[0], capital.box[2]) if capital.box else (0.0, capital.advance)
    path = transformed(capital.path, (wide, 0.0, 0.0, high, (1.0 - wide) * left, 0.0))
    return LetterForm(path, capital.advance - (1.0 - wide) * (right - left))


class SingleSource:
    """The letters of a single-line typeface: which it has, and stretches of text set in them."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        font = read_line_font(facts.files[0])
        self._font = replace(font, data={**font.data, **{c: d for c, d in facts.redrawn if c in font.data}})
        self._base = self._level(_STANDING, 1, 0.0)
        self.cap = self._level("H", 3, None) or self._level(_CAPITALS, 3, None) or self._no_capitals()
        self.cap -= self._base
        if not self.cap > 0:
            raise TypefaceError(f"{facts.files[0].name}: its capitals have no height; the file is damaged")
        self.scale = 1.0 / self.cap
        self.x_height = ((self._level("x", 3, None) or self._level(_SMALL, 3, self.cap)) - self._base) / self.cap
        if not X_OF_CAP[0] <= self.x_height <= X_OF_CAP[1]:
            raise TypefaceError(
                f"{facts.files[0].name}: its x is {self.x_height:.2f} capitals high; the file is damaged"
            )
        self._chords = self._font.chords
        self.kerned = bool(self._font.kerning)
        self.notes: tuple[str, ...] = ()
        self.embeddable, self.full_name = True, ""
        forms = {key.rpartition(".")[2] for key in self._font.data if len(key) > 1}
        self.features = frozenset({*forms, "smcp", "c2sc", "lnum"})
        self._forms: dict[str, LetterForm | None] = {}
        self._glyphs: dict[str, Glyph] = {}

    def _level(self, chars: str, side: int, otherwise: float | None) -> float:
        """Return the median height of a side of the boxes of characters (1 feet, 3 heads), in font units."""
        boxes = [bounds(self._font.path(c), 1.0) for c in chars if self._font.data.get(c)]
        found = [b[side] for b in boxes if b]
        return median(found) if found else otherwise  # type: ignore[return-value]

    def _no_capitals(self) -> float:
        if self.facts.reference_height is None:
            raise TypefaceError(
                f"{self.facts.files[0].name}: no capitals to measure; give reference_height in {self.facts.id}'s table"
            )
        return self.facts.reference_height

    def has(self, char: str) -> bool:
        """Tell whether the file has the character: strokes, or a blank with its width.

        Of a file that did not come with this package, strokes that are damaged are none.
        """
        if char.isspace() and char in self._font.data:
            return True
        return bool(self._font.data.get(char)) and (self.facts.own or self.form(char) is not None)

    def own(self, cluster: str) -> Spelling | None:
        """Return how the file itself sets a cluster; None if it lacks it."""
        drawn = "".join(c for c in normalize("NFC", cluster) if not invisible(c))
        return Spelling(tuple(map(ord, drawn))) if len(drawn) < 2 and all(map(self.has, drawn)) else None

    def form(self, char: str) -> LetterForm | None:
        """Return the mended strokes of a character, None if the file lacks it or has it damaged."""
        if char not in self._forms:
            self._forms[char] = self._mended(char) if char in self._font.data else None
        return self._forms[char]

    def _mended(self, char: str) -> LetterForm | None:
        if not self._font.data[char] and not char.isspace():
            return None
        try:
            path = self._font.path(char, self.scale, self._base)
            check_drawn(path, LINE_NODES)
            check_advance(advance := self._font.advances[char] * self.scale)
            mended = mended_lines(path, self._chords)
            return LetterForm(solid_dots(mended) if has_dots(char) else mended, advance)
        except Exception:  # whatever damaged path data makes of its reader, the character cannot be drawn
            if self.facts.own:
                raise
            return None

    def set(
        self, spellings: Sequence[tuple[int, Spelling]], script: str, rtl: bool, language: str | None, tracking: float,
        features: Sequence[str] = (),
    ) -> tuple[list[SetGlyph], float]:  # fmt: skip
        """Set clusters (index in the line, spelling); return glyphs and the advance, tracking after every cluster.

        features: OpenType features that a row asks for beyond those of the table.
        """
        on = [tag for tag, is_on in asked_features(self.facts, features).items() if is_on]
        out: list[SetGlyph] = []
        x, before = 0.0, ""
        for at, spelling in reversed(spellings) if rtl else spellings:
            for code in spelling.codes:
                char = chr(code) if spelling.made else self._form_asked(chr(code), on)
                one = self._glyph(char, spelling)
                x -= self._font.kern(before, char) * self.scale
                if one.path:
                    out.append(SetGlyph(one, x, 0.0, at))
                x += one.advance
                before = char
            x += tracking
        return out, x

    def _form_asked(self, char: str, on: Sequence[str]) -> str:
        """Return the key of the form of a character that features ask for: the character itself, or another form."""
        for tag in on:
            key = f"{self._font.names.get(char, char)}.{tag}"
            if key in self._font.data:
                return key
            capital = char.upper() if tag == "smcp" else char if tag == "c2sc" and char.isupper() else ""
            if (
                len(capital) == 1
                and capital.isupper()
                and (form := self.form(capital))
                and (char != capital or tag == "c2sc")
            ):
                self._forms.setdefault(key, small_capital(form, self.x_height))
                return key
        return char

    def _glyph(self, char: str, spelling: Spelling) -> Glyph:
        key = spelling.name or char
        if key not in self._glyphs:
            form = spelling.made or self.form(char)
            assert form is not None
            name = spelling.name or self._font.names.get(char, char)
            self._glyphs[key] = glyph(self.facts.id, name, "single-line", form)
        return self._glyphs[key]
