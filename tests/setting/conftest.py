"""Shop, typefaces and tasks for the tests of setting."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from engrave.intake.order import Order, Words
from engrave.shop import Shop, load_shop
from engrave.tasks import Task, define_all
from engrave.typefaces import Shelf, load_shelf


@pytest.fixture(scope="session")
def shop() -> Shop:
    return load_shop()


@pytest.fixture(scope="session")
def shelf() -> Shelf:
    return load_shelf()


@pytest.fixture(scope="session")
def task(shop: Shop, shelf: Shelf) -> Callable[..., Task]:
    """Return a maker of tasks: task(lid, name, message, foot, typeface=..., setting=...)."""

    def make(lid: str, *words: str, **columns: str) -> Task:
        text = Words(*words)
        order = Order("O-1", 1, 2, text, text, lid=lid, **columns)
        found = [t for t in define_all([order], shop, shelf.kinds()) if isinstance(t, Task)]
        assert found, define_all([order], shop, shelf.kinds())
        return found[0]

    return make
