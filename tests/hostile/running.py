"""Spending the time: cases are made, handed to workers, and counted; inputs that fail are kept."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from .program import ROOT
from .protocol import HANG_S, Fault, Kind
from .worker import attack_of

CASES = Path(__file__).with_name("cases")
"""A folder an attack, in it every input that ever failed."""


@dataclass(slots=True)
class Count:
    """What came of one attack. faults: each with the name of its case."""

    name: str
    cases: int = 0
    seconds: float = 0.0
    faults: list[tuple[str, Fault]] = field(default_factory=list)

    def of(self, kind: Kind) -> int:
        """Return how many cases had a fault of a kind."""
        return len({case for case, fault in self.faults if fault.kind == kind})


class Worker:
    """A process that answers cases (see `worker`); it is started anew when a case has ended it."""

    def __init__(self, cpu_s: float = HANG_S) -> None:
        self._asked = [sys.executable, "-m", "tests.hostile.worker", str(cpu_s)]
        self._process: subprocess.Popen[str] | None = None

    def answer(self, attack: str, case: Path, *made: int) -> list[Fault]:
        """Return the faults of a case; a process that dies over it is one of them.

        made: seed and number of a case that is to be made first, and written there.
        """
        process = self._running()
        assert process.stdin
        assert process.stdout
        print(json.dumps([attack, str(case.resolve()), *made]), file=process.stdin, flush=True)
        line = process.stdout.readline()
        if line:
            return [Fault(kind, says) for kind, says in json.loads(line)]
        status = self.end()
        if not case.exists():
            raise RuntimeError(f"the case could not be made: {attack} {made}")
        return [_died(status)]

    def _running(self) -> subprocess.Popen[str]:
        if self._process is None:
            self._process = subprocess.Popen(
                self._asked, cwd=ROOT, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                env={**os.environ, "PYTHONPATH": str(ROOT)},
            )  # fmt: skip
            assert self._process.stdout
            if self._process.stdout.readline() != "ready\n":
                raise RuntimeError(f"the worker does not start: {' '.join(self._asked)}")
        return self._process

    def end(self) -> int:
        """Close the process, if there is one; return its exit status."""
        if self._process is None or not self._process.stdin or not self._process.stdout:
            return 0
        self._process.stdin.close()
        self._process.stdout.close()
        status = self._process.wait()
        self._process = None
        return status

    def __enter__(self) -> Worker:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()


def _died(status: int) -> Fault:
    if status == -signal.SIGXCPU:
        return Fault("hang", "the CPU's time was up, and the process could not be cut short")
    return Fault("traceback", f"the process died of {signal.Signals(-status).name if status < 0 else f'exit {status}'}")


class Running:
    """One attack under way: its cases follow from the seed and their number alone.

    where: the attack's place (see `worker.attack_of`). keep: folder for copies of the cases that fail.
    """

    def __init__(self, where: str, worker: Worker, seed: int, keep: Path | None = None) -> None:
        self.attack = attack_of(where)
        self.count = Count(self.attack.name)
        self._where, self._worker, self._seed, self._keep = where, worker, seed, keep
        self._made = 0

    def step(self, folder: Path) -> None:
        """Make the next case and put it to the program."""
        self.number(self._made, folder)
        self._made += 1

    def number(self, number: int, folder: Path) -> None:
        """Make a case by its number and put it to the program."""
        case = folder / f"{self._seed}-{number}{self.attack.suffix}"
        self._put(case, self._seed, number)
        case.unlink(missing_ok=True)

    def kept(self) -> None:
        """Put every input that once failed to the program."""
        for case in kept_cases(self.attack.name):
            self._put(case)

    def _put(self, case: Path, *made: int) -> None:
        start = time.monotonic()
        faults = self._worker.answer(self._where, case, *made)
        self.count.seconds += time.monotonic() - start
        self.count.cases += 1
        self.count.faults += [(case.name, fault) for fault in faults]
        if faults and made and self._keep is not None:
            kept = self._keep / self.count.name
            kept.mkdir(parents=True, exist_ok=True)
            shutil.copy(case, kept / case.name)


def spend(attacks: Sequence[Running], seconds: float, show: Callable[[Running], None]) -> None:
    """Put cases to the program until the time is up, each attack by its share, none without a case."""
    until = time.monotonic() + seconds
    with tempfile.TemporaryDirectory(prefix="hostile-cases-") as folder:
        while True:
            late = time.monotonic() >= until
            asked = [a for a in attacks if not late or a.count.cases == 0]
            if not asked:
                return
            turn = min(asked, key=lambda a: a.count.seconds / a.attack.share)
            turn.step(Path(folder))
            show(turn)


def in_full(attacks: Sequence[Running], show: Callable[[Running], None]) -> None:
    """Put as many cases of each attack to the program as a release asks for."""
    with tempfile.TemporaryDirectory(prefix="hostile-cases-") as folder:
        for attack in attacks:
            for _ in range(attack.attack.full):
                attack.step(Path(folder))
                show(attack)


def kept_cases(name: str) -> list[Path]:
    """Return the inputs of an attack that once failed."""
    return sorted(p for p in (CASES / name).glob("*") if p.is_file())
