"""Minutes of hand work: a lid's, an order's, and what the week's lids share. Never mixed with machine minutes."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from engrave.shop.models import Rates
from engrave.tasks import Task

Parts = tuple[tuple[str, float], ...]
"""Seconds by what they are spent on."""

MINUTE = 60.0


def lid_hands(rates: Rates, nested: bool = False) -> Parts:
    """Return the seconds that one lid takes: placed and zeroed (in a nest or loose), and finished.

    Finishing is mask and peel, brush, check and pack.
    """
    hands = rates.hands
    place = ("place in nest", hands.nest) if nested else ("place and zero", hands.loose)
    return tuple((name, minutes * MINUTE) for name, minutes in (place, ("finish, check, pack", hands.finish)))


def order_hands(rates: Rates, proof_changes: int = 0, texts: int = 1) -> Parts:
    """Return the seconds that an order takes beside its lids: words and proof, and changes beyond the included ones.

    texts: how many different texts are set and proved in it.
    """
    beyond = max(0, proof_changes - rates.proof_changes_included)
    parts = [("words and proof", rates.hands.order * texts)]
    if beyond:
        parts.append(("proof changes", rates.hands.proof_change * beyond))
    return tuple((name, minutes * MINUTE) for name, minutes in parts)


def shared_hand_seconds(pieces: Iterable[tuple[Task, int]], rates: Rates, loads: int = 0) -> Parts:
    """Return the seconds that belong to the week as a whole: set-up, cutter changes, loads of a fixture.

    pieces: tasks that are made, with their quantities. The cutter that a machine begins with goes in with the week's
    set-up; each other one it needs is a change, with the work grouped by cutter. Nothing to make takes no hands.
    """
    used = {(task.tool.machine.id, task.tool.cutter.id) for task, _ in pieces}
    if not used:
        return ()
    changes = len(used) - len({machine for machine, _ in used})
    hands = rates.hands
    parts = (
        ("week set-up", hands.week),
        ("cutter changes", changes * hands.cutter_change),
        ("loads", loads * hands.load),
    )
    return tuple((name, minutes * MINUTE) for name, minutes in parts if minutes > 0.0)


def week_share(rates: Rates) -> Parts:
    """Return one lid's share of the week's set-up and cutter changes; nothing where the shop states no usual week.

    The rule: their minutes in a usual week, divided by the lids of a usual week. It is a share of cost only: what hands
    really do in a week stands in the week's totals.
    """
    if not rates.lids_a_week:
        return ()
    minutes = rates.hands.week + rates.cutter_changes_a_week * rates.hands.cutter_change
    return (("share of the week", minutes * MINUTE / rates.lids_a_week),)


def hands_cost(parts: Parts, rates: Rates) -> Decimal:
    """Return what hand seconds cost at the shop's rate."""
    return sum((seconds_cost(s, rates.hands_hour) for _, s in parts), Decimal(0))


def seconds_cost(seconds: float, hour: Decimal) -> Decimal:
    """Return what seconds cost at a rate an hour; taken to the millisecond, so that sums are the same anywhere."""
    return Decimal(round(seconds * 1000)) / 1000 * hour / 3600
