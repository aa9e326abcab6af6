"""Sheets set by a typesetting library: a template, its data as JSON, pictures by name; the same pages as PDF and PNG.

Buyers' words reach the template as data and never as markup, so nothing in an order can be read as an instruction.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import typst

from engrave.shop.places import own_folder
from engrave.workers import never_fork_again

SHEET_TYPEFACES = (
    "vollkorn", "noto-sans", "noto-sans-bold", "noto-sans-hebrew", "noto-naskh-arabic", "noto-sans-devanagari",
)  # fmt: skip
"""Typefaces a sheet may be set in: ours alone, so that a page comes out alike on every system."""

NO_DATE = 0
"""The date written into a PDF, in seconds: always the same one, so that the same sheet gives the same bytes."""


@dataclass(frozen=True, slots=True)
class Typesetter:
    """A compiler that is kept warm, and the folder in which it finds templates and pictures."""

    compiler: typst.Compiler
    fonts: typst.Fonts
    desk: tempfile.TemporaryDirectory[str]

    def pages(
        self, template: str, data: Mapping[str, Any], pictures: Mapping[str, bytes], *, dpi: float | None = None
    ) -> tuple[bytes, ...]:
        """Return the sheet's pages as PNG of `dpi` pixels an inch; without it one PDF that holds all of them.

        pictures: file name (as the data names it) to the bytes of a PNG or JPEG. Raises `typst.TypstError` if a
        template is broken, which a test would have found.
        """
        desk = Path(self.desk.name)
        for name, bytes_of in pictures.items():
            (desk / name).write_bytes(bytes_of)
        try:
            made = self.compiler.compile(
                str(desk / template),
                format="png" if dpi else "pdf",
                ppi=dpi,
                sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
                timestamp=NO_DATE,
            )
        finally:
            for name in pictures:
                (desk / name).unlink(missing_ok=True)
        assert made is not None  # bytes come back where no output file is named
        return tuple(made) if isinstance(made, list) else (made,)


@cache
def own_typesetter() -> Typesetter:
    """Return this process's typesetter: its typefaces are read once."""
    never_fork_again("the typesetter's threads")
    fonts = typst.Fonts(False, False, [str(own_folder("fonts_open") / name) for name in SHEET_TYPEFACES])
    desk = tempfile.TemporaryDirectory(prefix="engrave-sheets-")
    for file in (Path(__file__).parent / "templates").glob("*.typ"):
        (Path(desk.name) / file.name).write_bytes(file.read_bytes())
    compiler = typst.Compiler(root=desk.name, font_paths=fonts, ignore_system_fonts=True)
    return Typesetter(compiler, fonts, desk)
