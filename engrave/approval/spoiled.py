"""Whether a lid that is cut again comes out as the one that was spoiled."""

from __future__ import annotations

from engrave.approval.facts import facts_of
from engrave.approval.kept_orders import KeptOrders
from engrave.output.svg import proof_code
from engrave.problems import Problem
from engrave.week import Entry


def cut_otherwise(entry: Entry, agreed: bool, store: KeptOrders | None) -> Problem | None:
    """Return what is to be looked at before a lid is cut again: it is another, or nobody knows what was cut.

    agreed: its order names what its buyer approved, and so what was cut. None where it comes out as it was.
    """
    piece, code = entry.piece, entry.code
    before = piece.order.recut_was
    if piece.order.recut and piece.is_made and not before and not agreed:
        return _unknown(code)
    if not before or not code or before in (code, proof_code(piece)):
        return None
    kept = store.find(before) if store is not None else None
    if kept is not None and facts_of(piece) in kept.facts:  # only another piece of its order changed
        return None
    says = (
        f"The lid that is to be cut again was proof {before}; what would be cut now is {code}: words, lid, wood, "
        "tool or a table has changed since. Bring back what was cut, or make sure that the buyer wants the new one."
    )
    return Problem("recut-differs", "look", says, "column recut", before, code)


def _unknown(code: str | None) -> Problem:
    now = f", {code}," if code else ""
    says = (
        f"It is to be cut again, and this week's folder does not know what was cut: today's lettering{now} may differ. "
        "Make the week in the folder it was first made in, write that proof's code into the column approved, or compare "
        "it with the spoiled lid."
    )
    return Problem("recut-unknown", "look", says, "column recut", limit=code)
