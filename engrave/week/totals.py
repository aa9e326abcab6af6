"""What a week comes to: counts, minutes, money, and the groups that share a size."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from engrave.making import Piece
from engrave.pricing import Recut, quote, recut_of, shared_hand_seconds, sum_of, with_order_minimum
from engrave.pricing.recut import NONE
from engrave.problems import Problem, Verdict, held
from engrave.shop import Rates
from engrave.week.group import Entry

GRAVEST_FIRST: tuple[Verdict, ...] = ("hold", "look", "waiting", "ready")


@dataclass(frozen=True, slots=True)
class Matching:
    """Pieces that share one size. members: indices into the week's entries; limited_by: the one that sets the size."""

    name: str
    members: tuple[int, ...]
    cap_mm: float
    limited_by: int | None


@dataclass(frozen=True, slots=True)
class Totals:
    """What the week comes to; pieces on hold are counted but not in the sums. Seconds; price in the shop's money.

    recut: lids cut again, which are in no other sum.
    """

    orders: int
    pieces: int
    ready: int
    look: int
    hold: int
    waiting: int
    machine_seconds: float
    hand_seconds: float
    price: Decimal
    air_saved_seconds: float
    recut: Recut = NONE


@dataclass(frozen=True, slots=True)
class Week:
    """All entries in the order of the table, the groups, the totals, the hands' seconds that belong to the week as a
    whole (by part), and the notes on the table."""

    entries: Sequence[Entry]
    matchings: tuple[Matching, ...]
    totals: Totals
    shared: tuple[tuple[str, float], ...]
    notes: tuple[Problem, ...] = ()


def assemble(entries: Iterable[Entry], rates: Rates, notes: tuple[Problem, ...] = ()) -> Week:
    """Put the entries of a week together, name each group's limiting member, and sum up."""
    return sum_up(finish(entries, rates), rates, notes)


def finish(entries: Iterable[Entry], rates: Rates) -> tuple[Entry, ...]:
    """Tell pieces what they are to one another: which carries its order's costs, and which sets its group's size.

    entries: all that have a say in one another (see `belonging`), in the order of the table.
    """
    every = _opened(list(entries), rates)
    for group in _matchings(every):
        for i in group.members:
            every[i] = _told(every[i], group, every)
    return tuple(every)


def sum_up(entries: Sequence[Entry], rates: Rates, notes: tuple[Problem, ...] = ()) -> Week:
    """Return the week of finished entries, made or remembered."""
    made = (e.piece for e in entries if e.piece.is_made)
    shared = shared_hand_seconds(((p.task, p.order.quantity) for p in made if p.task is not None), rates)
    return Week(entries, _matchings(entries), _totals(entries), shared, notes)


def _opened(entries: list[Entry], rates: Rates) -> list[Entry]:
    """Let the first piece of each order that is made carry what the order takes once: its words, proof and fixed fee.

    Each piece was quoted alone, as if the first were made; if that is on hold or a plain lid, the next one carries it,
    and what the order lacks of the shop's least.
    """
    by_order: dict[str, list[int]] = {}
    for i, entry in enumerate(entries):
        piece = entry.piece
        if not piece.is_made or piece.task is None or piece.lettering is None or piece.estimate is None:
            continue
        opens = piece.order.id not in by_order
        by_order.setdefault(piece.order.id, []).append(i)
        told = quote(piece.task, piece.lettering, piece.estimate, rates, opens=opens)
        again = recut_of(piece.task, piece.estimate, rates) if piece.order.recut else NONE
        entries[i] = replace(entry, piece=replace(piece, quote=told), recut=again)
    for members in by_order.values():
        quotes = [one for i in members if (one := entries[i].piece.quote) is not None]
        for i, raised in zip(members, with_order_minimum(quotes, rates), strict=True):
            entries[i] = replace(entries[i], piece=replace(entries[i].piece, quote=raised))
    return entries


def _matchings(entries: Sequence[Entry]) -> tuple[Matching, ...]:
    by_name: dict[str, list[int]] = {}
    for i, entry in enumerate(entries):
        drawing_alone = entry.piece.task is not None and not entry.piece.task.words.filled()
        if entry.piece.order.matching and not entry.piece.plain and not drawing_alone:
            by_name.setdefault(entry.piece.order.matching, []).append(i)
    found = []
    for name, members in by_name.items():
        cut = [i for i in members if entries[i].piece.is_made] or members  # what is on hold binds nobody
        alone = {i: cap for i in cut if (cap := entries[i].alone_mm) is not None}
        caps = {i: p.lettering.cap_mm for i in cut if (p := entries[i].piece).lettering and p.is_laid}
        leading = [i for i in caps if entries[i].leads]
        limiting = min(alone, key=lambda i: alone[i]) if len(alone) > 1 else None
        if leading and len(caps) > 1:
            limiting = min(leading, key=lambda i: caps[i])
        size = min((caps[i] for i in leading or caps), default=0.0)
        if limiting is not None and not leading and size > alone[limiting] * (1 + 1e-6):
            limiting = None  # larger than its smallest alone, as others would be too thin: nobody sets that size
        found.append(Matching(name, tuple(members), size, limiting))
    return tuple(found)


def _told(entry: Entry, group: Matching, entries: Sequence[Entry]) -> Entry:
    """Say on each member which one sets the size, and what this one gave up for it."""
    if group.limited_by is None or entry.alone_mm is None or "matching-apart" in entry.piece.serious:
        return entry
    limiting = entries[group.limited_by].piece.order
    name = " ".join(limiting.words.name.split()) or limiting.id
    proved = ", as it was proved" if entries[group.limited_by].leads else ""
    says = f"One size with its matching pieces '{group.name}': {name} ({limiting.id}) sets it{proved}."
    if entry.alone_mm > 1.02 * group.cap_mm:
        says += f" Alone it could be {entry.alone_mm:.1f} mm high."
    told = Problem("matching-size", "note", says, value=round(group.cap_mm, 3))
    return entry.with_problems(told)


def _totals(entries: Iterable[Entry]) -> Totals:
    """Sum up in one pass; holds are counted but add nothing, plain lids count as ready and cost no engraving."""
    orders: set[str] = set()
    verdicts: Counter[Verdict] = Counter()
    machine_seconds, hand_seconds, air_saved, price, recut = 0.0, 0.0, 0.0, Decimal(0), NONE
    for entry in entries:
        piece = entry.piece
        orders.add(piece.order.id)
        verdicts[piece.verdict] += 1
        recut = sum_of((recut, entry.recut))
        if held(piece.problems):
            continue
        if piece.quote:
            machine_seconds += piece.quote.machine_seconds
            hand_seconds += piece.quote.hand_seconds
            price += piece.quote.price
        air_saved += piece.estimate.air_saved * piece.order.quantity if piece.estimate else 0.0
    return Totals(
        orders=len(orders),
        pieces=verdicts.total(),
        ready=verdicts["ready"],
        look=verdicts["look"],
        hold=verdicts["hold"],
        waiting=verdicts["waiting"],
        machine_seconds=machine_seconds,
        hand_seconds=hand_seconds,
        price=price,
        air_saved_seconds=air_saved,
        recut=recut,
    )


def lids_of(pieces: Iterable[Piece]) -> Counter[Verdict]:
    """Return how many lids pieces are, by verdict: as many as were ordered, one a lid whatever its areas with words.

    A lid with two areas has the graver verdict of the two. Lids cut again are not counted.
    """
    worst: dict[tuple[str, int], tuple[int, int]] = {}
    for piece in pieces:
        lid = (piece.order.id, piece.order.row)
        grave = GRAVEST_FIRST.index(piece.verdict)
        worst[lid] = (min(grave, worst.get(lid, (grave, 0))[0]), piece.order.quantity)
    found: Counter[Verdict] = Counter()
    for grave, quantity in worst.values():
        found[GRAVEST_FIRST[grave]] += quantity
    return found


def progress(week: Week) -> dict[str, tuple[int, int]]:
    """Return for each order id how many of its pieces are not on hold, and how many it has: '3 of 4 pieces ready'."""
    counts: dict[str, tuple[int, int]] = {}
    for entry in week.entries:
        done, total = counts.get(entry.piece.order.id, (0, 0))
        counts[entry.piece.order.id] = (done + (not held(entry.piece.problems)), total + 1)
    return counts
