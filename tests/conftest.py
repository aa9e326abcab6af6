"""What all tests share."""

from __future__ import annotations

from pathlib import Path

import pytest

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="session")
def data() -> Path:
    """Folder of ground truth and inputs that once went wrong."""
    return DATA
