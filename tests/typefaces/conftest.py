"""What the tests of typefaces share."""

from __future__ import annotations

import pytest

from engrave.typefaces import Shelf, load_shelf


@pytest.fixture(scope="session")
def shelf() -> Shelf:
    """The typefaces that came with the package."""
    return load_shelf()
