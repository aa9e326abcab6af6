"""A table of orders read, and each row made definite."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from engrave.intake import OrdersFile, read_orders
from engrave.making import Env, tasks_of
from engrave.tasks import Plain, Refused, Task


def make_orders(orders: Path, env: Env) -> tuple[Sequence[Task | Plain | Refused], OrdersFile]:
    """Read a table of orders and make each row definite. Raises `engrave.intake.OrdersError` if it cannot be read."""
    file = read_orders(orders, env.shop.intake)
    return tasks_of(file.orders, env, of_table=True), file
