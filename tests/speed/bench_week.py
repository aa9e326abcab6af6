"""What a week costs again when one row of it changed, as a share of the first run; and what a second core would save.

python tests/speed/bench_week.py [PIECES]     (what a long table costs a piece: bench_long.py)
python tests/speed/bench_week.py cores TABLE  with nothing kept, by sums of CPU: other work beside it shifts them little
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from engrave import batch

HEAD = "order,name,message,lid,typeface,wood\n"
NAMES = [
    "Ida",
    "Tom",
    "Una",
    "Ole",
    "Wanda",
    "Anna",
    "Bruno",
    "Clara",
    "Emil",
    "Freya",
    "Greta",
    "Hugo",
    "Iris",
    "Jonas",
    "Karin",
    "Lars",
    "Mira",
    "Nora",
    "Otto",
    "Paula",
]
LIDS, FACES, WOODS = ("round-caddy", "card-box"), ("withy", "vollkorn", "quicksand"), ("maple", "walnut", "cherry")


def rows(count: int) -> list[str]:
    return [
        f"P-{i},{NAMES[i % 20]} {NAMES[(7 * i) % 20]},with all our love,{LIDS[i % 2]},{FACES[i % 3]},{WOODS[(i // 3) % 3]}\n"
        for i in range(count)
    ]


def seconds(work: Callable[[], Any]) -> tuple[float, Any]:
    begun = time.perf_counter()
    done = work()
    return time.perf_counter() - begun, done


def changed_row(at: Path, count: int) -> None:
    table, some = at / "orders.csv", rows(count)
    table.write_text(HEAD + "".join(some), "utf-8")
    first, _ = seconds(lambda: batch.run_week(table, at / "out"))
    some[count // 2] = some[count // 2].replace("with all our love", "for the keys")
    table.write_text(HEAD + "".join(some), "utf-8")
    again, done = seconds(lambda: batch.run_week(table, at / "out"))
    print(f"{count} pieces {first:.1f} s; one row changed {again:.1f} s, {done.made} made: {again / first:.3f} of it")


def spent(table: Path, jobs: int) -> tuple[float, float]:
    """Return the seconds of CPU of a week with nothing kept: of the leading process, and of its workers."""
    with tempfile.TemporaryDirectory() as folder:
        asked = [sys.executable, __file__, "one", str(table), f"{folder}/out", str(jobs)]
        where = {**os.environ, "ENGRAVE_CACHE": f"{folder}/cache"}
        leading, workers = subprocess.run(asked, env=where, stdout=subprocess.PIPE, check=True).stdout.split()
    return float(leading), float(workers)


def cores(table: Path) -> None:
    """Print how much faster two free cores would be: workers share their time, and the leading process adds all of its."""
    one = sum(spent(table, 1))
    leading, workers = spent(table, 2)
    both = leading + workers / 2
    print(
        f"one process {one:.1f} s of CPU; two workers {workers:.1f} s and {leading:.1f} s of the process that leads them:"
    )
    print(
        f"two free cores take {both:.1f} s, {one / both:.2f} times as fast; {leading / both:.2f} of it in one process"
    )


def one_run(table: Path, out: Path, jobs: int) -> None:
    """Make a week and print the seconds of CPU of this process and of its workers."""
    batch.run_week(table, out, jobs=jobs)
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    print(*(one.ru_utime + one.ru_stime for one in used))


def main() -> None:
    """Print it."""
    if sys.argv[1:2] == ["one"]:
        one_run(Path(sys.argv[2]), Path(sys.argv[3]), int(sys.argv[4]))
        return
    if sys.argv[1:2] == ["cores"]:
        cores(Path(sys.argv[2]))
        return
    with tempfile.TemporaryDirectory() as folder:
        changed_row(Path(folder), int(sys.argv[1]) if len(sys.argv) > 1 else 200)


if __name__ == "__main__":
    main()
