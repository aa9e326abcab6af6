"""Whether a font file may and can be used, and its bytes as HarfBuzz wants them; of our own files as they were found before."""

from __future__ import annotations

from base64 import b64decode, b64encode
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from engrave.files import Unreadable, whole_file
from engrave.kept_data import file_of_library, made_ready
from engrave.limits import FONT_BYTES, FONT_UNPACKED
from engrave.shop.places import own_folder
from engrave.typefaces.read.accepted import Accepted
from engrave.typefaces.read.web_font import holds_too_much
from engrave.typefaces.typeface_table import TypefaceError

LOOKED_AT_BY = ("accepted.py", "acceptance.py", "font_tables.py", "web_font.py")
"""Modules beside this one that make what is kept of a font what it is."""


def accept(file: Path, instance: str = "") -> Accepted:
    """Check an outline font file and return it ready for use. Raises TypefaceError with the reason if it is refused."""
    try:
        data = whole_file(file, FONT_BYTES)
    except Unreadable as why:
        raise TypefaceError(f"{file.name}: {why}") from why
    if file.parent.parent == own_folder("fonts_open"):
        return _as_before(file, data, instance)
    return _now(file, data, instance)


def _now(file: Path, data: bytes, instance: str) -> Accepted:
    with _readable(file.name):
        if holds_too_much(data):
            raise TypefaceError(f"{file.name}: {FONT_UNPACKED.of}, holds {FONT_UNPACKED.told()}")
        from engrave.typefaces.read.font_tables import looked_at  # large

        return looked_at(file, data, instance)


def _as_before(file: Path, data: bytes, instance: str) -> Accepted:
    """Return what was found of a file of ours before, while it, its readers and their library are as they were."""
    sources = [
        file,
        *(Path(__file__).with_name(name) for name in LOOKED_AT_BY),
        *file_of_library("fontTools", "__init__.py"),
    ]
    name = f"font-{file.parent.name}-{file.stem}"
    plain = made_ready(name, sources, lambda: _told(_now(file, data, instance), data), instance)
    try:
        return _from(plain, data)
    except (KeyError, TypeError, ValueError):
        return _now(file, data, instance)  # what was kept is no font: as if nothing were kept


def _told(one: Accepted, data: bytes) -> dict[str, Any]:
    """Return what is known of a font as JSON can hold it; bytes that are the file's own are left out."""
    unpacked = "" if one.data == data else b64encode(one.data).decode("ascii")
    return {
        "unpacked": unpacked,
        "place": dict(one.place),
        "note": one.note,
        "cap_height": one.cap_height,
        "embeddable": one.embeddable,
        "in_part": one.in_part,
    }


def _from(plain: dict[str, Any], data: bytes) -> Accepted:
    unpacked = b64decode(plain["unpacked"], validate=True) or data
    return Accepted(unpacked, plain["place"], plain["note"], plain["cap_height"], plain["embeddable"], plain["in_part"])


def full_name(data: bytes, file: str) -> str:
    """Return the name that people are shown for a font (OpenType, name 4), '' if there is none that can be shown.

    By itself, as the reader of names loads all others, which takes a tenth of one text's time. Raises TypefaceError.
    """
    with _readable(file):
        from engrave.typefaces.read.font_tables import full_name_in

        return full_name_in(data)


@contextmanager
def _readable(name: str) -> Iterator[None]:
    """Refuse a file whose reader fails: damage may make it fail in any way; whatever way, the font cannot be used."""
    try:
        yield
    except TypefaceError:
        raise
    except Exception as why:
        told = str(why) or type(why).__name__
        raise TypefaceError(
            f"{name}: not a font that can be read ({told}); give TTF, OTF, WOFF or WOFF2, or get the file anew"
        ) from why
