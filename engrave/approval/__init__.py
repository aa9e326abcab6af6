"""What a buyer agreed to: one code an order, the geometry kept under it, and whether what would be cut now is that."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.approval.agreeing import OrderJudged, judge_order, proved_letterings
    from engrave.approval.facts import AGREED, OrderFacts, PieceFacts, facts_of, order_digest, shown
    from engrave.approval.kept_orders import KEPT, KeptOrder, KeptOrders, PruneError, code_of
    from engrave.approval.spoiled import cut_otherwise

__all__ = [
    "AGREED",
    "KEPT",
    "KeptOrder",
    "KeptOrders",
    "OrderFacts",
    "OrderJudged",
    "PieceFacts",
    "PruneError",
    "code_of",
    "cut_otherwise",
    "facts_of",
    "judge_order",
    "order_digest",
    "proved_letterings",
    "shown",
]

__getattr__ = loads_on_use(
    __name__,
    {
        "agreeing": (
            "OrderJudged",
            "judge_order",
            "proved_letterings",
        ),
        "facts": (
            "AGREED",
            "OrderFacts",
            "PieceFacts",
            "facts_of",
            "order_digest",
            "shown",
        ),
        "kept_orders": (
            "KEPT",
            "KeptOrder",
            "KeptOrders",
            "PruneError",
            "code_of",
        ),
        "spoiled": ("cut_otherwise",),
    },
)
