"""Attacks that find a fault of each kind for certain: they show that the counting counts."""

from __future__ import annotations

import json
import os
import signal
import sys
from collections import deque
from collections.abc import Iterator
from itertools import repeat
from pathlib import Path
from random import Random

from .attacks.rows import unanswered
from .attacks.weeks import wrongs_after, wrongs_midway
from .processes import Process
from .program import Answer
from .protocol import Fault

OLD = {
    "lids/A-1.svg": b"<svg>Ida</svg>",
    "lids/A-3.svg": b"<svg>Zoe</svg>",
    "week.html": b"old</html>",
    "week.json": b'{"pieces": [1]}',
}
NEW = {
    "lids/A-1.svg": b"<svg>Ada</svg>",
    "lids/A-5.svg": b"<svg>Bo</svg>",
    "week.html": b"new</html>",
    "week.json": b'{"pieces": [2]}',
}
"""What two weeks' folders hold."""


class Planted:
    """A case of nothing."""

    name, share, suffix, full = "planted", 1.0, ".txt", 2

    def make(self, random: Random) -> bytes:
        """Return nothing of interest."""
        return b"x"


class Raises(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        raise ValueError("planted")
        yield


class Dies(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        os.kill(os.getpid(), signal.SIGSEGV)
        yield from ()


class EatsMemory(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        bytearray(1 << 40)
        yield from ()


class Fails(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        told = {
            "pieces": [{"problems": [{"code": "failed", "says": "This piece could not be worked out", "where": "x:1"}]}]
        }
        yield from Answer(1, json.dumps(told), "").faults()


class Spins(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        while True:
            try:
                sum(range(1000))
            except Exception:
                continue
        yield


class SpinsInCompiledCode(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        deque(repeat(0), maxlen=0)
        yield from ()


class LosesARow(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from unanswered(b"order,name\nA-1,Ida\nA-2,Tom\n", {2}, "")


class LosesALid(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from wrongs_after({n: d for n, d in NEW.items() if n != "lids/A-5.svg"}, NEW, OLD)


class HalfALid(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from wrongs_midway({"lids/A-1.svg": b"<svg>A", "week.json": b"{}"}, OLD, NEW)


class HalfAPage(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from wrongs_midway({**NEW, "week.html": b"being"}, OLD, NEW)


class LeavesAPart(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from wrongs_after({**NEW, "lids/.part-7": b"<s"}, NEW, OLD)


class StalePage(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from wrongs_midway({**OLD, "lids/A-1.svg": NEW["lids/A-1.svg"]}, OLD, NEW)


class StaleLid(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from wrongs_after({**NEW, "lids/A-3.svg": OLD["lids/A-3.svg"]}, NEW, OLD)


class Mixes(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from wrongs_after({**NEW, "lids/A-1.svg": OLD["lids/A-1.svg"]}, NEW, OLD)


class LeavesRunning(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        process = Process([sys.executable, "-c", "import subprocess; subprocess.Popen(['sleep', '60'])"], place)
        process.wait_only()
        yield from process.left(0.2)
        process.end()


class HoldsThrough(Planted):
    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        yield from wrongs_midway(OLD, OLD, NEW)
        begun = {"week.html": b"being made anew</html>", "week.json": b"{}", "lids/A-1.svg": NEW["lids/A-1.svg"]}
        yield from wrongs_midway({**OLD, **begun}, OLD, NEW)
        yield from wrongs_after({**NEW, "lids/mine.svg": b"mine"}, NEW, OLD)
        yield from Answer(2, "", "There is no orders file.").faults()
