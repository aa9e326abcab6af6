"""Fonts: wounds in the bytes, wounds in one table with the rest whole, and single-line fonts with odd figures."""

from __future__ import annotations

import io
import re
import struct
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from random import Random

from fontTools.ttLib import TTFont

from .. import mutations, program
from ..protocol import Fault

LARGEST = 180_000
"""Bytes: larger fonts only take longer."""

WORDS = "Wanda Åse & 7 — filé"
SUFFIX = {b"<": ".svg", b"\x00\x01": ".ttf", b"OT": ".otf", b"wO": ".woff2"}


class Fonts:
    """Fonts in a shop's folder; words are set in each, and in another typeface beside it."""

    name, share, suffix, full = "fonts", 3.0, ".font", 500

    def make(self, random: Random) -> bytes:
        """Return a damaged font."""
        data = _whole(random.choice(_files()))
        if data.startswith(b"<"):
            return _figures(data, random) if random.random() < 0.7 else mutations.damaged(data, random)
        if random.random() < 0.3:
            return mutations.damaged(data, random)
        return _one_table(data, random)

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Set words in the font, then in another of the same shop."""
        suffix = next((s for start, s in SUFFIX.items() if case.startswith(start)), ".ttf")
        (place / "shop" / "typefaces").mkdir(parents=True)
        (place / "shop" / "typefaces" / f"odd{suffix}").write_bytes(case)
        yield from program.ask("try", WORDS, "--typeface", "odd", "--shop", place / "shop", "--json").faults((0, 1))
        other = program.ask(
            "try", "Ida", "--typeface", "withy", "--lid", "card-box", "--shop", place / "shop", "--json"
        )
        yield from other.faults((0,))


def _files() -> list[Path]:
    files = (p for p in program.FONTS.glob("*/*") if p.suffix in (".ttf", ".otf", ".woff2", ".svg"))
    return sorted(p for p in files if p.stat().st_size <= LARGEST)


@cache
def _whole(file: Path) -> bytes:
    return file.read_bytes()


def _one_table(data: bytes, random: Random) -> bytes:
    """Return the font with one table damaged, checksums and offsets made right again around it."""
    font = TTFont(io.BytesIO(data), lazy=True, recalcTimestamp=False)
    reader = font.reader
    tables = {tag: reader[tag] for tag in reader.tables} if font.flavor is None else _unpacked(font)
    tag = random.choice(sorted(tables))
    tables[tag] = _wound(tables[tag], random)
    if random.random() < 0.1:
        del tables[tag]
    elif random.random() < 0.1:
        other = random.choice(sorted(tables))
        tables[tag], tables[other] = tables[other], tables[tag]
    return _packed(data[:4] if font.flavor is None else b"\0\1\0\0", tables)


def _unpacked(font: TTFont) -> dict[str, bytes]:
    out = io.BytesIO()
    font.flavor = None
    font.save(out)
    reader = TTFont(io.BytesIO(out.getvalue()), lazy=True, recalcTimestamp=False).reader
    return {tag: reader[tag] for tag in reader.tables}


def _wound(table: bytes, random: Random) -> bytes:
    """Return a table with a few of its 16-bit figures changed, or cut short, emptied, or with wounds anywhere."""
    out = bytearray(table)
    match random.randrange(5):
        case 0 if len(out) > 2:
            return bytes(out[: random.randrange(len(out))])
        case 1:
            return mutations.damaged(bytes(out), random)
        case 2 if random.random() < 0.3:
            return bytes(len(out))
        case _:
            for _ in range(random.choice((1, 1, 2, 5))):
                if len(out) >= 2:
                    at = random.randrange(min(len(out) - 1, random.choice((64, len(out))))) & ~1
                    struct.pack_into(
                        ">H", out, at, random.choice((0, 1, 0x7FFF, 0x8000, 0xFFFF, random.randrange(0x10000)))
                    )
            return bytes(out)


def _packed(kind: bytes, tables: dict[str, bytes]) -> bytes:
    """Return an sfnt file of these tables (OpenType specification, 'Font file', table directory)."""
    count = len(tables)
    out, at, body = struct.pack(">4sHHHH", kind, count, 16, 3, 0), 12 + 16 * count, b""
    for tag in sorted(tables):
        data = tables[tag]
        out += struct.pack(">4sLLL", tag.encode("latin-1").ljust(4), 0, at + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    return out + body


def _figures(data: bytes, random: Random) -> bytes:
    """Return a single-line font with some of its figures and strokes changed."""
    text = data.decode("utf-8", "replace")
    for _ in range(random.choice((1, 2, 10))):
        key = random.choice(
            (
                "units-per-em",
                "horiz-adv-x",
                "cap-height",
                "x-height",
                "ascent",
                "unicode",
                "glyph-name",
                " d",
                " k",
                "u1",
            )
        )
        found = list(re.finditer(rf'{key}="[^"]*"', text))
        if found:
            at = random.choice(found)
            value = mutations.number(random) if random.random() < 0.6 else mutations.word(random)
            if key == " d" and random.random() < 0.7:
                value = " ".join(
                    random.choice("MLCQZHVAmlcq") + " " + " ".join(mutations.number(random) for _ in range(4))
                    for _ in range(5)
                )
            value = value.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;").replace("\0", "")
            text = text[: at.start()] + f'{key}="{value}"' + text[at.end() :]
    return text.encode("utf-8", "replace")
