"""What logged times tell of a machine, for people at the command line and for scripts."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from engrave.output.numbers import rounded
from engrave.output.terminal.answers import columns
from engrave.units import duration

if TYPE_CHECKING:
    from engrave.learning.learned import Learned

FIGURES = 4
"""Digits of what is learned: more would claim what no stop-watch tells."""


def learned_lines(learned: Learned, saved: tuple[Path, Path | None] | None = None) -> str:
    """Return the answer to 'what do these times tell?': the errors, the figures, every run, and what to look at."""
    rows = [["row", "piece", "timed", "before", "", "now", ""]]
    for p in learned.points:
        was, now = (_off(s / p.real - 1.0) for s in (p.before, p.after))
        odd = "  does not count" if p.outlier else ""
        timed, before, after = (duration(s) for s in (p.real, p.before, p.after))
        rows.append([str(p.log.row), p.log.name, timed, before, was, after, now + odd])
    lines = [f"{learned.machine.title} ({learned.machine.id})", *(f"  {s}" for s in learned.summary), ""]
    lines += [*(f"  {row}" for row in columns(rows)), ""]
    lines += [f"{p.level.capitalize()}: {p.says}" for p in learned.problems]
    return "\n".join([*lines, _saved(saved) if learned.changed else "Nothing was changed."])


def _off(share: float) -> str:
    """Return how far an estimate is off, as '+4 %' or '0 %'."""
    percent = round(100 * share)
    return f"{percent:+d} %" if percent else "0 %"


def _saved(saved: tuple[Path, Path | None] | None) -> str:
    if saved is None:
        return "Nothing was changed. To use these figures from now on: --save, with --shop FOLDER."
    table, kept = saved
    return f"Saved in {table}" + (f"; what it was is kept in {kept.name}." if kept else ", which is new.")


def learned_json(learned: Learned, saved: tuple[Path, Path | None] | None = None) -> dict[str, Any]:
    """Return what was learned as plain values."""
    return {
        "machine": learned.machine.id,
        "runs": len(learned.points),
        "error_before": rounded(learned.error_before, FIGURES),
        "error_after": rounded(learned.error_after, FIGURES),
        "error_next": rounded(learned.error_next, FIGURES),
        "scatter": rounded(learned.machine.scatter, FIGURES),
        "parameters": [
            {
                "name": f.name, "unit": f.unit or None, "before": rounded(f.before, FIGURES),
                "after": rounded(f.after, FIGURES), "within_factor": rounded(f.within, FIGURES),
                "range": [rounded(f.low, FIGURES), rounded(f.high, FIGURES)] if f.determined else None,
                "determined": f.determined,
            }
            for f in learned.fitted
        ],
        "points": [
            {
                "row": p.log.row, "order": p.log.order, "piece": p.log.piece, "seconds": p.real,
                "before_seconds": rounded(p.before, 1), "after_seconds": rounded(p.after, 1), "outlier": p.outlier,
            }
            for p in learned.points
        ],
        "problems": [
            {"code": p.code, "level": p.level, "says": p.says, "where": p.where or None} for p in learned.problems
        ],
        "saved": str(saved[0]) if saved else None,
        "kept": str(saved[1]) if saved and saved[1] else None,
    }  # fmt: skip
