"""Machine and hand minutes to money, in decimals, by the shop's own rates."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engrave.on_use import loads_on_use

if TYPE_CHECKING:
    from engrave.pricing.hands import hands_cost, shared_hand_seconds
    from engrave.pricing.price_ladder import Ladder, Rung, ladder
    from engrave.pricing.price_words import money
    from engrave.pricing.quoting import Quote, quote, with_order_minimum
    from engrave.pricing.recut import Recut, recut_of, sum_of
    from engrave.pricing.rule import PriceError

__all__ = [
    "Ladder",
    "PriceError",
    "Quote",
    "Recut",
    "Rung",
    "hands_cost",
    "ladder",
    "money",
    "quote",
    "recut_of",
    "shared_hand_seconds",
    "sum_of",
    "with_order_minimum",
]

__getattr__ = loads_on_use(
    __name__,
    {
        "hands": (
            "hands_cost",
            "shared_hand_seconds",
        ),
        "price_ladder": (
            "Ladder",
            "Rung",
            "ladder",
        ),
        "price_words": ("money",),
        "quoting": (
            "Quote",
            "quote",
            "with_order_minimum",
        ),
        "recut": (
            "Recut",
            "recut_of",
            "sum_of",
        ),
        "rule": ("PriceError",),
    },
)
