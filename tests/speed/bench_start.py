"""What starting costs, beside another checkout: help, one text with its letters known, and a demo week with nothing kept.

python tests/speed/bench_start.py OTHER [RUNS]     OTHER: a folder with another edition; RUNS of each (7; of the week 2)

Both run in turn with this Python and its libraries, modules compiled as an installed program's are, each edition with a
folder for caches of its own. Seconds are the processor's, of a process and its workers; of the runs the least counts, as a
busy machine only ever adds to it.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]

BEGIN = """
import sys
sys.argv[0] = "engrave"
try:
    from engrave.start import main
except ImportError:  # editions of before the start had a module of its own
    from engrave.cli import main
main()
"""

WEEK = ("batch", "orders_demo/ferry_week.csv", "--out")


def spent(edition: Path, asked: tuple[str, ...], place: Path, cache: Path) -> float:
    """Return the processor's seconds of a command and of all that it starts. place: where its modules are compiled."""
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env |= {
        "PYTHONPATH": str(edition),
        "ENGRAVE_CACHE": str(cache),
        "PYTHONPYCACHEPREFIX": str(place / edition.name),
    }
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, "-c", BEGIN, *asked], cwd=edition, env=env, capture_output=True, text=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{edition}: {' '.join(asked)} ended with {done.returncode}\n{done.stderr}")
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def week_spent(edition: Path, jobs: int | None, place: Path) -> float:
    """Return what a demo week takes that finds nothing kept."""
    with tempfile.TemporaryDirectory(dir=place) as empty:
        asked = (*WEEK, f"{empty}/week", *(("--jobs", str(jobs)) if jobs else ()))
        return spent(edition, asked, place, Path(empty) / "cache")


def in_turn(editions: tuple[Path, ...], runs: int, asked: tuple[str, ...], place: Path) -> list[float]:
    """Return the least that a command takes in each edition, after a run that is not counted."""
    caches = [place / f"cache{number}" for number in range(len(editions))]
    least = [float("inf")] * len(editions)
    for turn in range(runs + 1):
        for number, edition in enumerate(editions):
            seconds = spent(edition, asked, place, caches[number])
            least[number] = min(least[number], seconds) if turn else least[number]
    return least


def main() -> None:
    """Measure and tell."""
    other, runs = Path(sys.argv[1]).resolve(), int(sys.argv[2]) if len(sys.argv) > 2 else 7
    both = (other, HERE)
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for says, asked in (("--help", ("--help",)), ("try", ("try", "Ida", "--lid", "card-box"))):
            told(says, in_turn(both, runs, asked, place))
        weeks = [[week_spent(edition, None, place) for edition in both] for _ in range(min(2, runs))]
        told("cold week", [min(one) for one in zip(*weeks, strict=True)])
        one, two = (min(week_spent(HERE, jobs, place) for _ in range(min(2, runs))) for jobs in (1, 2))
        print(f"cold week here, --jobs 2 beside --jobs 1: {two:.1f} s and {one:.1f} s, {two / one:.2f} times")


def told(says: str, least: list[float]) -> None:
    """Print what a command takes there and here."""
    there, here = least
    print(f"{says}: {there:.2f} s there, {here:.2f} s here, {here / there:.2f} times", flush=True)


if __name__ == "__main__":
    main()
