"""Commands as real processes: killed at a point, held to a size of file, and what outlives them."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from .program import ROOT
from .protocol import Fault

LONGEST_S = 120.0
"""Seconds on the wall until a real process that does not end is ended."""

TOO_LONG = 124
"""Exit status that stands for a process that had to be ended."""

PATIENCE_S = 5.0
"""Seconds that the processes of a run have to end after it."""


def engrave(*words: str | Path, below: Path | None = None, at: int = 0, signal_at: str = "KILL") -> list[str]:
    """Return the program and arguments of a command that dies at a point if so told (see `die_at`)."""
    return [sys.executable, "-m", "tests.hostile.die_at", str(below or ""), str(at), signal_at, *map(str, words)]


class Process:
    """A program in a process of its own, in a session of its own, so that whatever it starts is found."""

    def __init__(self, program: Sequence[str], cwd: Path, most_bytes: int | None = None) -> None:
        """Start it. most_bytes: how large any file may grow."""

        def limit() -> None:
            if most_bytes is not None:
                resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))

        self._process = subprocess.Popen(
            program, cwd=cwd, text=True, start_new_session=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, preexec_fn=limit,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        self.pid = self._process.pid

    def kill(self, name: str) -> None:
        """Send it, and it alone, a signal."""
        if self._process.poll() is None:
            self._process.send_signal(getattr(signal, f"SIG{name}"))

    def end(self) -> tuple[int, str, str]:
        """Wait for it; return its exit status (negative: the signal that ended it), stdout, stderr."""
        try:
            out, err = self._process.communicate(timeout=LONGEST_S)
        except subprocess.TimeoutExpired:
            _kill_all(self.pid)
            out, err = self._process.communicate()
            return TOO_LONG, out, err
        return self._process.returncode, out, err

    def wait_only(self) -> int:
        """Wait for it without reading on: what it started may still hold its pipes open."""
        try:
            return self._process.wait(timeout=LONGEST_S)
        except subprocess.TimeoutExpired:
            _kill_all(self.pid)
            return TOO_LONG

    def left(self, patience_s: float = PATIENCE_S) -> Iterator[Fault]:
        """Yield a fault if processes of its session outlive it, and end them."""
        until = time.monotonic() + patience_s
        while (alive := members(self.pid)) and time.monotonic() < until:
            time.sleep(0.05)
        if alive:
            _kill_all(self.pid)
            yield Fault("left running", f"{len(alive)} processes outlived the run")


def members(session: int) -> list[int]:
    """Return the processes of a session that still run (Linux: /proc/PID/stat, proc(5))."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                state, _, _, of = (entry / "stat").read_text().rpartition(")")[2].split()[:4]
            except (OSError, ValueError):
                continue
            if int(of) == session and state != "Z":
                found.append(int(entry.name))
    return found


def _kill_all(session: int) -> None:
    for pid in members(session):
        try:
            os.kill(pid, signal.SIGKILL)
        except ProcessLookupError:
            continue
