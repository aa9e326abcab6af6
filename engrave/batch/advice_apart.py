"""A long week's advice worked out in a process of its own: for a few lids it loads all that lids are made with."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from engrave.making import Env, environment
from engrave.problems import Problem
from engrave.week import Costly, advice_on
from engrave.workers import Crew, may_fork

LONGEST_ADVICE = 600.0
"""Seconds after which such a process is given up; a week whose shop has many recipes takes some ten."""

Notes = tuple[Problem, ...]


def advice_apart(costly: Costly, env: Env, shop_folder: Path | None) -> Notes:
    """Return the notes on what would save time, worked out in another process. Raises RuntimeError if that fails."""
    begin = partial(_ready, env if may_fork() else None, shop_folder)
    crew: Crew[Costly, Notes | None] = Crew(begin, 1, lambda _: LONGEST_ADVICE)
    ((_, notes),) = crew.answers([costly])
    if not isinstance(notes, tuple):
        raise RuntimeError(f"no advice: {notes}")
    return notes


def _ready(env: Env | None, shop_folder: Path | None) -> Callable[[Costly], Notes | None]:
    return partial(_notes, env or environment(shop_folder))


def _notes(env: Env, costly: Costly) -> Notes | None:
    try:
        return advice_on(costly, env)
    except Exception:  # a fault in it costs the notes, and no trace of it stands between the lines of a week
        return None
