"""A table of orders read, and each row made definite."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from engrave.intake import read_orders
from engrave.making import Env, tasks_of
from engrave.tasks import Plain, Refused, Task


def make_orders(orders: Path, env: Env) -> tuple[tuple[Task | Plain | Refused, ...], Any]:
    """Read a table of orders and make each row definite. Raises `engrave.intake.OrdersError` if it cannot be read."""
    file = read_orders(orders, env.shop.intake)
    return tasks_of(file.orders, env, of_table=True), file
