"""Composed words as lines and marks on the lid."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from engrave.geometry.affine import Matrix
from engrave.geometry.affine import matrix_product as after
from engrave.setting.compose.standing import Composition
from engrave.setting.lettering import NO_LINE, Line, Mark
from engrave.setting.reading_frame import ReadingFrame
from engrave.setting.text.glyph_shapes import ink_middle
from engrave.typefaces.run import ORNAMENT


def lines_of(frame: ReadingFrame, composed: Composition, size: float) -> list[tuple[Line, list[Mark]]]:
    """Return the lines laid at a size, about the middle of the baselines found, each with its marks."""
    fit, layout = composed.fit, composed.search.layout
    centre = (fit.baselines[0] + fit.baselines[-1]) / 2
    out: list[tuple[Line, list[Mark]]] = []
    for k, (number, y) in enumerate(zip(composed.chosen.lines, fit.baselines, strict=True)):
        i, j = layout.ends[number]
        fld = layout.field_of[i]
        before = sum(len(v.words) for v in composed.fields[:fld])
        shaped = composed.fields[fld]
        text, glyphs = shaped.line(i - before, j - before)
        base = centre + (y - centre) * size / composed.size
        cap = size * shaped.ratio
        own = ink_middle(glyphs) if shaped.mixed else layout.centres[number]
        m: Matrix = (cap, 0.0, 0.0, cap, fit.x - cap * own, base)
        to_area = after(frame.to_area, m)
        marks = [Mark(p.glyph, after(to_area, (p.scale, 0.0, 0.0, p.scale, p.x, p.y)), p.text, k) for p in glyphs]
        face = shaped.typeface
        line = Line(text, shaped.field, cap, cap * face.x_height, frame.height / 2 - base, joined=face.joined)
        out.append((line, marks))
    return out


def settled(laid: Iterable[tuple[Line, list[Mark]]]) -> tuple[tuple[Line, ...], tuple[Mark, ...]]:
    """Return the lines of words alone, and all marks, each with the number of its line; ornaments belong to none."""
    lines: list[Line] = []
    marks: list[Mark] = []
    for line, own in laid:
        if line.field != ORNAMENT:
            lines.append(line)
        marks += [replace(m, line=NO_LINE if m.is_ornament else len(lines) - 1) for m in own]
    return tuple(lines), tuple(marks)
