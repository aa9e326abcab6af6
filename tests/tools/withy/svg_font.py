"""A drawn typeface written as an SVG 1.1 font (W3C Recommendation, chapter 20): glyphs, curves, kerning."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from xml.sax.saxutils import escape, quoteattr

from fontTools.agl import UV2AGL

from engrave.geometry.paths import Contour, Path
from withy.letters import DrawnLetter

Kern = tuple[tuple[str, ...], tuple[str, ...], float]
"""Characters of the first letter, characters of the second, and how much nearer they stand, in units."""


def glyph_name(key: str) -> str:
    """Return the name of a glyph by the Adobe Glyph List, else 'uni' and its code; another form keeps its suffix.

    key: a character, or a character and the OpenType feature that asks for this form of it, such as '3.onum'.
    """
    code = ord(key[0])
    name: str = UV2AGL.get(code, f"uni{code:04X}" if code < 0x10000 else f"u{code:X}")
    return name + key[1:]


def _figure(value: float) -> str:
    """Return a number to a tenth of a unit, without needless zeros: 0.05 units are 0.7 micrometres at 10 mm."""
    text = f"{value:.1f}"
    text = text[:-2] if text.endswith(".0") else text
    return "0" if text == "-0" else text


def path_data(path: Path) -> str:
    """Return the strokes as SVG path data: M once a pen-down, L and C with absolute coordinates."""
    return " ".join(_contour(contour) for contour in path)


def _contour(contour: Contour) -> str:
    words = ["M" + ",".join(_figure(v) for v in contour.start)]
    for segment in contour.segments:
        command = "L" if len(segment) == 1 else "Q" if len(segment) == 2 else "C"
        words.append(command + " ".join(",".join(_figure(v) for v in point) for point in segment))
    return " ".join(words)


def svg_font(
    font: Mapping[str, str], metrics: Mapping[str, float], glyphs: Mapping[str, DrawnLetter], kerning: Sequence[Kern]
) -> str:
    """Return the whole file. font: id, title, maker, licence, version; metrics: units, cap, x, ascent, descent."""
    note = "\n".join(f"{key}: {font[key]}" for key in ("title", "version", "maker", "licence", "about"))
    face = {
        "font-family": font["title"],
        "units-per-em": metrics["units"],
        "cap-height": metrics["cap"],
        "x-height": metrics["x"],
        "ascent": metrics["ascent"],
        "descent": metrics["descent"],
    }
    given = " ".join(f"{k}={quoteattr(v if isinstance(v, str) else _figure(v))}" for k, v in face.items())  # type: ignore[arg-type]
    missing = _glyph("missing-glyph", "", glyphs["missing"])
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<svg xmlns="http://www.w3.org/2000/svg" version="1.1">',
        f"<metadata>\n{escape(note)}\n</metadata>",
        "<defs>",
        f"<font id={quoteattr(font['id'])} horiz-adv-x={quoteattr(_figure(glyphs['missing'].advance))}>",
        f"<font-face {given}/>",
        missing,
        *(_glyph("glyph", char, letter) for char, letter in sorted(glyphs.items()) if len(char) == 1),
        *(_glyph("glyph", key, letter) for key, letter in sorted(glyphs.items()) if key[1:2] == "."),
        *(_kern(kern) for kern in kerning),
        "</font>",
        "</defs>",
        "</svg>",
        "",
    ]
    return "\n".join(lines)


def _glyph(tag: str, char: str, letter: DrawnLetter) -> str:
    """Return one glyph's line; characters that XML normalises in attributes are written by number.

    Another form of a character has no character of its own: it is reached by its name.
    """
    code = ""
    if len(char) == 1:
        by_number = char.isspace() or char in "<>&\"'" or not char.isprintable()
        code = f'unicode="&#x{ord(char):X};" ' if by_number else f'unicode="{char}" '
    name = f'glyph-name="{glyph_name(char)}" ' if char else ""
    data = f' d="{path_data(letter.path)}"' if letter.path else ""
    return f'<{tag} {code}{name}horiz-adv-x="{_figure(letter.advance)}"{data}/>'


def _kern(kern: Kern) -> str:
    first, second = (",".join(glyph_name(c) for c in chars) for chars in kern[:2])
    return f'<hkern g1="{first}" g2="{second}" k="{_figure(kern[2])}"/>'
