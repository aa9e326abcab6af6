"""Kept measures of glyphs, damaged or forged: they may cost time, never change an answer."""

from __future__ import annotations

import copy
import json
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from .. import mutations, program
from ..protocol import Fault

ASKED = (
    "try",
    "Wanda",
    "--message",
    "Åse",
    "--lid",
    "card-box",
    "--typeface",
    "quicksand",
    "--wood",
    "walnut",
    "--json",
)
ODD: tuple[Any, ...] = (
    None,
    True,
    "",
    "x",
    -1,
    0,
    1e308,
    float("nan"),
    float("inf"),
    10**400,
    [],
    {},
    [[]],
    60.9,
    1e-9,
)


class KeptMeasures:
    """Files of the folder of measures. A case's first line names the file."""

    name, share, suffix, full = "measures", 1.0, ".json", 1000

    def make(self, random: Random) -> bytes:
        """Return a file of measures."""
        files, _ = kept()
        name = random.choice(sorted(files))
        data = files[name]
        match random.randrange(5):
            case 0:
                data = mutations.damaged(data, random)
            case 1:
                data = random.choice(
                    (
                        b"[" * 100_000,
                        b"{}",
                        b"[]",
                        b"",
                        b"null",
                        b"\xff" * 40,
                        b"9" * 5000,
                        data.replace(b"0.", b"9."),
                        data.replace(b"[[", b"[[" * 600),
                    )
                )
            case 2:
                scale = random.choice((0.01, 0.5, 2.0, 1000.0))
                data = re.sub(rb"\d+\.\d+", lambda m: repr(float(m[0]) * scale).encode(), data)
            case _:
                try:
                    value = json.loads(data)
                except ValueError:  # of another form: our own data, made ready
                    return name.encode() + b"\n" + mutations.damaged(data, random)
                for _ in range(random.choice((1, 3, 30))):
                    _change(value, random)
                data = json.dumps(value).encode()
        return name.encode() + b"\n" + data

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Try words with this file in the folder of measures; the answer must be the one without it."""
        name, _, data = case.partition(b"\n")
        files, before = kept()
        with using(place / "cache"):
            for other, whole in files.items():
                (place / "cache" / other).parent.mkdir(parents=True, exist_ok=True)
                (place / "cache" / other).write_bytes(data if other == name.decode() else whole)
            answer = program.ask(*ASKED)
        yield from answer.faults((0, 1))
        if answer.out != before:
            yield Fault("stale", "the answer rests on figures that were never measured")


@contextmanager
def using(folder: Path) -> Iterator[None]:
    """Keep measures in a folder for a while."""
    before = program.measures_folder()
    program.keep_measures_in(folder)
    try:
        yield
    finally:
        program.keep_measures_in(before)


@cache
def kept() -> tuple[dict[str, bytes], str]:
    """Return the files that an honest run keeps, and its answer."""
    folder = Path(tempfile.mkdtemp(prefix="hostile-kept-"))
    try:
        with using(folder):
            program.ask(*ASKED)
            answer = program.ask(*ASKED).out
        return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*.json"))}, answer
    finally:
        shutil.rmtree(folder)


def _change(value: Any, random: Random) -> None:
    """Replace one thing at any depth."""
    while isinstance(value, dict | list) and value:
        key = random.choice(list(value)) if isinstance(value, dict) else random.randrange(len(value))
        inner = value[key]
        if not isinstance(inner, dict | list) or not inner or random.random() < 0.05:
            value[key] = (
                inner * random.choice((0.5, 3.0, -1.0))
                if isinstance(inner, float) and random.random() < 0.6
                else copy.deepcopy(random.choice(ODD))
            )
            return
        value = inner
