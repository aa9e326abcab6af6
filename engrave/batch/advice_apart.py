"""A long week's advice worked out in a process of its own: for a few lids it loads all that lids are made with."""

from __future__ import annotations

import json
import pickle
import sys
from pathlib import Path

from engrave.batch.apart import answer_of
from engrave.making import environment
from engrave.problems import Problem
from engrave.stored import as_plain, read_as
from engrave.week import Costly, KnownSavers, week_advice

LONGEST_ADVICE = 600.0
"""Seconds after which such a process is given up; a week whose shop has many recipes takes some ten."""


def advised_apart(costly: Costly, shop_folder: Path | None, known: KnownSavers) -> tuple[Problem, ...]:
    """Return the notes on what would save time, worked out in another process. known: what was worked out already.

    Raises OSError, ValueError or SubprocessError if it has no answer.
    """
    done = answer_of(__name__, (costly, shop_folder, known), LONGEST_ADVICE)
    return tuple(read_as(Problem, note) for note in json.loads(done))


def _answer() -> None:
    costly, shop_folder, known = pickle.load(sys.stdin.buffer)  # from nobody but the parent
    sys.stdout.write(json.dumps(as_plain(week_advice(costly, environment(shop_folder), known))))


if __name__ == "__main__":
    _answer()
