"""What the first page tells of the week as a whole: what stands in the way, the order of work, what belongs together.

A week of very many lids is told by its further pages, its bench lists and week.json: here stand as many as one reads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import groupby, islice
from typing import TYPE_CHECKING, Any

from engrave.output.bench_cautions import cautions
from engrave.output.numbers import bench_length, count, day, in_shop_units
from engrave.output.page.cards import Card
from engrave.units import duration
from engrave.week.totals import lids_of, progress

if TYPE_CHECKING:
    from engrave.findings import FindingCode
    from engrave.making import Piece
    from engrave.shop import Shop
    from engrave.week import Plan, Week
    from engrave.week.steps import Step

MOST_IN_THE_WAY = 300
"""Lids on hold or to be looked at that the head of the page tells: a day's work to answer."""

MOST_STEPS = 1_000
"""Lids named in the order of work: with the cards of its own lids the page stays under three megabytes."""

MOST_TOGETHER = 100
"""Matching sets, and orders with a lid on hold, that are told."""

OFTEN = 3
"""Lids from which on a note is told once for the week, with how many it concerns, instead of on each."""

WEEK_NOTES = {
    "groove-light": "{n} have a groove that is light for the height of their letters.",
    "crotch-fills": "On {n} a sharp inside corner fills a little: nothing breaks, it only looks blunter.",
}
"""What a note says of many lids at once; the first lid's own words stand behind it as an example."""

Linked = Callable[[int], Card]
"""Gives the card of an entry of the week, with where it stands."""


def week_as_a_whole(
    week: Week, shop: Shop, plan: Plan | None, outlines: Iterable[Card], linked: Linked
) -> Mapping[str, Any]:
    """Return what the first page tells beside its own lids. outlines: of every entry's card, gone through once."""
    by_verdict: dict[str, list[int]] = {"hold": [], "look": []}
    held_of: dict[str, list[int]] = {}
    for i, c in enumerate(outlines):
        if c.verdict in by_verdict:
            by_verdict[c.verdict].append(i)
        if c.verdict == "hold":
            held_of.setdefault(c.order, []).append(i)
    in_the_way = [*by_verdict["hold"], *by_verdict["look"]]
    unfinished = [(order, *parts) for order, parts in progress(week).items() if parts[1] > 1 and parts[0] < parts[1]]
    return {
        "attention": [linked(i) for i in in_the_way[:MOST_IN_THE_WAY]],
        "attention_more": _more(len(in_the_way) - MOST_IN_THE_WAY, "more piece"),
        "cautions": cautions(e.piece for e in week.entries),
        "notes": [replace(note, says=in_shop_units(note.says, shop)) for note in week.notes],
        "groups": _groups(week, linked, shop.proof.units),
        "plan": _plan(plan, week, linked, shop) if plan and plan.steps else None,
        "unfinished": [
            {
                "order": order,
                "says": f"{made} of {count(of, 'piece')} ready",
                "held": [linked(i) for i in held_of.get(order, ())],
            }
            for order, made, of in unfinished[:MOST_TOGETHER]
        ],
        "unfinished_more": _more(len(unfinished) - MOST_TOGETHER, "more such order"),
    }


def _more(rest: int, what: str) -> str:
    """Return how many are not told here, as words; '' if all are."""
    return count(rest, what) if rest > 0 else ""


def told_for_all(outlines: Iterable[Card], week: Week) -> tuple[list[str], frozenset[str]]:
    """Return what is told once for the week because many lids share it, and the codes that cards then leave out."""
    by_code: dict[FindingCode, list[int]] = {}
    examples: dict[FindingCode, str] = {}
    for i, c in enumerate(outlines):
        for note in c.notes:
            if note.code not in WEEK_NOTES:
                continue
            members = by_code.setdefault(note.code, [])
            examples.setdefault(note.code, f"{c.title}: {note.says}")
            if not members or members[-1] != i:
                members.append(i)
    often = {code: told for code, told in by_code.items() if len(told) >= OFTEN}
    says = []
    for code, told in often.items():
        many = count(lids_of(week.entries[i].piece for i in told).total(), "lid")
        says.append(f"{WEEK_NOTES[code].format(n=many)} Thus {examples[code]}")
    return says, frozenset(often)


def _groups(week: Week, linked: Linked, units: str) -> list[Mapping[str, Any]]:
    some = islice((group for group in week.matchings if len(group.members) > 1), MOST_TOGETHER)
    return [
        {
            "name": group.name,
            "cap": f"{_letters_of(week, group.members)} {bench_length(group.cap_mm, units, 1)}" if group.cap_mm else "",
            "members": [linked(i) for i in group.members],
            "limiting": linked(group.limited_by) if group.limited_by is not None else None,
        }
        for group in some
    ]


def _letters_of(week: Week, members: Sequence[int]) -> str:
    """Return what the size of matching pieces is told of: capitals, or letters where none of them has capitals."""
    laid = [it for i in members if (it := week.entries[i].piece.lettering) is not None]
    return "letters" if laid and all(it.size_is_of == "letters" for it in laid) else "capitals"


def _plan(plan: Plan, week: Week, linked: Linked, shop: Shop) -> Mapping[str, Any]:
    """Return the order of work as the page tells it: days, and in each the lids by the cutter that they need.

    more: lids that are not named here, as they come after the most that are.
    """
    by_day: dict[int, list[Step]] = {}
    for step in plan.steps[:MOST_STEPS]:
        by_day.setdefault(step.day, []).append(step)
    days = [
        {
            "title": day(d.on, shop.rates.locale) if d.on else f"Day {d.day + 1}",
            "machine": duration(d.machine_seconds),
            "hands": duration(d.hand_seconds),
            "runs": _runs([(week.entries[s.entry].piece, linked(s.entry), s.late) for s in by_day[d.day]]),
        }
        for d in plan.days
        if d.day in by_day
    ]
    changes = cutter_changes(plan)
    return {
        "days": days,
        "changes": changes[:1].upper() + changes[1:],
        "promises": promises(plan, week, shop),
        "more": _more(len(plan.steps) - MOST_STEPS, "further piece"),
    }


def cutter_changes(plan: Plan) -> str:
    """Return 'no cutter change', '1 cutter change', '2 cutter changes'."""
    return count(plan.cutter_changes, "cutter change") if plan.cutter_changes else "no cutter change"


def promises(plan: Plan, week: Week, shop: Shop) -> str:
    """Return in a sentence whether the promised days hold; '' if nothing is promised."""
    begin = day(plan.begin_by, shop.rates.locale) if plan.begin_by else ""
    if plan.late:
        late = f"{count(lids_of(week.entries[s.entry].piece for s in plan.late).total(), 'lid')} would be late"
        return f"{late}; for every promised day, work had to begin by {begin}." if begin else f"{late}."
    if any(s.late is not None for s in plan.steps):
        return "Every promised day holds."
    return f"Every promised day holds if work begins by {begin}." if begin and plan.days[-1].on is None else ""


def _cutter(piece: Piece) -> str:
    return piece.task.tool.cutter.title if piece.task else ""


def _runs(steps: Sequence[tuple[Piece, Card, int | None]]) -> list[tuple[str, str, list[tuple[Card, int]]]]:
    """Group steps that follow each other with one cutter: its title, how many lids, and the cards, each with days late."""
    runs = []
    for cutter, group in groupby(steps, key=lambda step: _cutter(step[0])):
        some = list(group)
        lids = count(lids_of(piece for piece, _, _ in some).total(), "lid")
        runs.append((cutter, lids, [(one, late or 0) for _, one, late in some]))
    return runs
