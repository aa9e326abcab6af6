"""A font's tables, read by the general library: whether the font may be used, its names, its bytes for HarfBuzz.

Loaded only for a font that was not looked at before: the library takes a tenth of one text's time.
"""

from __future__ import annotations

import io
import logging
import struct
from collections.abc import Mapping
from pathlib import Path

from fontTools.ttLib import TTFont

from engrave.typefaces.read.accepted import Accepted
from engrave.typefaces.typeface_table import TypefaceError

_COLOUR = {"COLR": "coloured layers", "CBDT": "coloured pictures", "sbix": "pictures", "SVG ": "coloured drawings"}
_RESTRICTED, _NOT_IN_PART, _PICTURES_ONLY = 0x0002, 0x0100, 0x0200
"""Embedding bits of OS/2 fsType (OpenType specification): licence forbids embedding; whole or not at all, and a PDF
holds the letters used only; only pictures may be embedded."""

FULL_NAME, LONGEST_NAME = 4, 60
"""Which of a font's names is its full one (OpenType, name ids), and characters that it may have to stand on a proof."""

logging.getLogger("fontTools").addHandler(logging.NullHandler())  # what it remarks of damaged tables is told by us


def looked_at(file: Path, data: bytes, instance: str) -> Accepted:
    """Return a font's file as it may be used. Raises TypefaceError if it is refused, else whatever its reader does."""
    with TTFont(io.BytesIO(data), lazy=True) as font:
        _refuse(font, file)
        place, note = _instance(font, file, instance)
        os2 = font.get("OS/2")
        cap = float(getattr(os2, "sCapHeight", 0) or 0) or None
        bits = int(getattr(os2, "fsType", 0) or 0)
        embeddable = not (bits & 0x000F == _RESTRICTED or bits & _PICTURES_ONLY)
        return Accepted(_plain(font, data), place, note, cap, embeddable, not bits & _NOT_IN_PART)


def full_name_in(data: bytes) -> str:
    """Return the name that people are shown for a font (OpenType, name 4), '' if there is none that can be shown."""
    with TTFont(io.BytesIO(data), lazy=True) as font:
        told = font["name"].getDebugName(FULL_NAME) if "name" in font else None
    plain = " ".join(str(told or "").split())
    return plain if plain.isprintable() and len(plain) <= LONGEST_NAME else ""


def _refuse(font: TTFont, file: Path) -> None:
    for table, what in _COLOUR.items():
        if table in font:
            raise TypefaceError(
                f"{file.name}: a colour font ({what}, table {table.strip()}): a cutter has one colour. Take its "
                "maker's plain version of it"
            )
    if not {"glyf", "CFF ", "CFF2"} & set(font.keys()):
        raise TypefaceError(f"{file.name}: has no outlines, only pictures of letters; take an outline version of it")
    if "cmap" not in font or not _is_unicode(font.reader["cmap"]):
        raise TypefaceError(f"{file.name}: has no table that says which letter is which (a Unicode cmap)")


def _is_unicode(cmap: bytes) -> bool:
    """Tell whether a font says which glyph is which Unicode character (OpenType, cmap: platform and encoding ids).

    Only the list of tables is read: a table itself may claim four thousand million characters.
    """
    (count,) = struct.unpack_from(">H", cmap, 2)
    pairs = {struct.unpack_from(">HH", cmap, 4 + 8 * n) for n in range(count)}
    return any(platform == 0 or (platform, encoding) in ((3, 1), (3, 10)) for platform, encoding in pairs)


def _instance(font: TTFont, file: Path, asked: str) -> tuple[Mapping[str, float], str]:
    """Return the place on the axes of a variable font's asked instance, and a note if none was asked."""
    if "fvar" not in font:
        if asked:
            raise TypefaceError(f"{file.name}: instance: found {asked!r}, but this is no variable font; leave it out")
        return {}, ""
    names = {str(font["name"].getDebugName(i.subfamilyNameID)): dict(i.coordinates) for i in font["fvar"].instances}
    if not asked:
        offer = f"; named instances are {', '.join(names)}" if names else ""
        return {}, f"{file.name} is a variable font, used as its maker set it by default{offer}"
    if asked not in names:
        raise TypefaceError(f"{file.name}: instance: found {asked!r}; allowed are {', '.join(names) or 'none'}")
    return names[asked], ""


def _plain(font: TTFont, data: bytes) -> bytes:
    """Return the file's bytes, unpacked if it is a web font."""
    if font.flavor is None:
        return data
    font.flavor = None
    out = io.BytesIO()
    font.save(out, reorderTables=None)
    return out.getvalue()
