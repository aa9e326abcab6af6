"""Orders tables as text: odd words, odd encodings, broken quotes, wounds in real tables, and much of one thing."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from random import Random

from .. import mutations, program
from ..protocol import Fault

COLUMNS = (
    "order", "name", "message", "foot", "lid", "typeface", "cutter", "wood", "setting", "spacing", "thicken", "quantity",
    "matching", "due", "approved", "recut", "blank", "note", "Personalisation", "Options", "Qty", "Ship by", "shelf mark",
)  # fmt: skip

ENCODINGS = ("utf-8", "utf-8", "utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252", "cp1250", "cp437",
             "mac_roman", "iso8859-15", "shift_jis", "gb18030", "koi8-r", "cp1255")  # fmt: skip

WHOLE = 3000
"""Bytes up to which a table is not only read but lettered, if it has few lines and its length divides by three."""

FEW = 7
"""Lines up to which a table is lettered."""


class Rows:
    """Tables of orders, read; small ones lettered into a folder."""

    name, share, suffix, full = "rows", 3.0, ".csv", 3000

    def make(self, random: Random) -> bytes:
        """Return a table: written from odd words, a demo week with wounds, or much of one thing."""
        kind = random.random()
        if kind < 0.5:
            return written(random)
        if kind < 0.85:
            week = random.choice(sorted(program.DEMO.glob("*.csv"))).read_bytes().split(b"\n")
            rows = [week[0], *random.sample(week[1:], min(len(week) - 1, random.choice((2, 3, 5, 40))))]
            return mutations.damaged(b"\n".join(rows), random)
        return much(random)

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Read the table, look for rows without an answer, and letter it if it is small."""
        table = place / "orders.csv"
        table.write_bytes(case)
        answered, told = program.read_table(table)
        yield from unanswered(case, answered, told)
        if len(case) <= WHOLE and len(case) % 3 == 0 and len(case.splitlines()) <= FEW:
            yield from lettered(table, place / "out")


def written(random: Random) -> bytes:
    """Return a small table of odd words, in an encoding of its own."""
    columns = mutations.some(COLUMNS, random) or ["name"]
    random.shuffle(columns)
    out = io.StringIO()
    write = csv.writer(
        out, delimiter=random.choice(",,,;\t|"), lineterminator=random.choice(("\n", "\r\n", "\r")),
        quoting=random.choice((csv.QUOTE_MINIMAL, csv.QUOTE_ALL)),
    )  # fmt: skip
    write.writerow(columns)
    for number in range(random.randint(1, 4)):
        cells = [mutations.word(random) for _ in columns]
        write.writerow(
            [
                f"A-{number}" if c == "order" and random.random() < 0.7 else w
                for c, w in zip(columns, cells, strict=True)
            ]
        )
    return out.getvalue().encode(random.choice(ENCODINGS), "replace")


def much(random: Random) -> bytes:
    """Return a table with much of one thing in it: what takes more than a time in proportion shows here."""
    many = random.choice((1_000, 10_000, 30_000))
    thing = random.choice(
        (" ", "x", "A b ", '"', '","', 'x","y\n', "|", "\u06dd", "é", "e\u0301", "\u0300", "👩‍👩‍👧", "-", ",", ";", "\n", "\n\n,", "\r", "a\r\n", "Wood: Oak / ", "&#10084;",
         "A-1,Ida,,\n", "A-1,Ida {n},,\n", "B-{n},Ida,,\n", ",,,\n", "order,name,message\n", "=", "\u202e", "ﷺ")
    )  # fmt: skip
    body = "".join(thing.replace("{n}", str(i)) for i in range(many)) if "{n}" in thing else thing * many
    before, after = random.choice(
        (("A-1,", ",x\n"), ("A-1,x,", "\n"), ('A-1,"', '",x\n'), ("", ""), ("A-1,Ida,\n", "A-2,Tom,\n"))
    )
    return f"order,name,message\n{before}{body}{after}A-9,Ole,by the sea\n".encode()


def unanswered(case: bytes, answered: set[int], told: str) -> Iterator[Fault]:
    """Yield the rows of a plain table that got no answer.

    Only of tables that need no reader to be understood: UTF-8 without quotation marks, odd line ends or blanks of other
    kinds; there a row is a line, and one with a letter or digit in it is an order or is told of.
    """
    try:
        text = case.decode("utf-8")
    except UnicodeDecodeError:
        return
    if (
        told.startswith("refused")
        or any(c in text for c in '"\r\0\v\f\x1c\x1d\x1e\x85\u2028\u2029\ufeff\ufffd')
        or text.startswith(("sep", "\n"))
    ):
        return
    lines = text.split("\n")
    told_of = {int(n) for n in re.findall(r"[Rr]ows? (\d{1,9})\b", told)}
    every = answered | told_of
    missing = [n for n, line in enumerate(lines[1:], 2) if any(c.isalnum() for c in line) and n not in every]
    if missing and answered:
        yield Fault("lost", f"no answer to row {missing[0]} and {len(missing) - 1} more")


def lettered(table: Path, out: Path) -> Iterator[Fault]:
    """Letter a table into a folder and yield what is wrong with the answer."""
    before = table.read_bytes()
    answer = program.ask("batch", table, "--out", out, "--jobs", "1", "--json")
    yield from answer.faults()
    if not table.is_file() or table.read_bytes() != before:
        yield Fault("lost", "the orders table is not as it was")
    if answer.status not in (0, 1):
        if answer.status == 2 and out.exists() and any(p.is_file() for p in out.rglob("*")):
            yield Fault("half-written", "exit status 2, and yet something was written")
        return
    week = json.loads((out / "week.json").read_text("utf-8"))
    for piece in week["pieces"]:
        for key in ("svg", "proof"):
            if piece[key] and not (out / piece[key]).is_file():
                yield Fault("lost", f"{piece[key]} is listed and is not there")
    if any(p.name.startswith(".part") for p in out.rglob("*")):
        yield Fault("half-written", "a part of a file is left")
