"""What a buyer agreed to: one code an order, the geometry kept under it, and whether what would be cut now is that."""

from __future__ import annotations

from engrave.approval.agreeing import OrderJudged, judge_order, proved_letterings
from engrave.approval.facts import AGREED, OrderFacts, PieceFacts, facts_of, order_digest, shown
from engrave.approval.kept_orders import KEPT, KeptOrder, KeptOrders, PruneError, code_of

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
    "facts_of",
    "judge_order",
    "order_digest",
    "proved_letterings",
    "shown",
]
