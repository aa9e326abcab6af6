"""What all tests share."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import settings

# Machines are noisy: how long one example takes says nothing about the code; tests/speed is for that.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="session")
def data() -> Path:
    """Folder of ground truth and inputs that once went wrong."""
    return DATA


def pytest_pyfunc_call(pyfuncitem: pytest.Function) -> bool | None:
    """Run a test marked `alone` in a process of its own: once a sheet is set in one, its workers are not forked."""
    if pyfuncitem.get_closest_marker("alone") is None or "ENGRAVE_TEST_ALONE" in os.environ:
        return None
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:xdist", "-p", "no:cacheprovider", pyfuncitem.nodeid]
    here = {k: v for k, v in os.environ.items() if not k.startswith("PYTEST_XDIST")} | {"ENGRAVE_TEST_ALONE": "1"}
    told = subprocess.run(
        command, cwd=pyfuncitem.config.rootpath, env=here, capture_output=True, text=True, timeout=240
    )
    assert told.returncode == 0, told.stdout + told.stderr
    return True
