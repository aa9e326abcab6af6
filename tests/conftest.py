"""What all tests share."""

from __future__ import annotations

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
