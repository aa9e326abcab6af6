"""What a week's folder holds, and what is found of a piece."""

from __future__ import annotations

from pathlib import Path
from typing import Any


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file by its place in the folder, but for the proofs that are kept."""
    return {
        str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file() and "kept" not in p.parts
    }


def codes(piece: dict[str, Any]) -> set[str]:
    """Return what is found of a piece of week.json."""
    return {problem["code"] for problem in piece["problems"]}
