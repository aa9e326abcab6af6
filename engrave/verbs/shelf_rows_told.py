"""What is at hand, as rows of plain values."""

from __future__ import annotations

from typing import Any

from engrave.making import Env, environment
from engrave.output.terminal import shelf_rows

SHELVES = ("lids", "typefaces", "cutters", "machines", "woods", "recipes", "settings")


def shelf(kind: str, env: Env | None = None) -> list[dict[str, Any]]:
    """Return what is at hand of one kind as rows of plain values."""
    env = env or environment()
    return shelf_rows(kind, env.shop, env.shelf)
