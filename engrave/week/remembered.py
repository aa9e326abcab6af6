"""What a week remembers of a piece whose geometry is no longer at hand: findings, figures, money, the lines' places.

Whatever the week as a whole is worked out from is here, so it comes to the same whether a piece was made just now, in
another process, or by an earlier run.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from engrave.advising import Remedy
from engrave.findings import finding_code
from engrave.making import Piece
from engrave.pricing import Quote, Recut
from engrave.problems import Problem
from engrave.setting.lettering import Lettering
from engrave.stored import as_plain, read_as
from engrave.tasks import Task
from engrave.timing import Estimate
from engrave.week.group import Entry
from engrave.week.one_size import What


def remember(entry: Entry) -> dict[str, Any]:
    """Return an entry as plain values, without its geometry."""
    piece, lettering = entry.piece, entry.piece.lettering
    set_ = Lettering(lettering.kind, lettering.setting, (), lettering.lines, lettering.groove) if lettering else None
    return {
        "task": piece.task is not None,
        "problems": as_plain(piece.problems),
        "plain": piece.plain,
        "laid": piece.is_laid,
        "lettering": as_plain(set_),
        "estimate": as_plain(piece.estimate),
        "quote": as_plain(piece.quote),
        "alone_mm": entry.alone_mm,
        "sign": entry.sign,
        "recut": as_plain(entry.recut),
        "code": entry.code,
        "leads": entry.leads,
        "letters": [list(one) for one in entry.letters],
        "remedies": [[[list(change) for change in r.change], r.says, list(r.leaves)] for r in entry.remedies],
    }


def recalled(what: What, told: Mapping[str, Any]) -> Entry:
    """Return the entry of an order's piece as it was remembered. Raises ValueError, TypeError or KeyError if it is not."""
    piece = Piece(
        what.order,
        what.piece,
        task=what if told["task"] and isinstance(what, Task) else None,
        lettering=_maybe(Lettering, told["lettering"]),
        estimate=_maybe(Estimate, told["estimate"]),
        quote=_maybe(Quote, told["quote"]),
        problems=tuple(read_as(Problem, problem) for problem in told["problems"]),
        plain=bool(told["plain"]),
        laid=bool(told["laid"]),
    )
    helps = tuple(
        Remedy(tuple((str(c), str(v)) for c, v in change), str(says), None, tuple(finding_code(str(c)) for c in left))
        for change, says, left in told["remedies"]
    )
    alone = told["alone_mm"]
    code = told["code"]
    return Entry(
        piece,
        helps,
        None if alone is None else float(alone),
        str(told["sign"]),
        read_as(Recut, told["recut"]),
        None if code is None else str(code),
        bool(told["leads"]),
        tuple((str(face), str(title), int(count)) for face, title, count in told["letters"]),
    )


def _maybe(kind: Any, plain: Any) -> Any:
    return None if plain is None else read_as(kind, plain)
