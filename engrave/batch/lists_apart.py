"""A bench list set in a process of its own, which takes with it what the typesetter keeps: 100 MB for 500 lids."""

from __future__ import annotations

import pickle
import subprocess
import sys
from pathlib import Path

from engrave.batch.apart import answer_of
from engrave.making import environment
from engrave.output.sheets import BenchSheet, bench_pdf
from engrave.typefaces import Shelf

LONGEST_LIST = 600.0
"""Seconds after which such a process is given up; a list of 500 lids takes two."""


def list_set_apart(sheet: BenchSheet, shop_folder: Path | None, shelf: Shelf) -> bytes:
    """Return a bench list as a PDF, set in another process, or in this one where there can be no other."""
    try:
        done = answer_of(__name__, (sheet, shop_folder), LONGEST_LIST)
    except (OSError, ValueError, subprocess.SubprocessError):
        return bench_pdf(sheet, shelf)
    return done if done.startswith(b"%PDF") else bench_pdf(sheet, shelf)


def _answer() -> None:
    sheet, shop_folder = pickle.load(sys.stdin.buffer)  # from nobody but the parent
    sys.stdout.buffer.write(bench_pdf(sheet, environment(shop_folder).shelf))


if __name__ == "__main__":
    _answer()
