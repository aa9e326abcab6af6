"""What a shop's machines have learned so far, and from which runs: so that each run counts once, whatever is logged again.

A file beside the shop's tables, made when figures are saved: for each machine the state of knowledge (the likeliest
parameters and how sure they are), the figures that were put into the table, and a short name of every run counted. It
holds only as long as the table still says what was put there; a table changed by hand begins anew.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from engrave.files import Unreadable, whole_file
from engrave.learning.logs import Log
from engrave.limits import LEARNED_BYTES
from engrave.shop.models import Machine

NAME = "learned_times.json"
"""The file in the shop's folder."""

SAME = 2e-3
"""Share by which a table's figure may differ from the one that was saved: it is written to four digits."""


@dataclass(frozen=True, slots=True)
class Memory:
    """What is known of one machine. runs: names of the runs that were counted.

    centre (k,), spread (k, k): the parameters' logarithms and their covariance; empty where one factor on all times was
    learned, from `scaled` runs. figures: of the machine as saved.
    """

    runs: frozenset[str] = frozenset()
    centre: tuple[float, ...] = ()
    spread: tuple[tuple[float, ...], ...] = ()
    scaled: int = 0
    figures: tuple[float, ...] = ()


def run_name(log: Log) -> str:
    """Return a short name of a run: equal for a row that was copied, or logged in another file."""
    told = json.dumps([log.order.casefold(), log.piece, round(log.seconds, 2), log.date, log.note])
    return hashlib.sha256(told.encode()).hexdigest()[:16]


def figures_of(machine: Machine) -> tuple[float, ...]:
    """Return the figures of a machine that can be learned."""
    return (*machine.amax, machine.corner_slack, machine.stroke_s, machine.fixed_s, machine.scale)


def recalled(folder: Path | None, machine: Machine) -> Memory:
    """Return what is known of a machine; nothing where nothing was saved, or the table says something else by now."""
    if folder is None:
        return Memory()
    try:
        told = _read(folder).get(machine.id)
        memory = _memory(told) if told is not None else Memory()
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, RecursionError):
        return Memory()
    now = figures_of(machine)
    same = len(now) == len(memory.figures) and all(
        math.isclose(a, b, rel_tol=SAME, abs_tol=1e-6) for a, b in zip(now, memory.figures, strict=True)
    )
    return memory if same else Memory()


def remembered(folder: Path, machine_id: str, memory: Memory) -> str:
    """Return the text of the file with what is now known of a machine; what it says of others stays."""
    try:
        told = _read(folder)
    except (ValueError, RecursionError):
        told = {}  # damaged: it is begun anew
    told[machine_id] = {
        "runs": sorted(memory.runs), "centre": list(memory.centre), "spread": [list(row) for row in memory.spread],
        "scaled": memory.scaled, "figures": list(memory.figures),
    }  # fmt: skip
    return json.dumps({"schema": 1, "machines": dict(sorted(told.items()))}, indent=1, allow_nan=False) + "\n"


def _read(folder: Path) -> dict[str, Any]:
    try:
        told = json.loads(whole_file(folder / NAME, LEARNED_BYTES))
    except Unreadable:
        return {}
    machines = told.get("machines") if isinstance(told, dict) else None
    return {k: v for k, v in machines.items() if isinstance(v, dict)} if isinstance(machines, dict) else {}


def _memory(told: Mapping[str, Any]) -> Memory:
    """Return what a machine's entry says. Raises ValueError and its like for what is none."""
    centre, figures = _floats(told["centre"]), _floats(told["figures"])
    spread = tuple(_floats(row) for row in told["spread"])
    if any(len(row) != len(centre) for row in spread) or len(spread) != len(centre):
        raise ValueError("not square")
    if any(spread[i][i] <= 0 for i in range(len(spread))):
        raise ValueError("no spread")
    runs = frozenset(str(name) for name in told["runs"])
    return Memory(runs, centre, spread, int(told["scaled"]), figures)


def _floats(values: Iterable[Any]) -> tuple[float, ...]:
    found = tuple(float(v) for v in values)
    if not all(math.isfinite(v) for v in found):
        raise ValueError("not a number")
    return found


def once(logs: Sequence[Log], memory: Memory) -> tuple[tuple[Log, ...], tuple[tuple[Log, int], ...], int]:
    """Return the runs that are new, rows that repeat a row of the same log (with its number), and how many are known."""
    first: dict[str, Log] = {}
    repeats: list[tuple[Log, int]] = []
    known = 0
    for log in logs:
        name = run_name(log)
        if name in memory.runs:
            known += 1
        elif name in first:
            repeats.append((log, first[name].row))
        else:
            first[name] = log
    return tuple(first.values()), tuple(repeats), known
