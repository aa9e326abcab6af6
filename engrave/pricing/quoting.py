"""Minutes to money: what a piece's lettering costs by part, and the price by the shop's rule."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from babel.numbers import get_currency_precision

from engrave.pricing.hands import Parts, lid_hands, order_hands, seconds_cost
from engrave.pricing.price_words import message
from engrave.pricing.rule import price_for, rounded_up, spoiled_for_each_good
from engrave.setting.lettering import Lettering
from engrave.shop.models import Machine, Rates
from engrave.tasks import Task
from engrave.timing import Estimate

Money = tuple[tuple[str, Decimal], ...]
"""Amounts by what they are for."""


@dataclass(frozen=True, slots=True)
class Quote:
    """What lettering `quantity` lids alike costs, and its price. Seconds; money in the shop's currency.

    parts: machine, hands by part, spoilage, fees, margin (what the shop keeps) and, where prices are shown with it,
    tax; they add up to `price`. charges: what the shop's list adds beside (extra lines, inside, rush); in the price.
    price, each: as the buyer is told them, with tax where the shop shows it; each is one lid without rush.
    cost: machine, hands and spoilage. given_away: what lettering one lid costs when nothing is asked for it;
    share_of_box: that as a share of the lid's price. fixture_pays_at, bit_pays_at: lids after which a fixture (by
    minutes saved) or a new bit (by margin) has paid for itself; None if never. message: a line for the buyer.
    """

    quantity: int
    currency: str
    machine_seconds: float
    hand_seconds: float
    each_machine_seconds: float
    each_hand_seconds: float
    hands: Parts
    parts: Money
    charges: Money
    cost: Decimal
    price: Decimal
    each: Decimal
    tax: Decimal
    tax_shown: bool
    given_away: Decimal
    share_of_box: Decimal | None
    fixture_pays_at: int | None
    bit_pays_at: int | None
    message: str


@dataclass(frozen=True, slots=True)
class Costs:
    """What lettering costs the shop before any price. machine, lid_parts: of one good lid; order_parts: once.

    spoilage: the lids spoiled for each good one, with all their minutes.
    """

    machine: Decimal
    lid_parts: Money
    order_parts: Money
    spoilage: Decimal

    @property
    def each(self) -> Decimal:
        """Cost of one lid more."""
        return self.machine + total(self.lid_parts) + self.spoilage

    def of(self, quantity: int) -> Decimal:
        """Cost of a number of lids alike, with what the order takes once."""
        return quantity * self.each + total(self.order_parts)


def total(parts: Money) -> Decimal:
    """Return the sum of amounts."""
    return sum((amount for _, amount in parts), Decimal(0))


def machine_rate(rates: Rates, machine: Machine) -> Decimal:
    """Return a machine's rate an hour: its own, else its kind's; the dearest one where the table has neither."""
    for key in (machine.id, machine.kind):
        if key in rates.machine_hour:
            return rates.machine_hour[key]
    return max(rates.machine_hour.values(), default=Decimal(0))


def costs_of(task: Task, estimate: Estimate, rates: Rates, order_parts: Parts, nested: bool = False) -> Costs:
    """Return what a piece costs the shop.

    A spoiled lid costs the lid and all its minutes, machine and hands; words and proof are done once all the same.
    """
    machine = seconds_cost(estimate.seconds, machine_rate(rates, task.tool.machine))
    lid_parts = priced(lid_hands(rates, nested), rates)
    spoiled = spoiled_for_each_good(rates.spoilage) * (task.lid.cost + machine + total(lid_parts))
    return Costs(machine, lid_parts, priced(order_parts, rates), spoiled)


def priced(parts: Parts, rates: Rates) -> Money:
    """Return hand seconds by part as money by part."""
    return tuple((name, seconds_cost(seconds, rates.hands_hour)) for name, seconds in parts)


def opens_order(task: Task) -> bool:
    """Tell whether a piece is the one that carries its order's own minutes: the first, on its first lettered area."""
    filled = {field for field, _ in task.order.words.filled()}
    lettered = [area.name for area in task.lid.areas if filled & set(area.fields)]
    return task.piece == 1 and (not lettered or task.area.name == lettered[0])


def lid_charges(task: Task, lettering: Lettering, rates: Rates) -> Money:
    """Return what the shop's list adds to one lid: lines and letters beyond the included ones, the inside."""
    charges = []
    if rates.included_lines is not None and len(lettering.lines) > rates.included_lines:
        charges.append(("extra lines", (len(lettering.lines) - rates.included_lines) * rates.extra_line))
    letters = sum(not c.isspace() for line in lettering.lines for c in line.text)
    if rates.included_letters is not None and letters > rates.included_letters:
        charges.append(("extra letters", (letters - rates.included_letters) * rates.extra_letter))
    if task.area.side == "inside":
        charges.append(("inside of lid", rates.inside))
    return tuple((name, amount) for name, amount in charges if amount)


def each_price(costs: Costs, quantity: int, charges: Money, fixed_fee: Decimal, rates: Rates) -> Decimal:
    """Return the price of one of `quantity` lids as the buyer is told it: rule, list, minimum, rounding up.

    The order's own minutes and the fixed fee are spread over its lids. Charges, minimum and step are in the prices
    that the buyer is told, with tax or without.
    """
    tax = rates.tax if rates.tax_shown else Decimal(0)
    by_rule = price_for(costs.of(quantity), rates.margin, rates.fee, fixed_fee, tax) * (1 + tax) / quantity
    told = rounded_up(max(by_rule + total(charges), rates.minimum), rates.step or minor_unit(rates))
    return _coins(told, rates)


def minor_unit(rates: Rates) -> Decimal:
    """Return the currency's least coin as the currency table has it (0.01, or 1 for yen)."""
    return Decimal(1).scaleb(-get_currency_precision(rates.currency))


def quote(
    task: Task, lettering: Lettering, estimate: Estimate, rates: Rates, *, rush: bool = False, proof_changes: int = 0,
    quantity: int | None = None, nested: bool = False, opens: bool | None = None,
) -> Quote:  # fmt: skip
    """Price a piece at its order's quantity (or another). Raises `PriceError` where the rates make no sense.

    What an order takes once (words and proof, fixed fee, rush) is on its first piece only; `opens` says which that is,
    where the first is not made. nested: lids lie in a fixture. What the whole week shares is in no quote: see
    `shared_hand_seconds`.
    """
    count = task.order.quantity if quantity is None else quantity
    first = opens_order(task) if opens is None else opens
    once = order_hands(rates, proof_changes) if first else ()
    costs = costs_of(task, estimate, rates, once, nested)
    fixed_fee = rates.fixed_fee if first else Decimal(0)
    charges = lid_charges(task, lettering, rates)
    each = each_price(costs, count, charges, fixed_fee, rates)
    once_charged = (("rush", rates.rush),) if rush and first and rates.rush else ()
    price = _coins(each * count + total(once_charged), rates)
    hands = _hands(lid_hands(rates, nested), once, count)
    parts = _parts(costs, count, price, fixed_fee, rates)
    kept = dict(parts)["margin"] / count
    return Quote(
        quantity=count,
        currency=rates.currency,
        machine_seconds=estimate.seconds * count,
        hand_seconds=sum(s for _, s in hands),
        each_machine_seconds=estimate.seconds,
        each_hand_seconds=sum(s for _, s in hands) / count,
        hands=hands,
        parts=parts,
        charges=(*((name, amount * count) for name, amount in charges), *once_charged),
        cost=_coins(costs.of(count), rates),
        price=price,
        each=each,
        tax=_coins(price * rates.tax / (1 + rates.tax) if rates.tax_shown else price * rates.tax, rates),
        tax_shown=rates.tax_shown,
        given_away=_coins(costs.of(count) / count, rates),
        share_of_box=costs.of(count) / count / task.lid.price if task.lid.price else None,
        fixture_pays_at=fixture_pays_at(rates),
        bit_pays_at=_count(rates.bit_cost, kept),
        message=message(task, count, each, price, rates, once_charged[0][1] if once_charged else None),
    )


def _hands(lid: Parts, once: Parts, count: int) -> Parts:
    return (*((name, seconds * count) for name, seconds in lid), *once)


def _coins(amount: Decimal, rates: Rates) -> Decimal:
    return amount.quantize(minor_unit(rates), rounding=ROUND_HALF_EVEN)


def _parts(costs: Costs, count: int, price: Decimal, fixed_fee: Decimal, rates: Rates) -> Money:
    """Return what the price is made of, in coins; the margin is what is left, so that the parts add up exactly."""
    without_tax = price / (1 + rates.tax) if rates.tax_shown else price
    parts = [("machine", costs.machine * count)]
    parts += [(f"hands: {name}", amount * count) for name, amount in costs.lid_parts]
    parts += [(f"hands: {name}", amount) for name, amount in costs.order_parts]
    parts += [("spoilage", costs.spoilage * count), ("fees", rates.fee * price + fixed_fee)]
    if rates.tax_shown:
        parts.append(("tax", price - without_tax))
    whole = tuple((name, _coins(amount, rates)) for name, amount in parts)
    return (*whole, ("margin", price - total(whole)))


def fixture_pays_at(rates: Rates) -> int | None:
    """Return after how many lids the minutes saved by a nest have paid for the fixture; spoiled lids lie in it too."""
    saved = (rates.hands.loose - rates.hands.nest) * 60.0
    if saved <= 0:
        return None
    return _count(rates.fixture_cost, seconds_cost(saved, rates.hands_hour) / (1 - rates.spoilage))


def _count(cost: Decimal, gain: Decimal) -> int | None:
    """Return how many gains pay for a cost; None if they never do."""
    return int(rounded_up(cost / gain, Decimal(1))) if gain > 0 else None
