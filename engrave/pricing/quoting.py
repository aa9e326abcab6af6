"""Minutes to money: what a piece's lettering costs by part, and the price by the shop's rule."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal

from engrave.pricing.coins import cash_digits
from engrave.pricing.hands import Parts, lid_hands, order_hands, seconds_cost, week_share
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
    tax; they add up to `price`. by_channel: the price where the shop sells otherwise, by that place. charges: what the shop's list adds beside (extra lines, inside, rush); in the price.
    price, each: as the buyer is told them, with tax where the shop shows it; each is one lid without rush.
    cost: machine, hands and spoilage. given_away: what lettering one lid costs when nothing is asked for it;
    share_of_box: that as a share of the lid's price. fixture_pays_at, bit_pays_at: lids after which a fixture (by
    minutes saved) or a new bit (by margin) has paid for itself; None if never. has_bit: it is cut with a bit that can break. message: a line for the buyer.
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
    by_channel: Money = ()
    has_bit: bool = True


@dataclass(frozen=True, slots=True)
class Costs:
    """What lettering costs the shop before any price. machine, lid_parts: of one good lid; order_parts: once.

    spoilage: the lids spoiled for each good one, with all their minutes. wear: of the cutter, for one good lid.
    """

    machine: Decimal
    lid_parts: Money
    order_parts: Money
    spoilage: Decimal
    wear: Decimal = Decimal(0)

    @property
    def each(self) -> Decimal:
        """Cost of one lid more."""
        return self.machine + self.wear + total(self.lid_parts) + self.spoilage

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

    A spoiled lid costs the lid and all its minutes, machine and hands; words and proof are done once all the same, and
    so is the week's set-up, of which each good lid carries its share.
    """
    machine = seconds_cost(estimate.seconds, machine_rate(rates, task.tool.machine))
    wear = seconds_cost(estimate.seconds, _of_named(rates.wear_hour, task.tool.cutter.id, task.tool.cutter.kind))
    own = priced(each_hands(task, estimate, rates, nested), rates)
    spoiled = spoiled_for_each_good(rates.spoilage) * (task.lid.cost + machine + wear + total(own))
    shared = priced(week_share(rates), rates)
    return Costs(machine, (*own, *shared), priced(order_parts, rates), spoiled, wear)


def each_hands(task: Task, estimate: Estimate, rates: Rates, nested: bool = False) -> Parts:
    """Return the hands' seconds for one lid, with those spent beside a machine that is not left alone."""
    attended = _of_named(rates.attended, task.tool.machine.id, task.tool.machine.kind)
    beside = (("at the machine", estimate.seconds * float(attended)),) if attended else ()
    return (*lid_hands(rates, nested), *beside)


def _of_named(amounts: Mapping[str, Decimal], *names: str) -> Decimal:
    """Return the first name's amount that the table has: a thing's own, else its kind's; 0 if neither."""
    return next((amounts[name] for name in names if name in amounts), Decimal(0))


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

    The order's own minutes and the fixed fee are spread over its lids; from so many lids on, the shop's share for sets
    is taken off. Charges, minimum and step are in the prices
    that the buyer is told, with tax or without.
    """
    tax = rates.tax if rates.tax_shown else Decimal(0)
    by_rule = price_for(costs.of(quantity), rates.margin, rates.fee, fixed_fee, tax) * (1 + tax) / quantity
    off = max((share for lids, share in rates.set_discounts if quantity >= lids), default=Decimal(0))
    asked = (by_rule + total(charges)) * (1 - off)
    told = rounded_up(max(asked, rates.minimum), rates.step or minor_unit(rates))
    return _coins(told, rates)


def minor_unit(rates: Rates) -> Decimal:
    """Return the least coin that is handed over: 0.01 euro, 1 yen, 1 forint."""
    return Decimal(1).scaleb(-cash_digits(rates.currency))


def quote(
    task: Task, lettering: Lettering, estimate: Estimate, rates: Rates, *, rush: bool = False, proof_changes: int = 0,
    quantity: int | None = None, nested: bool = False, opens: bool | None = None, gift: bool = False,
) -> Quote:  # fmt: skip
    """Price a piece at its order's quantity (or another). Raises `PriceError` where the rates make no sense.

    What an order takes once (words and proof, fixed fee, rush) is on its first piece only; `opens` says which that is,
    where the first is not made. nested: lids lie in a fixture. gift: a message by hand goes into the parcel. What the whole week shares is in no quote: see
    `shared_hand_seconds`.
    """
    count = task.order.quantity if quantity is None else quantity
    first = opens_order(task) if opens is None else opens
    once = order_hands(rates, proof_changes) if first else ()
    costs = costs_of(task, estimate, rates, once, nested)
    fixed_fee = rates.fixed_fee if first else Decimal(0)
    charges = lid_charges(task, lettering, rates)
    each = each_price(costs, count, charges, fixed_fee, rates)
    once_charged = _once_charged(rates, rush and first, gift and first)
    price = _coins(each * count + total(once_charged), rates)
    hands = _hands(each_hands(task, estimate, rates, nested), once, count)
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
        bit_pays_at=None if task.tool.cutter.is_beam else _count(rates.bit_cost, kept),
        has_bit=not task.tool.cutter.is_beam,
        message=message(task, count, each, price, rates, dict(once_charged).get("rush")),
        by_channel=_by_channel(costs, count, charges, once_charged, rates, first),
    )


def _once_charged(rates: Rates, rush: bool, gift: bool) -> Money:
    every = (("rush", rates.rush, rush), ("gift message", rates.gift_message, gift))
    return tuple((name, amount) for name, amount, asked in every if asked and amount)


def _by_channel(costs: Costs, count: int, charges: Money, once: Money, rates: Rates, first: bool) -> Money:
    """Return what the same would be priced at in each of the shop's other places of sale."""
    told = []
    for name, channel in rates.channels.items():
        there = replace(rates, fee=channel.fee, fixed_fee=channel.fixed_fee)
        each = each_price(costs, count, charges, channel.fixed_fee if first else Decimal(0), there)
        told.append((name, _coins(each * count + total(once), rates)))
    return tuple(told)


def with_order_minimum(quotes: Sequence[Quote], rates: Rates) -> tuple[Quote, ...]:
    """Return the quotes of one order's pieces, the first raised by what they lack together of the shop's least order."""
    lacks = rates.minimum_order - sum((q.price for q in quotes), Decimal(0))
    if not quotes or lacks <= 0:
        return tuple(quotes)
    first = quotes[0]
    parts = tuple((name, amount + lacks if name == "margin" else amount) for name, amount in first.parts)
    raised = replace(
        first, price=first.price + lacks, parts=parts, charges=(*first.charges, ("to the least order", lacks))
    )
    return (raised, *quotes[1:])


def _hands(lid: Parts, once: Parts, count: int) -> Parts:
    return (*((name, seconds * count) for name, seconds in lid), *once)


def _coins(amount: Decimal, rates: Rates) -> Decimal:
    return amount.quantize(minor_unit(rates), rounding=ROUND_HALF_EVEN)


def _parts(costs: Costs, count: int, price: Decimal, fixed_fee: Decimal, rates: Rates) -> Money:
    """Return what the price is made of, in coins; the margin is what is left, so that the parts add up exactly."""
    without_tax = price / (1 + rates.tax) if rates.tax_shown else price
    parts = [("machine", costs.machine * count)]
    if costs.wear:
        parts.append(("wear", costs.wear * count))
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
