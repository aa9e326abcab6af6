"""Lettering for box lids: a week's orders fitted, checked for the cutter, timed, priced and drawn.

    import engrave

    env = engrave.environment()                       # our tables; give a folder for the shop's own
    tried = engrave.try_words("Wanda", lid="round-caddy", env=env)
    print(tried.entries[0].piece.verdict)
    engrave.run_week(Path("orders.csv"), Path("week"))

The verbs are those of the command line; see `engrave.verbs` and `engrave.batch` for each.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from engrave.version import VERSION

__version__ = VERSION

if TYPE_CHECKING:
    from engrave.batch import run_week
    from engrave.making import environment
    from engrave.verbs import quote_week, quote_words, shelf, try_words

__all__ = ["__version__", "environment", "quote_week", "quote_words", "run_week", "shelf", "try_words"]


def __getattr__(name: str) -> Any:
    """Load a verb when it is first asked for, so that importing the package stays quick."""
    if name not in __all__:
        raise AttributeError(f"module 'engrave' has no attribute {name!r}")
    from importlib import import_module

    home = {"run_week": "engrave.batch", "environment": "engrave.making"}.get(name, "engrave.verbs")
    return getattr(import_module(home), name)
