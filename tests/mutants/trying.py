"""Trying mutants: each in a copy of the project, with the tests that must notice it."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from .reading import ROOT, Mutant

Fate = Literal["killed", "survived", "amiss"]
"""killed: a test failed. survived: all passed. amiss: the tests could not be run, or fail without any mutant."""

COPIED = ("engrave", "tests", "fonts_open", "shared", "orders_demo", "pyproject.toml", "README.md", "DEVELOPERS.md")
LONGEST_S = 300.0
"""Seconds for the tests of one mutant: one that never ends is noticed too."""

PASSED, FAILED = 0, 1
"""pytest's exit statuses."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of one mutant. by: the first test that noticed it."""

    mutant: Mutant
    fate: Fate
    seconds: float
    told: str = ""
    by: str = ""


@contextmanager
def copied() -> Iterator[Path]:
    """Yield a copy of the project that may be changed."""
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        for name in COPIED:
            source, target = ROOT / name, Path(folder) / name
            if source.is_dir():
                shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__", ".pytest_cache"))
            else:
                shutil.copy(source, target)
        yield Path(folder)


MEASURED = ("engrave/geometry/", "engrave/cutting/", "engrave/typefaces/", "engrave/units.py")
"""What kept measures of glyphs rest on: mutants of these are tried without any."""


def tried(mutants: Sequence[Mutant]) -> Iterator[Tried]:
    """Yield what comes of each mutant. Tests that fail without any mutant prove nothing and are told as amiss."""
    sound: dict[tuple[str, ...], str] = {}
    with copied() as root, tempfile.TemporaryDirectory(prefix="mutants-measures-") as measures:
        for mutant in mutants:
            start = time.monotonic()
            if mutant.tests not in sound:
                status, told = _run(mutant.tests, root, measures)
                sound[mutant.tests] = "" if status == PASSED else f"without any mutant: {told}"
            if sound[mutant.tests]:
                yield Tried(mutant, "amiss", time.monotonic() - start, sound[mutant.tests])
                continue
            yield _one(mutant, root, measures, start)


def _one(mutant: Mutant, root: Path, measures: str, start: float) -> Tried:
    path = root / mutant.file
    whole = path.read_text("utf-8")
    with tempfile.TemporaryDirectory(prefix="mutants-measures-") as own:
        shutil.copytree(measures, own, dirs_exist_ok=True)  # what a mutant measures is kept for no other
        try:
            mutant.put_into(root)
            status, told = _run(mutant.tests, root, "off" if mutant.file.startswith(MEASURED) else own)
        finally:
            path.write_text(whole, "utf-8")
    fates: dict[int, Fate] = {PASSED: "survived", FAILED: "killed"}
    by = re.search(r"^(?:FAILED|ERROR) (\S+)", told, re.MULTILINE)
    return Tried(mutant, fates.get(status, "amiss"), time.monotonic() - start, told, by[1] if by else "")


def _run(tests: Sequence[str], root: Path, measures: str) -> tuple[int, str]:
    """Run tests until one fails; return pytest's exit status and the end of what it said."""
    asked = [sys.executable, "-B", "-m", "pytest", "-q", "-x", "--tb=line", "-p", "no:cacheprovider", *tests]
    env = {**os.environ, "PYTHONPATH": str(root), "ENGRAVE_CACHE": measures, "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(asked, cwd=root, env=env, capture_output=True, text=True, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired:
        return FAILED, "the tests did not end"
    return done.returncode, (done.stdout + done.stderr).strip()[-1500:]
