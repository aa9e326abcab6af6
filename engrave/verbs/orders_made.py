"""A table of orders read, and each row made definite."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from engrave.intake import read_orders
from engrave.making import Env
from engrave.tasks import Plain, Refused, Task, define_all


def make_orders(orders: Path, env: Env) -> tuple[tuple[Task | Plain | Refused, ...], Any]:
    """Read a table of orders and make each row definite. Raises `engrave.intake.OrdersError` if it cannot be read."""
    file = read_orders(orders, env.shop.intake)
    return define_all(file.orders, env.shop, env.shelf.kinds(), env.shelf.refused, of_table=True), file
