"""A run killed at a point: while it computes, by the clock; while it writes, before any one change of the folder."""

from __future__ import annotations

import json
import re
import tempfile
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from .. import program
from ..processes import TOO_LONG, Process, engrave
from ..protocol import Fault
from .weeks import LATER, WEEK, contents, expected, folder_of, table_of, wrongs_after, wrongs_midway

MINE = ("lids/mine.svg", ".part-mine", "notes.txt")
"""Files of the shop's own, which stay whatever happens."""


class Kills:
    """Runs of the later week into the folder of the earlier one, killed, looked at, and run again. A case is JSON."""

    name, share, suffix, full = "kills", 5.0, ".json", 800

    def make(self, random: Random) -> bytes:
        """Return when, how and with how many processes. In full, a quarter of the cases each: both signals, one and two jobs."""
        told = {
            "signal": random.choice(("KILL", "TERM", "KILL", "TERM", "INT", "HUP")),
            "jobs": random.choice((1, 2)),
            "when": "writing" if random.random() < 0.7 else "computing",
            "at": round(random.random(), 4),
            "fresh": random.random() < 0.2,
        }
        return json.dumps(told).encode()

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Kill the run, judge what lies there, run again, judge again."""
        told = json.loads(case)
        old = {} if told["fresh"] else expected(WEEK)
        out = place / "week"
        if old:
            folder_of(WEEK, out)
        for name in MINE:
            (out / name).parent.mkdir(parents=True, exist_ok=True)
            (out / name).write_text("mine", "utf-8")
        table = table_of(LATER, place)
        yield from _killed(told, table, out, place)
        yield from wrongs_midway(contents(out), old, expected(LATER))
        yield from _mine(out, "after the kill")
        again = program.ask("batch", table, "--out", out, "--jobs", "1", "--json")
        yield from again.faults((1,))
        yield from wrongs_after(contents(out), expected(LATER), expected(WEEK))
        yield from _mine(out, "after the run that followed")


def _killed(told: dict[str, Any], table: Path, out: Path, place: Path) -> Iterator[Fault]:
    changes, seconds = undisturbed(told["jobs"])
    words = ["batch", str(table), "--out", str(out), "--jobs", str(told["jobs"])]
    if told["when"] == "writing":
        point = 1 + int(told["at"] * changes)
        process = Process(engrave(*words, below=out, at=point, signal_at=told["signal"]), place)
    else:
        process = Process(engrave(*words), place)
        time.sleep(told["at"] * seconds)
        process.kill(told["signal"])
    status = process.wait_only()
    yield from process.left()
    _, _, err = process.end()
    if status == TOO_LONG:
        yield Fault("hang", "the run did not end after the signal")
    if re.search(r'File "[^"]*/engrave/', err):
        yield Fault("traceback", f"after SIG{told['signal']}: {err.strip()[-400:]}")
    if told["signal"] == "INT" and told["when"] == "writing" and status not in (1, 3):
        yield Fault("traceback", f"SIGINT ended it with {status}, not with exit status 3")


def _mine(out: Path, when: str) -> Iterator[Fault]:
    for name in MINE:
        if not (out / name).is_file() or (out / name).read_text("utf-8") != "mine":
            yield Fault("lost", f"{name}, the shop's own, is gone {when}")


@cache
def undisturbed(jobs: int) -> tuple[int, float]:
    """Return how many changes of the folder a run makes that nothing disturbs, and its seconds."""
    with tempfile.TemporaryDirectory(prefix="hostile-run-") as folder:
        place = Path(folder).resolve()
        out = folder_of(WEEK, place / "week")
        start = time.monotonic()
        words = ["batch", str(table_of(LATER, place)), "--out", str(out), "--jobs", str(jobs)]
        status, _, err = Process(engrave(*words, below=out), place).end()
        found = re.search(r"changes: (\d+)", err)
        if status != 1 or not found:
            raise RuntimeError(f"an undisturbed run ended with {status}: {err[-500:]}")
        return int(found[1]), time.monotonic() - start
