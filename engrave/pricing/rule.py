"""The arithmetic of a price: margin and fees on price, spoilage, rounding up. Pure, in decimals."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

ONE = Decimal(1)


class PriceError(ValueError):
    """A price that the shop's own shares make impossible; the message says with which numbers."""


def price_for(
    cost: Decimal,
    margin: Decimal,
    fee: Decimal = Decimal(0),
    fixed_fee: Decimal = Decimal(0),
    tax: Decimal = Decimal(0),
) -> Decimal:
    """Return the price without tax that leaves `margin`, a share of it: (cost + fixed_fee) / (1 - fee - margin).

    From P - fee P - fixed_fee - cost = margin P. Where prices are shown with tax, those who take a share of the
    payment take it of the tax too, so the share counts fee * (1 + tax). Raises `PriceError` if the shares leave
    nothing: then no price is high enough.
    """
    taken = fee * (ONE + tax)
    if taken + margin >= ONE:
        of_tax = f" (fee {percent(fee)} on the price with {percent(tax)} tax)" if tax else ""
        raise PriceError(
            f"fee {percent(taken)}{of_tax} and margin {percent(margin)} of the price make {percent(taken + margin)}: "
            "together they must stay below 100 %, or no price is high enough; lower one of them in the rates"
        )
    if cost < 0 or fixed_fee < 0 or fee < 0 or margin < 0:
        raise PriceError(f"cost {cost}, fixed fee {fixed_fee}, fee {fee} and margin {margin} may not be negative")
    return (cost + fixed_fee) / (ONE - taken - margin)


def spoiled_for_each_good(spoilage: Decimal) -> Decimal:
    """Return how many lids are spoiled, on average, for one that comes out well: s / (1 - s).

    Each try fails with the share s, so the tries until one succeeds are 1 / (1 - s) on average (the geometric
    distribution's mean), and all but one of them are spoiled lids. Raises `PriceError` where none would succeed.
    """
    if not 0 <= spoilage < ONE:
        raise PriceError(f"spoilage is {percent(spoilage)}; it must be at least 0 % and below 100 %")
    return spoilage / (ONE - spoilage)


def rounded_up(amount: Decimal, step: Decimal) -> Decimal:
    """Return the next multiple of a step (0: unchanged); prices are never rounded to the shop's loss."""
    if step <= 0:
        return amount
    return (amount / step).to_integral_value(rounding=ROUND_CEILING) * step


def margin_of(price: Decimal, cost: Decimal) -> Decimal:
    """Return the share of the price that is left over the cost: (P - C) / P."""
    return (price - cost) / price


def markup_of(price: Decimal, cost: Decimal) -> Decimal:
    """Return what is added to the cost as a share of the cost: (P - C) / C."""
    return (price - cost) / cost


def percent(share: Decimal) -> str:
    """Return a share as '12.5 %', for messages about the rates."""
    text = f"{share * 100:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) + " %"
