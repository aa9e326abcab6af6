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
from engrave.week import Costly, advice_on

LONGEST_ADVICE = 600.0
"""Seconds after which such a process is given up; a week whose shop has many recipes takes some ten."""


def advised_apart(costly: Costly, shop_folder: Path | None) -> tuple[Problem, ...]:
    """Return the notes on what would save time, worked out in another process.

    Raises OSError, ValueError or SubprocessError if it has no answer.
    """
    done = answer_of(__name__, (costly, shop_folder), LONGEST_ADVICE)
    return tuple(read_as(Problem, note) for note in json.loads(done))


def _answer() -> None:
    costly, shop_folder = pickle.load(sys.stdin.buffer)  # from nobody but the parent
    sys.stdout.write(json.dumps(as_plain(advice_on(costly, environment(shop_folder)))))


if __name__ == "__main__":
    _answer()
