"""A disk that is full: no file may grow beyond so many bytes (RLIMIT_FSIZE, setrlimit(2)), so any write may fail midway."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from random import Random

from .. import program
from ..processes import TOO_LONG, Process, engrave
from ..protocol import Fault
from .weeks import LATER, OF_A_RUN, WEEK, contents, expected, folder_of, table_of, wrongs_after, wrongs_midway


class FullDisk:
    """Runs whose files may not grow, then the same run with room. A case is JSON."""

    name, share, suffix, full = "disk", 1.5, ".json", 100

    def make(self, random: Random) -> bytes:
        """Return the bytes that a file may have."""
        sizes = sorted({len(d) for d in expected(LATER).values()})
        near = random.choice(sizes) + random.choice((-1, 0, 1))
        told = {
            "bytes": random.choice((0, 1, 100, 4096, near, near, random.randrange(sizes[-1]))),
            "jobs": random.choice((1, 2)),
            "fresh": random.random() < 0.3,
        }
        return json.dumps(told).encode()

    def run(self, case: bytes, place: Path) -> Iterator[Fault]:
        """Run with a full disk, judge, run again with room, judge again."""
        told = json.loads(case)
        old = {} if told["fresh"] else expected(WEEK)
        out = folder_of(WEEK, place / "week") if old else place / "week"
        table = table_of(LATER, place)
        process = Process(engrave("batch", table, "--out", out, "--jobs", str(told["jobs"])), place, told["bytes"])
        status, _, err = process.end()
        yield from process.left()
        if status == TOO_LONG:
            yield Fault("hang", "the run did not end")
        elif "Traceback" in err or status not in (1, 2, 3) or (status != 1 and not err.strip()):
            yield Fault("traceback", f"exit status {status}: {err.strip()[-400:]}")
        now = contents(out) if out.exists() else {}
        if status == 1:
            yield from wrongs_after(now, expected(LATER), expected(WEEK))
        elif status == 2 and _for_people(now) != old:
            yield Fault("half-written", "exit status 2, and yet the folder is not as it was")
        else:
            yield from wrongs_midway(now, old, expected(LATER))
        if any(Path(n).name.startswith(".part") for n in now):
            yield Fault("half-written", "a part of a file is left, and the disk is full")
        yield from program.ask("batch", table, "--out", out, "--jobs", "1", "--json").faults((1,))
        yield from wrongs_after(contents(out), expected(LATER), expected(WEEK))


def _for_people(files: Mapping[str, bytes]) -> dict[str, bytes]:
    return {name: data for name, data in files.items() if not OF_A_RUN.search(name)}
