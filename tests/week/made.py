"""Weeks made by hand: pieces with a due day, a cutter, machine and hand hours, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from priced import a_job, a_task, quoted, some_rates, two_lines

from engrave.making import Piece
from engrave.problems import Problem
from engrave.setting.lettering import Mark
from engrave.shop.models import Rates
from engrave.tasks import Task
from engrave.typefaces.run import Glyph
from engrave.week import Entry

MARK = Mark(Glyph("test/0", "single-line", (), 1.0), (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), "A", 0)
HOLD = Problem("does-not-fit", "hold", "It does not fit.")


def rates(**changes: Any) -> Rates:
    """A shop whose hands have nothing to do but what a piece's hours say, and all the time they need."""
    day = {"machine_hours": (8.0,) * 7, "hand_hours": (24.0,) * 7}
    none = replace(some_rates().hands, week=0.0, cutter_change=0.0, loose=0.0, finish=0.0, order=0.0)
    return some_rates(**({"hands": none} | day | changes))


def entry(
    order: str, hours: float = 1.0, due: str = "", cutter: str = "c", piece: int = 1, of: Rates | None = None,
    held: bool = False, quantity: int = 1,
) -> Entry:  # fmt: skip
    """One piece that takes so many machine hours."""
    task: Task = a_task(quantity, piece)
    task = replace(
        task,
        order=replace(task.order, id=order, due=due, piece=piece),
        tool=replace(task.tool, cutter=replace(task.tool.cutter, id=cutter)),
    )
    lettering = replace(two_lines(), marks=(MARK,))
    job = a_job(hours * 3600.0)
    told = quoted(of or rates(), task, hours * 3600.0)
    found = (HOLD,) if held else ()
    return Entry(Piece(task.order, piece, task, lettering, estimate=job, quote=told, problems=found))
