"""A room's face that loads each of its modules when something of it is first asked for."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def loads_on_use(room: str, offers: Mapping[str, tuple[str, ...]]) -> Callable[[str], Any]:
    """Return the `__getattr__` of a room. room: its full name. offers: by module of the room, what its face shows of it."""
    homes = {name: module for module, names in offers.items() for name in names}

    def load(name: str) -> Any:
        if name not in homes:
            raise AttributeError(f"module {room!r} has no attribute {name!r}")
        found = getattr(import_module(f"{room}.{homes[name]}"), name)
        setattr(sys.modules[room], name, found)  # asked for once: from then on it is there
        return found

    return load
