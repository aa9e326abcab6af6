"""Run the command, and die at a point: `python -m tests.hostile.die_at FOLDER NUMBER SIGNAL COMMAND...`.

The process sends itself the signal just before its NUMBERth change of the file system below FOLDER (a file opened for
writing, a rename, a removal, a folder made), as the interpreter's audit events tell of them. 0: never; then the count
of such changes is written to stderr at the end, as 'changes: 31'.
"""

from __future__ import annotations

import os
import signal
import sys
from typing import Any

from .program import command

CHANGES = ("os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.link", "os.symlink", "os.truncate")
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def main(below: str, number: int, name: str, words: list[str]) -> None:
    """Run the command with a hook that counts and kills."""
    mine, seen = os.getpid(), [0]

    def hook(event: str, args: tuple[Any, ...]) -> None:
        if not _changes(event, args, below) or os.getpid() != mine:
            return
        seen[0] += 1
        if seen[0] == number:
            os.kill(mine, getattr(signal, f"SIG{name}"))

    if below:
        sys.addaudithook(hook)
    sys.argv = ["engrave", *words]
    try:
        command()()
    finally:
        if number == 0 and below:
            print(f"changes: {seen[0]}", file=sys.stderr)


def _changes(event: str, args: tuple[Any, ...], below: str) -> bool:
    if event == "open":
        path, mode, flags = args
        writes = bool(flags & WRITES) if isinstance(flags, int) else "r" not in str(mode)
        return writes and isinstance(path, str) and path.startswith(below)
    return event in CHANGES and any(isinstance(a, str) and a.startswith(below) for a in args)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), sys.argv[3], sys.argv[4:])
