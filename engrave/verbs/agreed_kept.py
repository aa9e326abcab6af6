"""Orders kept as they were agreed: listed, and pruned."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from engrave.approval import KEPT, KeptOrders, OrderFacts, PruneError
from engrave.errors import AskedWrong


def kept_orders(folder: Path) -> tuple[tuple[str, date, OrderFacts], ...]:
    """Return (code, day, what it shows) of all that is kept in a shop's or a week's folder, oldest first."""
    return _kept_in(folder).listed()


def prune_kept(folder: Path, days: int) -> tuple[str, ...]:
    """Take away what was kept more than so many days ago, and return its codes. Raises AskedWrong if that cannot be."""
    try:
        return _kept_in(folder).prune(timedelta(days=days), date.today())
    except PruneError as error:
        raise AskedWrong(str(error)) from error


def _kept_in(folder: Path) -> KeptOrders:
    place = folder if folder.name == KEPT else folder / KEPT
    if not place.is_dir():
        raise AskedWrong(f"{folder} has no folder '{KEPT}': nothing was proved for it yet, or it is another one.")
    return KeptOrders(place)
