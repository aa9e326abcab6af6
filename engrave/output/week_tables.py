"""week.json and week.csv: a week as machines and spreadsheets read it. The shape is a promise to a shop's scripts."""

from __future__ import annotations

import csv
import io
import json
import re
from array import array
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby
from textwrap import indent
from typing import TYPE_CHECKING, Any

from engrave.motion.planner import PARTS
from engrave.output.numbers import rounded
from engrave.output.svg.compound_paths import compounds
from engrave.output.writing import MADE_WITH
from engrave.pricing import Recut

if TYPE_CHECKING:
    from engrave.advising import Remedy
    from engrave.advising.word_lengths import LettersFit
    from engrave.cutting.fitness import Spot
    from engrave.intake.order import Order
    from engrave.making import Piece
    from engrave.problems import Problem
    from engrave.toolpath import Toolpath
    from engrave.week import Plan, Week
    from engrave.week.steps import Step

SCHEMA = 1
MM_DECIMALS, SECOND_DECIMALS, PATH_CAP = 3, 1, 6
"""Decimals in the tables: a micrometre, a tenth of a second, and of cap heights from which times are worked out again."""

SPENT = (*PARTS, "spin-up", "dwell", "beam", "starts", "fixed")
"""All that a machine's seconds are spent on: moving, and what is lost beside it (see `Estimate.parts`)."""

COUNTED = ("rows", "rings")
"""What of a toolpath's facts is counted in the tables: a beam's sweeps, a pocket's rings."""

FORMULA = "=+\\-@\uff1d\uff0b\uff0d\uff20\ufe66\ufe62\ufe63\ufe6b"
"""Signs by which a spreadsheet takes a cell for a formula (OWASP, 'CSV Injection'), their full-width and small forms too
(Unicode Standard, blocks Halfwidth and Fullwidth Forms, Small Form Variants), which some read as the plain ones."""

_SEPARATES = ",;|\t\r\n"
_PASSED = _SEPARATES + r"\s\"\u200b\u2060\ufeff"
_SIGNED = re.compile(rf"(?<![{_PASSED}])(?P<before>[{_PASSED}]++)(?P<sign>[{FORMULA}])")
"""A sign behind spaces, quotation marks and separators; each run of those is looked at once."""
_BEGINS = re.compile(rf"[\t\r\n]|[{_PASSED}]*+[{FORMULA}]")


def entry(
    piece: Piece,
    remedies: Sequence[Remedy] = (),
    svg: str | None = None,
    proof: str | None = None,
    outline: str | None = None,
    sign: str = "",
    recut: Recut | None = None,
    code: str | None = None,
    letters: Sequence[LettersFit] = (),
) -> dict[str, Any]:
    """Return one piece as week.json tells it; every field is there, null where it does not apply.

    svg, proof, outline: paths within the week's folder, for a piece that was written. sign: what accepts
    its looks in the column checked. code: of its order's proof. letters: how many would fit of words that lack room.
    """
    return {**_ordered(piece), **_found(piece, remedies, letters), **_measured(piece), **_times(piece),
            "svg": svg, "outline": outline, "proof": proof, "proof_code": code, "sign": sign or None,
            "recut": _again(piece, recut or Recut(piece.order.recut)) if piece.order.recut else None,
            "plan": None}  # fmt: skip


class Planned:
    """What stands under `plan` in week.json. pieces: how many entries the week has."""

    def __init__(self, plan: Plan, pieces: int) -> None:
        self._steps, self._places = plan.steps, array("q", [0]) * pieces
        for place, step in enumerate(plan.steps, 1):
            self._places[step.entry] = place

    def of(self, entry: int) -> dict[str, Any] | None:
        """Return it of an entry, by its place in the table; None of what is not cut, which is in no plan."""
        place = self._places[entry]
        return _step(place, self._steps[place - 1]) if place else None


def _step(place: int, step: Step) -> dict[str, Any]:
    """Return where a piece stands in the order of work. days_late: null where nothing is promised, or no start is known."""
    on = step.on.isoformat() if step.on else None
    return {"place": place, "day": step.day + 1, "date": on, "days_late": step.late}


def _ordered(piece: Piece) -> dict[str, Any]:
    order, task = piece.order, piece.task
    received = order.received
    return {
        "order": order.id,
        "piece": piece.piece,
        "row": order.row or None,
        "lid": task.lid.id if task else order.lid or None,
        "area": task.area.name if task else None,
        "name": received.name or None,
        "message": received.message or None,
        "foot": received.foot or None,
        "typeface": task.typefaces[0][1] if task and task.typefaces else order.typeface or None,
        "cutter": task.tool.cutter.id if task else order.cutter or None,
        "machine": task.tool.machine.id if task else None,
        "wood": task.wood.id if task else order.wood or None,
        "method": task.tool.method if task else None,
        "setting": _setting(piece),
        "spacing": order.spacing or None,
        "thicken": order.thicken or None,
        "letter_features": order.letter_features or None,
        "lettering_size": order.lettering_size or None,
        "line_weight": order.line_weight or None,
        "depth": order.depth or None,
        "artwork": order.artwork or None,
        "quantity": order.quantity,
        "matching": order.matching or None,
        "due": order.due or None,
    }


def _setting(piece: Piece) -> str | None:
    if piece.lettering is not None and piece.lettering.setting:
        return piece.lettering.setting
    return piece.task.setting.id if piece.task else piece.order.setting or None


def _problem(found: Problem) -> dict[str, Any]:
    """Return a finding; of a fault of ours also what a programmer needs of it."""
    told: dict[str, Any] = {"code": found.code, "level": found.level, "says": found.says, "where": found.where or None}
    return {**told, "fault": found.value} if found.code == "failed" else told


def _found(piece: Piece, remedies: Sequence[Remedy], letters: Sequence[LettersFit]) -> dict[str, Any]:
    return {
        "verdict": piece.verdict,
        "problems": [_problem(p) for p in piece.problems],
        "remedies": [{"change": dict(r.change), "says": r.says, "leaves": list(r.leaves)} for r in remedies],
        "letters_that_fit": {face: count for face, _, count in letters} or None,
        "changes": list(piece.order.changes),
    }


def _measured(piece: Piece) -> dict[str, Any]:
    set_, fitness, task, toolpath = piece.lettering, piece.fitness, piece.task, piece.toolpath
    lines = set_.lines if set_ else ()
    cups = fitness.as_it_cups if fitness else None
    stroke, web = (fitness.stroke, fitness.web) if fitness else (None, None)
    return {
        "lines": [
            {"text": li.text, "field": li.field, "cap_mm": rounded(li.cap_mm, MM_DECIMALS), "x_mm": rounded(li.x_mm, MM_DECIMALS),
             "weight_mm": rounded(li.weight, MM_DECIMALS) or None}
            for li in lines
        ],
        "cap_height_mm": rounded(set_.cap_mm, MM_DECIMALS) if set_ and lines else None,
        "stroke_mm": rounded(stroke.width, MM_DECIMALS) if stroke else None,
        "stroke_range_mm": [rounded(width, MM_DECIMALS) for width in cups] if cups else None,
        "stroke_at": _at(stroke),
        "web_mm": rounded(web.width, MM_DECIMALS) if web else None,
        "web_at": _at(web),
        "depth_mm": rounded(task.tool.depth, MM_DECIMALS) if task else None,
        "path_caps_mm": _path_caps(toolpath) if toolpath and toolpath.caps else None,
        "passes": toolpath.passes if toolpath else None,
    }  # fmt: skip


def _path_caps(toolpath: Toolpath) -> list[list[float | int]]:
    """Return how many mm a cap height is in each path of a lid's file, as [mm, how many paths in turn]: told nowhere else."""
    of = {id(stroke): cap for stroke, cap in zip(toolpath.strokes, toolpath.caps, strict=True)}
    caps = [of[id(shape[0])] for shape in compounds(toolpath.strokes)]
    return [[round(cap, PATH_CAP), len(list(run))] for cap, run in groupby(caps)]


def _at(spot: Spot | None) -> dict[str, Any] | None:
    return {"x": rounded(spot.x, MM_DECIMALS), "y": rounded(spot.y, MM_DECIMALS), "text": spot.text} if spot else None


def _times(piece: Piece) -> dict[str, Any]:
    """Seconds and price for the entry's quantity, and for one; a piece without a quote still tells its seconds."""
    estimate, quote, number = piece.estimate, piece.quote, piece.order.quantity
    facts = dict(piece.toolpath.facts) if piece.toolpath else {}
    return {
        "machine_seconds": rounded(estimate.seconds * number, SECOND_DECIMALS) if estimate else None,
        "machine_seconds_range": [rounded(s * number, SECOND_DECIMALS) for s in estimate.seconds_range]
        if estimate
        else None,
        "machine_seconds_by_part": _by_part(estimate.parts, number) if estimate else None,
        **{name: round(facts[name]) if name in facts else None for name in COUNTED},
        "hand_seconds": rounded(quote.hand_seconds, SECOND_DECIMALS) if quote else None,
        "each": {
            "machine_seconds": rounded(estimate.seconds, SECOND_DECIMALS) if estimate else None,
            "hand_seconds": rounded(quote.each_hand_seconds, SECOND_DECIMALS) if quote else None,
            "price": amount(quote.each) if quote else None,
        },
        "price": amount(quote.price) if quote else None,
    }


def _by_part(parts: Sequence[tuple[str, float]], number: int) -> dict[str, float | None]:
    """Return the seconds that so many lids take, by what they are spent on; what takes none is left out."""
    return {name: rounded(seconds * number, SECOND_DECIMALS) for name, seconds in parts}


def _again(piece: Piece, again: Recut) -> dict[str, Any]:
    """Return what cutting lids of a piece again takes, why it is done, and the proof code of what was spoiled."""
    return {**_recut(again), "why": piece.order.recut_why or None, "was": piece.order.recut_was or None}


def _recut(again: Recut) -> dict[str, Any]:
    return {
        "lids": again.lids,
        "machine_seconds": rounded(again.machine_seconds, SECOND_DECIMALS),
        "hand_seconds": rounded(again.hand_seconds, SECOND_DECIMALS),
        "cost": amount(again.cost),
    }


def amount(money: Decimal) -> str:
    """Return money as decimals in a string, never in exponents."""
    return f"{money:f}"


def json_bits(week: Week, plan: Plan, entries: Iterable[Mapping[str, Any]], currency: str) -> Iterator[str]:
    """Yield week.json bit by bit; `entries` are those of `entry`, in the order of the table, taken one by one."""
    head = as_json(_head(week, plan, currency)).removesuffix("\n}\n")
    yield f'{head},\n "pieces": ['
    between = "\n"
    for told in entries:
        yield between + indent(as_json(told).rstrip("\n"), "  ")
        between = ",\n"
    yield "]\n}\n" if between == "\n" else "\n ]\n}\n"


def _head(week: Week, plan: Plan, currency: str) -> dict[str, Any]:
    totals = week.totals
    return {
        "schema": SCHEMA,
        "made_with": MADE_WITH,
        "currency": currency,
        "totals": {
            "orders": totals.orders,
            "pieces": totals.pieces,
            "ready": totals.ready,
            "look": totals.look,
            "hold": totals.hold,
            "waiting": totals.waiting,
            "machine_seconds": rounded(totals.machine_seconds, SECOND_DECIMALS),
            "hand_seconds": rounded(totals.hand_seconds, SECOND_DECIMALS),
            "price": amount(totals.price),
            "recut": _recut(totals.recut),
        },
        "shared": {
            "hand_seconds": rounded(sum(s for _, s in week.shared), SECOND_DECIMALS),
            "parts": {part: rounded(s, SECOND_DECIMALS) for part, s in week.shared},
            "air_saved_seconds": rounded(totals.air_saved_seconds, SECOND_DECIMALS),
        },
        "plan": _plan(plan),
        "notes": [_problem(p) for p in week.notes],
    }


def _plan(plan: Plan) -> dict[str, Any]:
    """Return the days of the plan. Dates are null where no first day was given."""
    return {
        "begin_by": plan.begin_by.isoformat() if plan.begin_by else None,
        "cutter_changes": plan.cutter_changes,
        "late": len(plan.late),
        "days": [
            {
                "day": d.day + 1,
                "date": d.on.isoformat() if d.on else None,
                "machine_seconds": rounded(d.machine_seconds, SECOND_DECIMALS),
                "hand_seconds": rounded(d.hand_seconds, SECOND_DECIMALS),
                "pieces": d.pieces,
            }
            for d in plan.days
        ],
    }


def as_json(value: Any) -> str:
    """Return JSON as our files have it: readable, in UTF-8, refusing what JSON has no number for."""
    return json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


FLAT = (
    "order", "piece", "row", "verdict", "name", "message", "foot", "lid", "area", "wood", "typeface", "cutter",
    "machine", "method", "setting", "quantity", "matching", "due", "cap_height_mm", "stroke_mm", "web_mm", "depth_mm",
    "passes", "machine_seconds", "hand_seconds", "price", "proof_code", "svg", "proof", "sign",
)  # fmt: skip
"""Columns of week.csv that are told as they are in week.json; then what needs saying, then the table's own columns."""


AHEAD = ("place", "day", "date", "days_late")
"""What week.csv tells of the plan, in columns named `plan_place`, `plan_day`, `plan_date` and `days_late`."""

DEEPER_COLUMNS = (
    *(name if name.startswith("days") else f"plan_{name}" for name in AHEAD),
    *(f"{part.replace('-', '_')}_seconds" for part in SPENT),
    *COUNTED,
)
"""Columns of week.csv that lie deeper in week.json: the plan, the machine's seconds by part, and counts."""

CARRIED = ("note", "approved", "checked", "recut")
"""Columns of the orders table that are read but not in week.json; nothing of a row is lost."""


def csv_bits(orders: Callable[[], Iterable[Order]], entries: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    """Yield week.csv bit by bit: a row a piece, unknown columns of the orders table carried, nothing run as a formula.

    orders: yields those of all pieces, in the order of the table, as often as it is called; entries: the same, one by one.
    """
    extras = _extra_columns(orders())
    yield "\ufeff"  # the mark by which spreadsheets know UTF-8
    yield _csv_row([*FLAT, *DEEPER_COLUMNS, "problems", "remedies", *CARRIED, *(neutral(name) for name in extras)])
    for told, order in zip(entries, orders(), strict=True):
        carried = [order.note, order.approved, order.checked, f"{order.recut or ''}: {order.recut_why}".strip(": ")]
        carried += [order.extra.get(name, "") for name in extras]
        yield _csv_row([neutral(cell) for cell in (*_row(told), *carried)])


def _csv_row(cells: Sequence[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow(cells)  # RFC 4180
    return out.getvalue()


def _extra_columns(orders: Iterable[Order]) -> list[str]:
    """Return the unknown columns in the order in which they appear; one with the name of ours is told apart."""
    return list(dict.fromkeys(name for order in orders for name in order.extra))


def _row(told: Mapping[str, Any]) -> list[Any]:
    problems = " | ".join(p["says"] for p in told["problems"] if p["level"] != "note")
    remedies = " | ".join(r["says"] for r in told["remedies"])
    ahead, spent = told["plan"] or {}, told["machine_seconds_by_part"] or {}
    further = [*map(ahead.get, AHEAD), *map(spent.get, SPENT), *(told[name] for name in COUNTED)]
    return [*(told[column] for column in FLAT), *further, problems, remedies]


def neutral(cell: Any) -> str:
    """Return a cell as text that no spreadsheet runs, whichever separator it splits the file at.

    A sign that would begin a formula, at the cell's beginning or behind a separator among its words, gets an apostrophe
    before it. Numbers of our own, negative ones too, stay numbers.
    """
    if cell is None:
        return ""
    if isinstance(cell, int | float):
        return f"{cell}"
    text = str(cell).replace("\0", "")
    inside = _SIGNED.sub(_apart, text)
    return "'" + inside if _BEGINS.match(text) else inside


def _apart(found: re.Match[str]) -> str:
    """Put an apostrophe between a separator and the sign that would begin a formula behind it."""
    separates = any(c in _SEPARATES for c in found["before"])
    return f"{found['before']}'{found['sign']}" if separates else found[0]
