"""A shop's intake for tests: our own headings, and a few of a shop's."""

from __future__ import annotations

from pathlib import Path

from engrave.intake import Order, OrdersFile, read_orders, words_typed
from engrave.shop.models import Intake

SHOP = Intake(
    columns={"order": ("Order number",), "name": ("Personalisation", "Prénom"), "quantity": ("Qty",), "note": ("Gift message",)},
    values={"wood": {"Black walnut": "walnut", "Eiche": "oak"}, "lid": {"Round": "round-caddy"}},
    split={"Options": {"Wood": "wood", "Shape": "lid", "Text": "name", "Wrapping": "extra"}},
    code_page="cp1252",
    curly_quotes=True,
    date_order="dmy",
)  # fmt: skip


def read(folder: Path, text: str | bytes, intake: Intake = SHOP, name: str = "orders.csv") -> OrdersFile:
    """Write a table and read it."""
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_orders(path, intake)


def one(folder: Path, **cells: str) -> Order:
    """Read a table of one row, given by column."""
    import csv
    import io

    out = io.StringIO()
    csv.writer(out).writerows([list(cells), list(cells.values())])
    (order,) = read(folder, out.getvalue()).orders
    return order


def typed(name: str = "", message: str = "", foot: str = "", intake: Intake = SHOP) -> Order:
    return words_typed(name, message, foot, intake)


def codes(order: Order | OrdersFile, *levels: str) -> list[str]:
    """Codes of what was found, of the given levels or of all."""
    return [p.code for p in order.problems if not levels or p.level in levels]


def levels(order: Order) -> set[str]:
    return {p.level for p in order.problems}
