"""Logs of times really taken: odd pieces, odd times, wounds, much of one thing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

from .. import mutations, program
from ..protocol import Fault
from .weeks import WEEK, folder_of

TIMES = (
    "452",
    "7.5",
    "7,5",
    "7:32",
    "1:07:30",
    "0",
    "-1",
    "1e400",
    "nan",
    "inf",
    "9" * 400,
    "٣",
    "²",
    "7:99",
    "::",
    "",
    "1e5",
    "86401",
    "0.0001",
    "½",
)
PIECES = ("", "1", "2", "0", "-1", "x", "²", "٣", "9" * 5000, "1.0", "1e3")


class Logs:
    """Logs beside a week's folder, from which the clock is to learn."""

    name, share, suffix, full = "logs", 1.0, ".csv", 1500

    def make(self, random: Random) -> bytes:
        """Return a log."""
        header = mutations.some(("order", "piece", "seconds", "minutes", "date", "note"), random)
        if random.random() < 0.8:
            header = ["order", "piece", random.choice(("seconds", "minutes")), "note"]
        mark = random.choice(",,,;\t")
        lines = [mark.join(header)]
        for _ in range(random.choice((1, 3, 8, 30))):
            cells = {
                "order": random.choice(("A-1", "A-2", "A-3", mutations.word(random))),
                "piece": random.choice(PIECES),
            }
            time = random.choice(TIMES) if random.random() < 0.5 else f"{random.uniform(20, 900):.1f}"
            lines.append(
                mark.join(cells.get(h, time if h in ("seconds", "minutes") else mutations.word(random)) for h in header)
            )
        if random.random() < 0.1:
            lines.append(random.choice(("x" * 200_000, '"' + "x" * 200_000, "A-1," * 50_000, "A-1,1,5,\n" * 20_000)))
        data = "\n".join(lines).encode(random.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252")), "replace")
        return mutations.damaged(data, random, 3) if random.random() < 0.3 else data

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Let the clock learn from the log."""
        (place / "log.csv").write_bytes(case)
        week = folder_of(WEEK, place / "week")
        yield from program.ask(
            "clock", place / "log.csv", "--machine", "bench-router", "--week", week, "--json"
        ).faults((0, 2))
