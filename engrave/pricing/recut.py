"""A lid cut again costs the shop its blank and all its minutes, and the buyer nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from engrave.pricing.hands import hands_cost
from engrave.pricing.quoting import costs_of, each_hands, minor_unit
from engrave.shop.models import Rates
from engrave.tasks import Task
from engrave.timing import Estimate


@dataclass(frozen=True, slots=True)
class Recut:
    """Lids cut again, paid for by nobody. Seconds; cost in the shop's currency."""

    lids: int = 0
    machine_seconds: float = 0.0
    hand_seconds: float = 0.0
    cost: Decimal = Decimal(0)


NONE = Recut()


def recut_of(task: Task, estimate: Estimate, rates: Rates) -> Recut:
    """Return what cutting a piece's spoiled lids again takes: blank, machine, wear and hands, not the words or the proof.

    A row that letters a lid in two areas needs one blank for both, which is counted with the first.
    """
    lids = task.order.recut
    hands = each_hands(task, estimate, rates)
    costs = costs_of(task, estimate, rates, ())
    each = costs.machine + costs.wear + hands_cost(hands, rates)
    filled = {field for field, _ in task.order.words.filled()}
    is_first = (
        next((area.name for area in task.lid.areas if filled & set(area.fields)), task.area.name) == task.area.name
    )
    cost = lids * (each + (task.lid.cost if is_first else Decimal(0)))
    return Recut(
        lids if is_first else 0,
        lids * estimate.seconds,
        lids * sum(seconds for _, seconds in hands),
        cost.quantize(minor_unit(rates), rounding=ROUND_HALF_EVEN),
    )


def sum_of(recuts: Iterable[Recut]) -> Recut:
    """Return what all lids cut again come to."""
    every = list(recuts)
    return Recut(
        sum(r.lids for r in every),
        sum(r.machine_seconds for r in every),
        sum(r.hand_seconds for r in every),
        sum((r.cost for r in every), Decimal(0)),
    )
