"""Orders as sheets: odd cells, far corners, hidden rows, wounds in the zip and in what it holds, bombs."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import openpyxl

from .. import mutations, program
from ..protocol import Fault
from .rows import lettered

LETTERED_SHARE = 4
"""One in so many tables is lettered too, those whose length divides by it."""


class Sheets:
    """Workbooks, read; some lettered into a folder."""

    name, share, suffix, full = "sheets", 2.0, ".xlsx", 1500

    def make(self, random: Random) -> bytes:
        """Return a workbook, mostly damaged in one of several ways."""
        whole = workbook(random)
        match random.randrange(6):
            case 0:
                return whole
            case 1:
                return mutations.damaged(whole, random, 3)
            case 2 | 3:
                return inside(whole, random, lambda xml, _: mutations.damaged(xml, random, 3))
            case 4:
                return inside(whole, random, lambda xml, name: far(xml, random) if "sheet1" in name else xml)
            case _:
                return inside(whole, random, lambda xml, name: bomb(xml, random) if "sheet1" in name else xml)

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Read the workbook and letter some."""
        table = place / "orders.xlsx"
        table.write_bytes(case)
        program.read_table(table)
        if len(case) % LETTERED_SHARE == 0:
            yield from lettered(table, place / "out")


def workbook(random: Random) -> bytes:
    """Return a small workbook of odd cells."""
    book = openpyxl.Workbook()
    sheet: Any = book.active
    columns = ["order", "name", "message", "lid", "due", "quantity", "note"]
    sheet.append(columns)
    for number in range(random.randint(1, 4)):
        sheet.append([f"A-{number}", *(_cell(random) for _ in columns[1:])])
    if random.random() < 0.3:
        sheet.row_dimensions[random.randint(1, 4)].hidden = True
    if random.random() < 0.3:
        sheet.column_dimensions[random.choice("ABCD")].hidden = True
    if random.random() < 0.2:
        sheet.merge_cells(random.choice(("A1:B1", "A2:A4", "B2:C3")))
    if random.random() < 0.3:
        book.create_sheet(random.choice(("Other", "1", "a" * 31)), random.choice((0, 1))).append(["order", "name"])
    if random.random() < 0.3:
        sheet["B2"].number_format = random.choice(
            ("0%", "#,##0.00", "dd/mm/yyyy", "[h]:mm", "@", ";;;", '"x"', "yyyy" * 40, "[$-F800]", "???/???")
        )
    out = io.BytesIO()
    book.save(out)
    return inside(out.getvalue(), random, lambda part, _: part, whole=True)


def _cell(random: Random) -> object:
    if random.random() < 0.6:
        return re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]", "", mutations.word(random))[:32_000]
    days: list[object] = [
        dt.date(1900, 1, 1),
        dt.date(9999, 12, 31),
        dt.datetime(2026, 12, 4, 23, 59),
        dt.time(7, 30),
        dt.timedelta(days=4e4),
    ]
    return random.choice([*days, True, None, 0, -1, 1e308, 1e-308, 0.1 + 0.2, 10**20, "=1/0", "=B2", "#REF!"])


def inside(data: bytes, random: Random, change: Any, whole: bool = False) -> bytes:
    """Return the workbook with one of its parts, or the sheet, changed; a part may also be missing or there twice."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        chosen = random.choice(old.namelist())
        for name in old.namelist():
            part = re.sub(
                rb"\d{4}-\d\d-\d\dT[\d:]+Z", b"2026-11-26T08:00:00Z", old.read(name)
            )  # the same for the same seed
            if name == chosen or "sheet1.xml" in name:
                part = change(part, name)
            if not (name == chosen and random.random() < 0.05 and not whole):
                new.writestr(zipfile.ZipInfo(name), part, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def far(xml: bytes, random: Random) -> bytes:
    """Return a sheet with a cell, empty or not, in a far corner, or with impossible addresses."""
    text = xml.decode("utf-8")
    ref = random.choice(("XFD1048576", "A1048576", "XFD1", "A99999999", "ZZZZ1", "A0", "1", "", "A-1", "B900000"))
    held = random.choice(("", "<v>1</v>", "<is><t>x</t></is>"))
    number = re.sub(r"\D", "", ref) or "7"
    row = f'<row r="{number}"><c r="{ref}"{random.choice(("", """ t="inlineStr" """))}>{held}</c></row>'
    text = text.replace("</sheetData>", f"{row}</sheetData>")
    if random.random() < 0.4:
        text = re.sub(r'<dimension ref="[^"]*"', f'<dimension ref="A1:{ref}"', text)
    return text.encode()


def bomb(xml: bytes, random: Random) -> bytes:
    """Return a sheet that is small when packed and large, deep or endless when read."""
    text = xml.decode("utf-8")
    match random.randrange(5):
        case 0:
            return text.replace("</sheetData>", "<row><c><v>1</v></c></row>" * 200_000 + "</sheetData>").encode()
        case 1:
            cell = f'<c t="inlineStr"><is><t>{"x" * 20_000_000}</t></is></c>'
            return text.replace("</sheetData>", f"<row>{cell}</row></sheetData>").encode()
        case 2:
            entities = (
                '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">'
                + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9))
                + "]>"
            )
            text = re.sub(r"^(<\?xml[^>]*\?>)?", lambda m: m[0] + entities, text, count=1)
            return text.replace("</sheetData>", "<row><c><v>&j;</v></c></row></sheetData>").encode()
        case 3:
            return text.replace("</sheetData>", "<row>" * 100_000 + "</sheetData>").encode()
        case _:
            return text.encode() + b" " * 60_000_000
