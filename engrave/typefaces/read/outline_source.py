"""Outline typefaces: OpenType files shaped by HarfBuzz, their glyphs drawn with curves kept and overlaps united."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path as File
from unicodedata import normalize

import uharfbuzz as hb

from engrave.geometry.paths import Path
from engrave.limits import GLYPH_NODES
from engrave.typefaces.characters import bare_letter, invisible
from engrave.typefaces.contours.outline_union import united
from engrave.typefaces.contours.path_pen import PathPen
from engrave.typefaces.letter_form import LetterForm, glyph
from engrave.typefaces.read.acceptance import accept, full_name
from engrave.typefaces.read.features import STANDING, asked_features
from engrave.typefaces.read.sound import check_advance, check_drawn
from engrave.typefaces.read.spelling import X_OF_CAP, SetGlyph, Spelling
from engrave.typefaces.run import Glyph
from engrave.typefaces.typeface_table import Facts, TypefaceError

_CAP_OF_EM = 0.7
"""Cap height taken where a font has neither an H nor a stated cap height: what most text fonts have, from memory."""


CAP_OF_EM = (0.02, 5.0)
"""Heights of capitals that a font may have, in its units to the em: symbol fonts and tall scripts lie well within."""

_NO_LIGATURES = {"liga": False, "clig": False, "dlig": False}


class Slice:
    """One font file. Paths and advances come out in cap heights once `scale` is set; before, in font units."""

    def __init__(self, file: File, instance: str) -> None:
        accepted = accept(file, instance)
        self.name = file.name
        self._sound: dict[int, bool] = {}
        self.note = accepted.note
        self.embeddable, self.in_part = accepted.embeddable, accepted.in_part
        self.stated_cap = accepted.cap_height
        self.data = accepted.data
        self.face = hb.Face(hb.Blob(accepted.data))
        self.font = hb.Font(self.face)
        if accepted.place:
            self.font.set_variations(dict(accepted.place))
        self.codes = frozenset(self.face.unicodes)
        self.scale = 1.0

    def glyph_id(self, code: int) -> int:
        """Return the glyph of a code point, 0 if the file has none."""
        return int(self.font.get_nominal_glyph(code) or 0)

    def drawn(self, gid: int) -> Path:
        """Return a glyph's path with overlaps united."""
        pen = PathPen(self.scale)
        self.font.draw_glyph_with_pen(gid, pen)
        path = pen.path
        check_drawn(path, GLYPH_NODES)
        return united(path)

    def form(self, gid: int) -> LetterForm:
        """Return a glyph's path and advance. Raises TypefaceError if it is damaged."""
        try:
            found = LetterForm(self.drawn(gid), self.font.get_glyph_h_advance(gid) * self.scale)
            check_advance(found.advance)
        except Exception as why:  # whatever a damaged glyph makes of its reader, it cannot be drawn
            name = self.font.glyph_to_string(gid)
            raise TypefaceError(f"{self.name}: its glyph '{name}' is damaged: {why}") from why
        return found

    def has_sound(self, code: int) -> bool:
        """Tell whether a code point has a glyph that can be drawn."""
        if code not in self._sound:
            try:
                self.form(self.glyph_id(code))
                self._sound[code] = True
            except TypefaceError:
                self._sound[code] = False
        return self._sound[code]

    def features(self) -> frozenset[str]:
        """Return the tags of all features by which the file has other forms of letters."""
        scripts = range(len(self.face.get_table_script_tags("GSUB")))
        return frozenset(tag for i in scripts for tag in self.face.get_language_feature_tags("GSUB", i))

    def top(self, char: str) -> float | None:
        """Return the height of a character's form in font units, None if the file lacks it."""
        gid = self.glyph_id(ord(char))
        extents = self.font.get_glyph_extents(gid) if gid else None
        return float(extents.y_bearing) if extents and extents.height else None


def _swallowed(buffer: hb.Buffer, ats: Sequence[int], special: dict[int, Spelling]) -> bool:
    """Tell whether a made glyph would stand for more, or less, than its own letter: its stand-in went into a ligature."""
    begun = {info.cluster for info in buffer.glyph_infos} | {len(ats)}
    starts = [i for i, at in enumerate(ats) if at in special and (i == 0 or ats[i - 1] != at)]
    return any(i not in begun or i + len(special[ats[i]].codes) not in begun for i in starts)


class OutlineSource:
    """The letters of an outline typeface: which it has, and stretches of text set in them."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.slices = tuple(Slice(file, facts.instance) for file in facts.files)
        first = self.slices[0]
        cap = facts.reference_height or first.top("H") or first.stated_cap or _CAP_OF_EM * first.face.upem
        if not CAP_OF_EM[0] <= cap / first.face.upem <= CAP_OF_EM[1]:
            raise TypefaceError(
                f"{first.name}: its capitals are {cap:g} of {first.face.upem} units high; the file is damaged, "
                "or it needs a reference_height in its table"
            )
        for one in self.slices:  # slices of one typeface share their units but may differ in units to the em
            one.scale = first.face.upem / one.face.upem / cap
        self.cap = cap
        self.x_height = (first.top("x") or facts.reference_height or 0.7 * cap) / cap
        if not X_OF_CAP[0] <= self.x_height <= X_OF_CAP[1]:
            raise TypefaceError(f"{first.name}: its x is {self.x_height:.2f} capitals high; the file is damaged")
        self.kerned = bool({"GPOS", "kern"} & set(first.face.table_tags))
        self.notes = tuple(s.note for s in self.slices if s.note)
        self.embeddable = all(s.embeddable for s in self.slices)
        self.carried = all(s.embeddable and s.in_part for s in self.slices)
        self.features = first.features()
        low = (first.top("1") or cap) < STANDING * cap
        self._default = ("lnum",) if low and "lnum" in self.features else ()
        self._glyphs: dict[tuple[int, str], Glyph] = {}
        self._forms: dict[str, LetterForm | None] = {}

    @property
    def full_name(self) -> str:
        """What its maker calls it, '' if not said. Raises TypefaceError."""
        return full_name(self.slices[0].data, self.slices[0].name)

    def has(self, char: str) -> bool:
        """Tell whether one of the files has a glyph for the character."""
        return any(self._in_slice(s, ord(char)) for s in self.slices)

    def _in_slice(self, one: Slice, code: int) -> bool:
        """Tell whether a file has a character; of a file that did not come with this package, whether it is sound."""
        return code in one.codes and (self.facts.own or one.has_sound(code))

    def form(self, char: str) -> LetterForm | None:
        """Return the form of a character as the files have it, before any shaping."""
        if char not in self._forms:
            found = next((s for s in self.slices if s.glyph_id(ord(char)) and self._in_slice(s, ord(char))), None)
            self._forms[char] = found.form(found.glyph_id(ord(char))) if found else None
        return self._forms[char]

    def own(self, cluster: str) -> Spelling | None:
        """Return how the files themselves set a cluster; None if they lack a part of it."""
        first = self.slices[0]
        for spelling in (cluster, normalize("NFC", cluster), normalize("NFD", cluster)):
            if all(invisible(c) or self._in_slice(first, ord(c)) for c in spelling):
                return Spelling(tuple(map(ord, spelling)))
        return self._from_slices(normalize("NFC", cluster))

    def _from_slices(self, cluster: str) -> Spelling | None:
        """Return a letter of another slice, standing in the first slice's text where its bare letter would stand."""
        if len(cluster) != 1 or not self.has(cluster):
            return None
        bare = bare_letter(cluster)
        code = ord(bare) if bare and self.slices[0].glyph_id(ord(bare)) else ord(" ")
        return Spelling((code,), made=self.form(cluster), name=f"u{ord(cluster):04X}")

    def set(
        self, spellings: Sequence[tuple[int, Spelling]], script: str, rtl: bool, language: str | None, tracking: float,
        features: Sequence[str] = (),
    ) -> tuple[list[SetGlyph], float]:  # fmt: skip
        """Set clusters (index in the line, spelling) of one script and direction; return glyphs and the advance.

        tracking is added after every cluster; ligatures are off then, as they would stand closer than their letters.
        features: OpenType features that a row asks for beyond those of the table.
        """
        codes: list[int] = []
        ats: list[int] = []
        for at, spelling in spellings:
            codes += spelling.codes
            ats += [at] * len(spelling.codes)
        if not codes:  # joiners alone: HarfBuzz has nothing to answer with
            return [], 0.0
        plain = tracking == 0 and all(spelling.made is None for _, spelling in spellings)
        buffer = self._shaped(codes, script, rtl, language, self._on(features, plain))
        special = {at: spelling for at, spelling in spellings if spelling.made is not None}
        if len(spellings) > 1 and _swallowed(buffer, ats, special):
            return self._set_apart(spellings, script, rtl, language, tracking, features)
        return self._placed(buffer, ats, special, tracking)

    def _set_apart(
        self, spellings: Sequence[tuple[int, Spelling]], script: str, rtl: bool, language: str | None, tracking: float,
        features: Sequence[str],
    ) -> tuple[list[SetGlyph], float]:  # fmt: skip
        """Set each made glyph by itself and what is between as it comes, where a ligature would swallow letters."""
        parts = [list(group) for _, group in groupby(spellings, key=lambda w: w[0] if w[1].made is not None else -1)]
        out: list[SetGlyph] = []
        x = 0.0
        for part in reversed(parts) if rtl else parts:
            glyphs, advance = self.set(part, script, rtl, language, tracking, features)
            out += [replace(one, x=one.x + x) for one in glyphs]
            x += advance
        return out, x

    def _on(self, features: Sequence[str], ligatures: bool) -> dict[str, bool]:
        on = dict(asked_features(self.facts, features, self._default))
        return on if ligatures else {**on, **_NO_LIGATURES}

    def _shaped(
        self, codes: list[int], script: str, rtl: bool, language: str | None, features: dict[str, bool]
    ) -> hb.Buffer:
        buffer = hb.Buffer()
        buffer.add_codepoints(codes)
        buffer.direction = "rtl" if rtl else "ltr"
        buffer.script = script
        buffer.language = language or "und"
        buffer.flags = hb.BufferFlags.BOT | hb.BufferFlags.EOT | hb.BufferFlags.DO_NOT_INSERT_DOTTED_CIRCLE
        hb.shape(self.slices[0].font, buffer, features)
        return buffer

    def _placed(
        self, buffer: hb.Buffer, ats: Sequence[int], special: dict[int, Spelling], tracking: float
    ) -> tuple[list[SetGlyph], float]:
        scale, x, last = self.slices[0].scale, 0.0, -1
        out: list[SetGlyph] = []
        for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            at = ats[info.cluster]
            if at != last and last >= 0:
                x += tracking
            gid, advance, dx = info.codepoint, position.x_advance * scale, 0.0
            spelling = special.get(at) if at != last else None
            one = self._special(gid, spelling) if spelling else self._glyph(gid)
            if spelling:  # the kerning of the letter whose place it takes is kept
                advance += one.advance - self.slices[0].font.get_glyph_h_advance(gid) * scale
            if one.path and gid:
                out.append(SetGlyph(one, x + position.x_offset * scale + dx, position.y_offset * scale, at))
            x += advance
            last = at
        return out, x + (tracking if last >= 0 else 0.0)

    def _glyph(self, gid: int) -> Glyph:
        key = (gid, "")
        if key not in self._glyphs:
            first = self.slices[0]
            self._glyphs[key] = self._named(first.font.glyph_to_string(gid), first.form(gid))
        return self._glyphs[key]

    def _special(self, gid: int, spelling: Spelling) -> Glyph:
        key = (0 if spelling.made else gid, spelling.name)
        if key not in self._glyphs:
            assert spelling.made is not None
            self._glyphs[key] = self._named(spelling.name, spelling.made)
        return self._glyphs[key]

    def _named(self, name: str, form: LetterForm) -> Glyph:
        return glyph(self.facts.id, name, "outline", form)
