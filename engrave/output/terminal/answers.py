"""Answers for people at the command line: the verdict first, a line for each thing asked, then what would help."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeVar

from engrave.advising import letters_told, nothing_helps
from engrave.findings import helped_by
from engrave.output.letter_forms import forms_asked, letters_high
from engrave.output.numbers import between, count, cupped, in_shop_units, money
from engrave.output.week_tables import amount, entry
from engrave.problems import Problem, held
from engrave.shop.models import Shop
from engrave.tasks.choosing import midway
from engrave.units import duration

if TYPE_CHECKING:
    from engrave.advising import Remedy
    from engrave.making import Piece
    from engrave.pricing import Ladder, Quote
    from engrave.setting import Why
    from engrave.week import Entry, Week

ROOM_CODES = helped_by("size")


def tried(entries: Sequence[Entry], shop: Shop, fixed: Remedy | None = None, reasons: Sequence[Why] = ()) -> str:
    """Return the answer to 'does it fit?': fits, can be cut, time, price, a line each; then problems and remedies."""
    lines = [f"Changed, as the first remedy says: {in_shop_units(fixed.says, shop)}.", ""] if fixed else []
    for i, one in enumerate(entries):
        if i:
            lines.append("")
        lines += _answer(one, shop)
    for reason in reasons:
        lines += _why(reason, shop)
    return "\n".join(lines)


def _why(reason: Why, shop: Shop) -> list[str]:
    """Return why the size is what it is, and the next best line breaks with their sizes."""
    others = [f"  or {in_shop_units(f'{r.cap_mm:.1f} mm', shop)}: {' / '.join(r.lines)}" for r in reason.runners_up]
    return ["", f"Why this size: {in_shop_units(reason.says, shop)}", *others]


def answered(entries: Sequence[Entry], shop: Shop) -> str:
    """Return the answer alone, before anything that would help is sought."""
    return "\n\n".join("\n".join(_found(one.piece, shop)) for one in entries)


def advice(before: Sequence[Entry], after: Sequence[Entry], shop: Shop, reasons: Sequence[Why] = ()) -> str:
    """Return what came to be known after the answer: notes on time, what would help, and why the size; '' if nothing."""
    lines: list[str] = []
    for first, one in zip(before, after, strict=True):
        new = [p for p in one.piece.problems if p not in first.piece.problems]
        told = [*_problems(new, shop), *_helping(one, shop)]
        where = one.piece.task.area.name if one.piece.task is not None else "this lid"
        lines += [f"For {where}:", *told] if told and len(after) > 1 else told
    for reason in reasons:
        lines += _why(reason, shop)
    return "\n".join(lines)


def _answer(one: Entry, shop: Shop) -> list[str]:
    return [*_found(one.piece, shop), *_helping(one, shop)]


def _found(piece: Piece, shop: Shop) -> list[str]:
    return [
        _fits(piece, shop),
        *(in_shop_units(line, shop) for line in _cuts(piece)),
        *_time(piece),
        *_price(piece, shop),
        *_problems(piece.problems, shop),
    ]


def _problems(problems: Iterable[Problem], shop: Shop) -> list[str]:
    return [
        f"{p.level.capitalize()}: {in_shop_units(p.says, shop)}{f' ({p.where})' if p.where and p.where not in p.says else ''}"
        for p in problems
    ]


def _helping(one: Entry, shop: Shop) -> list[str]:
    """Return what would help a piece, and how many letters of words that lack room would fit."""
    lines = [letters] if (letters := letters_told(one.letters)) else []
    if one.remedies:
        lines += [
            "What would help:",
            *(f"  {n}. {in_shop_units(r.says, shop)}." for n, r in enumerate(one.remedies, 1)),
        ]
    elif none := nothing_helps(one.piece, one.remedies):
        lines.append(in_shop_units(none, shop))
    return lines


def _fits(piece: Piece, shop: Shop) -> str:
    task, set_ = piece.task, piece.lettering
    if piece.plain:
        return "A plain lid: nothing to letter."
    if task is None:
        return "Cannot be tried: the order is not complete."
    where = task.lid.title if len(task.lid.areas) == 1 else f"{task.lid.title}, {task.area.name}"
    if set_ is None or not set_.marks:
        return f"Does not fit: {where} ({task.lid.id})."
    fits = "Does not fit well" if any(p.code in ROOM_CODES and p.level == "hold" for p in piece.problems) else "Fits"
    if not set_.lines:
        return f"{fits}: {where} ({task.lid.id}); the drawing alone"
    broken = " / ".join(line.text for line in set_.lines)
    high = in_shop_units(f"{set_.size_is_of} {letters_high(set_, 0):.1f} mm high", shop)
    told = ", ".join((high, *forms_asked([piece]), count(len(set_.lines), "line")))
    return f"{fits}: {where} ({task.lid.id}); {told}: {broken}"


def _cuts(piece: Piece) -> list[str]:
    task, fitness = piece.task, piece.fitness
    if task is None or fitness is None:
        return []
    bad = [p for p in fitness.problems if p.level == "hold"]
    word = "No" if bad else "Yes"
    sizes = []
    if fitness.stroke is not None:
        sizes.append(
            f"thinnest stroke {fitness.stroke.width:.2f} mm at '{fitness.stroke.text}'{cupped(fitness.as_it_cups)}"
        )
    if fitness.web is not None:
        sizes.append(f"thinnest web {fitness.web.width:.2f} mm at '{fitness.web.text}'")
    tool = task.tool
    with_what = f"{tool.cutter.title} ({tool.method}, {tool.depth:.2g} mm deep) in {midway(task.wood.title)}"
    return [f"Can be cut: {word}, {with_what}; {', '.join(sizes) or 'no strokes to measure'}"]


def _time(piece: Piece) -> list[str]:
    if piece.estimate is None:
        return []
    low, high = piece.estimate.seconds_range
    hands = f"; hands {duration(piece.quote.each_hand_seconds)}" if piece.quote else ""
    return [f"Time: machine {duration(piece.estimate.seconds)} ({between(low, high)}){hands}"]


def _price(piece: Piece, shop: Shop) -> list[str]:
    if piece.quote is None:
        return []
    told = money(piece.quote.price, piece.quote.currency, shop.rates.locale)
    many = f" for {piece.quote.quantity}" if piece.quote.quantity > 1 else ""
    held_back = ", when it is no longer on hold" if held(piece.problems) else ""
    return [f"Price: {told}{many}{held_back}"]


def as_json(entries: Sequence[Entry], fixed: Remedy | None = None, reasons: Sequence[Why] = ()) -> dict[str, Any]:
    """Return the entry as in week.json; `areas` holds those of a lid's further areas."""
    every = [entry(e.piece, e.remedies, code=e.code, letters=e.letters) for e in entries]
    told = {**every[0], "areas": every[1:]}
    if fixed is not None:
        told["fixed"] = {"change": dict(fixed.change), "says": fixed.says}
    if reasons:
        told["why"] = [
            {
                "says": r.says,
                "limit": r.limit,
                "touches": [
                    {"letter": t.letter, "line": t.line, "what": t.what, "x": round(t.x, 3), "y": round(t.y, 3)}
                    for t in r.touches
                ],
                "runners_up": [{"lines": list(u.lines), "cap_mm": round(u.cap_mm, 3)} for u in r.runners_up],
            }
            for r in reasons
        ]
    return told


def quote_lines(quote: Quote, ladder: Ladder, shop: Shop) -> list[str]:
    """Return a quote by part, the ladder of quantities, and the line for the buyer."""

    def told(value: Decimal) -> str:
        return money(value, quote.currency, shop.rates.locale)

    seconds = {"machine": quote.machine_seconds, **{f"hands: {name}": s for name, s in quote.hands}}
    rows = [(name, duration(seconds[name]) if name in seconds else "", told(value)) for name, value in quote.parts]
    least = ", each the shop's least" if quote.each == shop.rates.minimum and not quote.charges else ""
    rows.append((f"price{least}", "", told(quote.price)))
    rows += [(f"  of it {name}", "", told(value)) for name, value in quote.charges]
    rows += [("plus tax", "", told(quote.tax))] if quote.tax and not quote.tax_shown else []
    rows.append(("cost to the shop", "", told(quote.cost)))
    wide, middle, right = (max(len(row[i]) for row in rows) for i in range(3))
    lines = [f"  {a:<{wide}}  {b:>{middle}}  {c:>{right}}" for a, b, c in rows]
    share = f", {100 * quote.share_of_box:.0f} % of the box's price" if quote.share_of_box is not None else ""
    lines.append(f"Included in the box's price it would cost you {told(quote.given_away)} a box{share}.")
    things = [("A fixture", quote.fixture_pays_at), *([("A new bit", quote.bit_pays_at)] if quote.has_bit else [])]
    for name, at in things:
        lines.append(f"{name} pays for itself after {count(at, 'lid')}." if at else f"{name} never pays for itself.")
    lines.append("Each, by quantity (the same words / different names):")
    lines += [f"  {r.quantity:>3}:  {told(r.same_each)} / {told(r.different_each)}" for r in ladder.rungs]
    lines += [f"Sold through {name}: {told(value)}" for name, value in quote.by_channel]
    return [*lines, "Postage is in none of these.", f"For the buyer: {quote.message}"]


def quote_json(quote: Quote, ladder: Ladder) -> dict[str, Any]:
    """Return a quote as plain values, money as strings."""
    return {
        "quantity": quote.quantity,
        "currency": quote.currency,
        "machine_seconds": round(quote.machine_seconds, 1),
        "hand_seconds": round(quote.hand_seconds, 1),
        "hands": {name: round(s, 1) for name, s in quote.hands},
        "parts": {name: amount(v) for name, v in quote.parts},
        "charges": {name: amount(v) for name, v in quote.charges},
        "cost": amount(quote.cost),
        "price": amount(quote.price),
        "each": amount(quote.each),
        "tax": amount(quote.tax),
        "tax_shown": quote.tax_shown,
        "given_away": amount(quote.given_away),
        "share_of_box": round(float(quote.share_of_box), 4) if quote.share_of_box is not None else None,
        "fixture_pays_at": quote.fixture_pays_at,
        "bit_pays_at": quote.bit_pays_at,
        "ladder": [
            {"quantity": r.quantity, "same_each": amount(r.same_each), "different_each": amount(r.different_each)}
            for r in ladder.rungs
        ],
        "by_channel": {name: amount(v) for name, v in quote.by_channel},
        "message": quote.message,
    }  # fmt: skip


def words_quote(entries: Sequence[Entry], quotes: Sequence[Quote], ladders: Sequence[Ladder], shop: Shop) -> str:
    """Return the quotes of one text's areas, and their sum; where one cannot be made, the answer says why."""
    if not quotes:
        return tried(entries, shop)
    lines: list[str] = []
    for quote, ladder in zip(quotes, ladders, strict=True):
        lines += ["", *quote_lines(quote, ladder, shop)] if lines else quote_lines(quote, ladder, shop)
    if len(quotes) > 1:
        total = sum((q.price for q in quotes), Decimal(0))
        lines += ["", f"In all, {len(quotes)} areas: {money(total, quotes[0].currency, shop.rates.locale)}"]
    on_hold = [e for e in entries if held(e.piece.problems)]
    if on_hold:
        lines += ["", "Not in this, as it is on hold:", tried(on_hold, shop)]
    return "\n".join(lines)


def words_quote_json(
    entries: Sequence[Entry], quotes: Sequence[Quote], ladders: Sequence[Ladder]
) -> list[dict[str, Any]]:
    """Return the quotes as plain values; for an area on hold its entry as in week.json, which says why."""
    on_hold = [entry(e.piece, e.remedies, code=e.code, letters=e.letters) for e in entries if held(e.piece.problems)]
    return [*(quote_json(q, la) for q, la in zip(quotes, ladders, strict=True)), *on_hold]


def week_quote_json(week: Week) -> dict[str, Any]:
    """Return a week's quotes as plain values: the totals, and a row a piece."""
    t = week.totals
    return {
        "totals": {
            "pieces": t.pieces, "ready": t.ready, "look": t.look, "hold": t.hold,
            "machine_seconds": round(t.machine_seconds, 1), "hand_seconds": round(t.hand_seconds, 1),
            "price": amount(t.price),
        },
        "shared": {"hand_seconds": round(sum(s for _, s in week.shared), 1)},
        "hands": {
            name: round(s, 1)
            for name, s in summed(
                (name, s)
                for part in (
                    *(e.piece.quote.hands for e in week.entries if e.piece.quote and not held(e.piece.problems)),
                    week.shared,
                )
                for name, s in part
            ).items()
        },
        "pieces": [
            {
                "order": e.piece.order.id, "piece": e.piece.piece, "verdict": e.piece.verdict,
                "parts": {name: amount(v) for name, v in e.piece.quote.parts} if e.piece.quote else None,
                "price": amount(e.piece.quote.price) if e.piece.quote else None,
            }
            for e in week.entries
        ],
    }  # fmt: skip


def week_quote(week: Week, shop: Shop) -> str:
    """Return a week's prices, a line a piece, and the sums by part."""
    currency, locale = shop.rates.currency, shop.rates.locale
    rows = [["order", "piece", "words", "machine", "hands", "price", "verdict"]]
    for one in week.entries:
        p = one.piece
        words = " / ".join(w for _, w in p.order.words.filled()).replace("\n", " ")
        words = words if len(words) <= 34 else words[:33] + "…"
        machine = duration(p.quote.machine_seconds) if p.quote else "-"
        hands = duration(p.quote.hand_seconds) if p.quote else "-"
        price = money(p.quote.price, currency, locale) if p.quote else "-"
        rows.append([p.order.id, str(p.piece), words, machine, hands, price, p.verdict])
    t = week.totals
    shared = sum(s for _, s in week.shared)
    quotes = [e.piece.quote for e in week.entries if e.piece.quote is not None and not held(e.piece.problems)]
    parts = summed((name, value) for q in quotes for name, value in q.parts)
    by_hand = summed((name, s) for part in (*(q.hands for q in quotes), week.shared) for name, s in part)
    return "\n".join(
        [
            *columns(rows),
            "",
            f"{count(t.pieces, 'piece')}: {t.ready} ready, {t.look} to look at, {t.hold} on hold (not in the sums)",
            f"Machine {duration(t.machine_seconds)}; hands {duration(t.hand_seconds)}, "
            f"and {duration(shared)} for the week as a whole",
            "Hands by part: " + "; ".join(f"{name} {duration(s)}" for name, s in by_hand.items()),
            "By part: " + "; ".join(f"{name} {money(v, currency, locale)}" for name, v in parts.items()),
            f"Price {money(t.price, currency, locale)}",
            *_included(quotes, shop),
        ]
    )


def _included(quotes: Sequence[Quote], shop: Shop) -> list[str]:
    """Return what lettering would cost the shop a box, on average, if nothing were asked for it."""
    boxes = sum(q.quantity for q in quotes)
    if not boxes:
        return []
    cost = sum((q.given_away * q.quantity for q in quotes), Decimal(0)) / boxes
    priced = [q for q in quotes if q.share_of_box is not None]
    count_of = sum(q.quantity for q in priced)
    share = sum(float(q.share_of_box or 0) * q.quantity for q in priced) / count_of if count_of else None
    told = f", {100 * share:.0f} % of a box's price" if share is not None else ""
    each = money(cost, shop.rates.currency, shop.rates.locale)
    return [f"Included in the boxes' prices it would cost you {each} a lid on average{told}"]


T = TypeVar("T", float, Decimal)


def summed(parts: Iterable[tuple[str, T]]) -> dict[str, T]:
    """Return the sums by name, in the order in which the names first appear."""
    sums: dict[str, T] = {}
    for name, value in parts:
        sums[name] = sums[name] + value if name in sums else value
    return sums


def columns(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows of text with their columns in line."""
    widths = [max(len(r[i]) for r in rows) for i in range(len(rows[0]))]
    return ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows]


def table(rows: Sequence[dict[str, Any]]) -> str:
    """Return rows of plain values as a table for a terminal; None is a dash."""
    if not rows:
        return "(nothing)"
    heads = list(rows[0])
    body = [["-" if row[h] in (None, "", []) else _cell(row[h]) for h in heads] for row in rows]
    return "\n".join(columns([heads, *body]))


def _cell(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, list | tuple):
        return ", ".join(_cell(v) for v in value)
    return str(value)
