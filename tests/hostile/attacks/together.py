"""Two runs at once into one folder, of two weeks."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random

from ..processes import TOO_LONG, Process, engrave
from ..protocol import Fault
from .kills import undisturbed
from .weeks import LATER, WEEK, contents, expected, folder_of, table_of, wrongs_after


class TwoAtOnce:
    """Two runs, the second a moment after the first. A case is JSON."""

    name, share, suffix, full = "together", 2.0, ".json", 100

    def make(self, random: Random) -> bytes:
        """Return how long after the first the second begins, and which week is which."""
        told = {
            "after": round(random.choice((0.0, random.random() * 0.3, random.random())), 4),
            "turned": random.random() < 0.5,
            "held": random.random() < 0.5,
            "jobs": random.choice((1, 2)),
        }
        return json.dumps(told).encode()

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Start both, wait for both; the folder holds one week, whole."""
        told = json.loads(case)
        weeks = (LATER, WEEK) if told["turned"] else (WEEK, LATER)
        out = folder_of(WEEK, place / "week") if told["held"] else place / "week"
        _, seconds = undisturbed(1)
        runs = []
        for number, week in enumerate(weeks):
            (place / str(number)).mkdir()
            table = table_of(week, place / str(number))
            runs.append(Process(engrave("batch", table, "--out", out, "--jobs", str(told["jobs"])), place))
            time.sleep(told["after"] * seconds if number == 0 else 0)
        ends = [run.end() for run in runs]
        for run in runs:
            yield from run.left()
        for status, _, err in ends:
            if status == TOO_LONG:
                yield Fault("hang", "a run did not end")
            elif "Traceback" in err or status not in (0, 1, 2) or (status == 2 and not err.strip()):
                yield Fault("traceback", f"exit status {status}: {err.strip()[-400:]}")
        done = [week for week, (status, _, _) in zip(weeks, ends, strict=True) if status in (0, 1)]
        now = contents(out) if out.exists() else {}
        if not done:
            yield Fault("lost", f"neither run came to an end: {[status for status, _, _ in ends]}")
            return
        wrong = [list(wrongs_after(now, expected(week), expected(WEEK if week is LATER else LATER))) for week in done]
        yield from min(wrong, key=len)
