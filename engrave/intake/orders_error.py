"""What stops a table of orders as a whole; anything that concerns one row is a `Problem` on that row instead."""

from __future__ import annotations

from engrave.errors import ForPeople


class OrdersError(ForPeople, ValueError):
    """The orders file cannot be used at all. The message is for people: what was found and what to do."""
