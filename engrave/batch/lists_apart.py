"""A bench list set in a process of its own, which takes with it what the typesetter keeps: 100 MB for 500 lids."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import tempfile
from pathlib import Path

from engrave.making import environment
from engrave.output.sheets import BenchSheet, bench_pdf
from engrave.typefaces import Shelf

LONGEST_LIST = 600.0
"""Seconds after which such a process is given up; a list of 500 lids takes two."""


def list_set_apart(sheet: BenchSheet, shop_folder: Path | None, shelf: Shelf) -> bytes:
    """Return a bench list as a PDF, set in another process, or in this one where there can be no other."""
    where = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    try:
        with tempfile.TemporaryFile() as told:  # a pipe would take the sheet's bytes once more in memory
            pickle.dump((sheet, shop_folder), told)
            told.seek(0)
            done = subprocess.run(
                [sys.executable, "-P", "-m", __name__],  # nothing that lies about in the folder it runs in is loaded
                stdin=told,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                timeout=LONGEST_LIST,
                env=where,
                check=True,
            )
    except (OSError, ValueError, subprocess.SubprocessError):
        return bench_pdf(sheet, shelf)
    return done.stdout if done.stdout.startswith(b"%PDF") else bench_pdf(sheet, shelf)


def _answer() -> None:
    sheet, shop_folder = pickle.load(sys.stdin.buffer)  # from nobody but the parent
    sys.stdout.buffer.write(bench_pdf(sheet, environment(shop_folder).shelf))


if __name__ == "__main__":
    _answer()
