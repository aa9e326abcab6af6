"""Attack the program and print what came of it.

    python -m tests.hostile                                      five minutes, a seed of the day's own
    python -m tests.hostile --seed 7 --seconds 60
    python -m tests.hostile --full                               as many of each as a release asks for
    python -m tests.hostile --only fonts,kills --keep /tmp/failed
    python -m tests.hostile --only rows --seed 7 --case 23       one case again

The cases that once failed are put first. Exit status 0 if nothing went wrong. Needs a POSIX system (signals, limits).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from .attacks import ATTACKS
from .running import Running, Worker, in_full, spend
from .tally import details, table


def main(words: list[str]) -> int:
    """Run the command; return its exit status."""
    asked = _asked(words)
    seed = asked.seed if asked.seed is not None else time.time_ns() % 100_000
    names = asked.only.split(",") if asked.only else list(ATTACKS)
    print(f"seed {seed}", flush=True)
    with Worker() as worker:
        attacks = [Running(ATTACKS[name], worker, seed, asked.keep) for name in names]
        if asked.case is not None:
            _one(attacks[0], asked.case)
        else:
            for attack in attacks:
                attack.kept()
            in_full(attacks, _show) if asked.full else spend(attacks, asked.seconds, _show)
    counts = [a.count for a in attacks]
    print(table(counts))
    print(details(counts))
    return 1 if any(c.faults for c in counts) else 0


def _asked(words: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.hostile", description="Attack the program and count.")
    parser.add_argument("--seed", type=int, help="what the cases follow from; printed, so that they can be had again")
    parser.add_argument("--seconds", type=float, default=300.0, help="how long (300)")
    parser.add_argument("--full", action="store_true", help="as many of each as a release asks for, however long")
    parser.add_argument("--only", help=f"some of {','.join(ATTACKS)}")
    parser.add_argument("--case", type=int, help="one case again by its number, with --only and --seed")
    parser.add_argument("--keep", type=Path, help="folder for copies of the cases that fail")
    return parser.parse_args(words)


def _one(attack: Running, number: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        attack.number(number, Path(folder))


def _show(attack: Running) -> None:
    """Say on a terminal how far it is."""
    if sys.stderr.isatty():
        print(f"\r{attack.count.name} {attack.count.cases}    ", end="", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
