"""What other quantities would cost: the same words on many lids, or a different name on each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from engrave.pricing.hands import order_hands
from engrave.pricing.quoting import costs_of, each_price, lid_charges
from engrave.setting.lettering import Lettering
from engrave.shop.models import Rates
from engrave.tasks import Task
from engrave.timing import Estimate

QUANTITIES = (1, 2, 5, 10, 25)
"""A pair, a family, a crew, a class: what buyers ask for (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Rung:
    """Prices at one quantity as the buyer is told them. same: one text on all; different: a name for each lid."""

    quantity: int
    same_each: Decimal
    same: Decimal
    different_each: Decimal
    different: Decimal


@dataclass(frozen=True, slots=True)
class Ladder:
    """Prices by quantity, in the shop's currency."""

    currency: str
    rungs: tuple[Rung, ...]


def ladder(
    task: Task,
    lettering: Lettering,
    estimate: Estimate,
    rates: Rates,
    quantities: Sequence[int] = QUANTITIES,
    opens: bool = True,
) -> Ladder:
    """Return the prices of an order of this piece alone at each quantity.

    Other names are taken to cut as long as this one; each is words and a proof of its own. opens: whether the piece
    carries what its order takes once; a lid's second area does not.
    """
    return Ladder(rates.currency, tuple(_rung(task, lettering, estimate, rates, n, opens) for n in quantities))


def _rung(task: Task, lettering: Lettering, estimate: Estimate, rates: Rates, quantity: int, opens: bool) -> Rung:
    charges = lid_charges(task, lettering, rates)
    fee = rates.fixed_fee if opens else Decimal(0)
    same, different = (
        each_price(
            costs_of(task, estimate, rates, order_hands(rates, texts=n) if opens else ()), quantity, charges, fee, rates
        )
        for n in (1, quantity)
    )
    return Rung(quantity, same, same * quantity, different, different * quantity)
