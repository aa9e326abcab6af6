"""Where our own tables and typefaces lie: at the top of a checkout, inside the package once installed."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def own_folder(name: str) -> Path:
    """Return the folder 'shared', 'fonts_open' or 'orders_demo' that came with this copy of the package."""
    installed = _PACKAGE / "_with" / name
    return installed if installed.is_dir() else _PACKAGE.parent / name
