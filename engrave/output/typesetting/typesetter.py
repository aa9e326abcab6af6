"""Sheets and labelled pictures set by a typesetting library: a template, its data as JSON, pictures by name.

Buyers' words reach the template as data and never as markup, so nothing in an order can be read as an instruction.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import typst
import uharfbuzz as hb

from engrave.output.typesetting.shown_words import Lettered, beyond, shown_data
from engrave.shop.places import own_folder
from engrave.typefaces import Shelf
from engrave.workers import never_fork_again

SHEET_TYPEFACES = (
    "vollkorn", "noto-sans", "noto-sans-bold", "noto-sans-hebrew", "noto-naskh-arabic", "noto-sans-devanagari",
)  # fmt: skip
SHEET_SCRIPTS = ("noto-sans-armenian", "noto-sans-georgian")
"""Typefaces a sheet may be set in: ours, so that a page comes out alike on every system. The second, and a shop's own,
are taken where the first lack a letter; they must be unpacked first. Our drawn signs lie in the folder `type`."""

NO_DATE = 0
"""The date written into a PDF, in seconds: always the same one, so that the same sheet gives the same bytes."""


@dataclass(frozen=True, slots=True)
class Typesetter:
    """A compiler that is kept warm, the letters it has, and the folder in which it finds templates and pictures."""

    compiler: typst.Compiler
    fonts: typst.Fonts
    desk: tempfile.TemporaryDirectory[str]
    letters: Lettered

    def pages(
        self, template: str, data: Mapping[str, Any], pictures: Mapping[str, bytes], *, dpi: float | None = None
    ) -> tuple[bytes, ...]:
        """Return the sheet's pages as PNG of `dpi` pixels an inch; without it one PDF that holds all of them.

        pictures: file name (as the data names it) to the bytes of a PNG, JPEG or SVG. Signs that no typeface of it
        has are named in brackets. Raises `typst.TypstError` if a template is broken, which a test would have found.
        """
        desk = Path(self.desk.name)
        for name, bytes_of in pictures.items():
            (desk / name).write_bytes(bytes_of)
        try:
            made = self.compiler.compile(
                str(desk / template),
                format="png" if dpi else "pdf",
                ppi=dpi,
                sys_inputs={"data": json.dumps(shown_data(data, self.letters), ensure_ascii=False)},
                timestamp=NO_DATE,
            )
        finally:
            for name in pictures:
                (desk / name).unlink(missing_ok=True)
        assert made is not None  # bytes come back where no output file is named
        return tuple(made) if isinstance(made, list) else (made,)


def typesetter_for(data: Mapping[str, Any], shelf: Shelf) -> Typesetter:
    """Return the typesetter for a sheet: with the shop's own typefaces too where its words have letters that ours lack.

    Only files that their licence lets a page carry are taken.
    """
    plain = own_typesetter()
    return own_typesetter(shelf.carried(SHEET_SCRIPTS)) if beyond(data, plain.letters) else plain


@cache
def own_typesetter(carried: tuple[bytes, ...] = ()) -> Typesetter:
    """Return this process's typesetter: its typefaces are read once. carried: font files of a shop's own."""
    never_fork_again("the typesetter's threads")
    os.environ.setdefault("RAYON_NUM_THREADS", "1")  # a sheet is small: threads that share it cost more than they save
    desk = tempfile.TemporaryDirectory(prefix="engrave-sheets-")
    here = Path(desk.name)
    ours = Path(__file__).parent
    for file in (ours / "templates").glob("*.typ"):
        (here / file.name).write_bytes(file.read_bytes())
    (here / "fonts").mkdir()
    for number, data in enumerate(carried):
        (here / "fonts" / f"{number}.{'otf' if data[:4] == b'OTTO' else 'ttf'}").write_bytes(data)
    folders = [*(own_folder("fonts_open") / name for name in SHEET_TYPEFACES), ours / "type", here / "fonts"]
    fonts = typst.Fonts(False, False, [str(folder) for folder in folders])
    compiler = typst.Compiler(root=desk.name, font_paths=fonts, ignore_system_fonts=True)
    files = [file for folder in folders for file in folder.iterdir() if file.suffix in (".ttf", ".otf")]
    codes = frozenset(code for file in files for code in hb.Face(hb.Blob.from_file_path(str(file))).unicodes)
    return Typesetter(compiler, fonts, desk, codes)
