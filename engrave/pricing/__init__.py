"""Machine and hand minutes to money, in decimals, by the shop's own rates."""

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
