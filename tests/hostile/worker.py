"""A process that answers one case at a time, under limits, so that a case can neither stop nor starve the others.

    python -m tests.hostile.worker 10

reads a line of JSON a case, [attack, path] or [attack, path, seed, number] for one that is to be made and written there
first, and prints its faults as a line of JSON. Over the seconds of CPU (the argument) the case is cut short; one that
cannot be cut short, or that eats all memory, ends the process, and whoever asked counts that.
"""

from __future__ import annotations

import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import traceback
from functools import cache
from importlib import import_module
from pathlib import Path
from random import Random
from typing import Any

from . import program
from .protocol import Attack, Fault

MOST_MEMORY = 4 << 30
"""Bytes of address space: what a small machine can bear."""

GRACE_S = 1
"""Seconds of CPU beyond twice the limit before the system ends a process that is deep in compiled code."""


class Hang(BaseException):
    """Raised where the CPU's time is up; no `except Exception` stops it."""


@cache
def attack_of(name: str) -> Attack:
    """Return the attack that a name such as 'tests.hostile.attacks.rows:Rows' means."""
    module, _, kind = name.partition(":")
    found: Attack = getattr(import_module(module), kind)()
    return found


def answered(attack: Attack, case: bytes, cpu_s: float) -> list[Fault]:
    """Put one case to the program in a folder of its own; return what went wrong."""
    here, place = Path.cwd(), Path(tempfile.mkdtemp(prefix="hostile-"))
    _limit(cpu_s)
    try:
        os.chdir(place)
        return list(attack.run(case, place))
    except Hang:
        return [Fault("hang", f"over {cpu_s:g} s of CPU, in {_where(sys.exc_info()[2])}")]
    except Exception as error:
        return [Fault("traceback", f"{type(error).__name__}: {str(error)[:200]} in {_where(error.__traceback__)}")]
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        os.chdir(here)
        shutil.rmtree(place, ignore_errors=True)


def _limit(cpu_s: float) -> None:
    def up(_signal: int, _frame: Any) -> None:
        raise Hang

    signal.signal(signal.SIGPROF, up)
    signal.setitimer(signal.ITIMER_PROF, cpu_s, 1.0)  # again each second, where a first one is swallowed
    used = resource.getrusage(resource.RUSAGE_SELF)
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    resource.setrlimit(resource.RLIMIT_CPU, (int(used.ru_utime + used.ru_stime + 2 * cpu_s + GRACE_S), hard))


def _where(trace: Any) -> str:
    """Return the innermost places of the program in a traceback."""
    frames = [f for f in traceback.extract_tb(trace) if "engrave" in Path(f.filename).parts] or traceback.extract_tb(
        trace
    )
    return " < ".join(f"{Path(f.filename).name}:{f.lineno} {f.name}" for f in reversed(frames[-3:]))


def main(cpu_s: float) -> None:
    """Answer cases from stdin until it closes."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, resource.getrlimit(resource.RLIMIT_AS)[1]))
    answers, sys.stdout = sys.stdout, sys.stderr  # what a case prints is no answer
    with tempfile.TemporaryDirectory(prefix="hostile-measures-") as measures:
        program.keep_measures_in(Path(measures))
        print("ready", file=answers, flush=True)
        for line in sys.stdin:
            name, path, *made = json.loads(line)
            attack = attack_of(name)
            if made:
                seed, number = made
                Path(path).write_bytes(attack.make(Random(f"{seed} {attack.name} {number}")))
            faults = answered(attack, Path(path).read_bytes(), cpu_s)
            print(json.dumps([[f.kind, f.says] for f in faults]), file=answers, flush=True)


if __name__ == "__main__":
    main(float(sys.argv[1]))
