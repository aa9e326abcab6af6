"""Machine and hand minutes to money, in decimals, by the shop's own rates."""

from engrave.pricing.hands import hands_cost, shared_hand_seconds
from engrave.pricing.ladder import Ladder, Rung, ladder
from engrave.pricing.quote import Quote, quote
from engrave.pricing.rule import PriceError
from engrave.pricing.wording import money

__all__ = ["Ladder", "PriceError", "Quote", "Rung", "hands_cost", "ladder", "money", "quote", "shared_hand_seconds"]
