"""The house itself: the order of the stages, the length of files, the top level."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "engrave",
    "fonts_open",
    "tests",
    "orders_demo",
    "shared",
}


def test_a_stage_imports_only_what_comes_before_it() -> None:
    linter = Path(sys.executable).with_name("lint-imports")
    if not linter.exists():
        pytest.skip("import-linter is a development tool and is not installed here; .ci/run runs it")
    done = subprocess.run([linter], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_file_grows_beyond_a_reader() -> None:
    long = {p.name: n for p in (ROOT / "engrave").rglob("*.py") if (n := len(p.read_text("utf-8").splitlines())) > 800}
    assert not long


@pytest.mark.skipif(shutil.which("git") is None or not (ROOT / ".git").exists(), reason="needs a git checkout")
def test_the_top_level_holds_what_the_design_names_and_nothing_else() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split(
        "\n"
    )
    top = {line.split("/")[0] for line in listed if line}
    assert {t for t in top if not t.startswith(".")} <= TOP
