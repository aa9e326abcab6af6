"""The verdict on a piece: the highest level among what was found."""

from __future__ import annotations

from itertools import product

import pytest

from engrave.problems import Level, Problem, held, verdict

LEVELS: tuple[Level, ...] = ("note", "look", "hold")


def _found(*levels: Level) -> list[Problem]:
    return [Problem("x", level, "It is so.") for level in levels]


@pytest.mark.parametrize(
    ("levels", "said"),
    [
        ((), "ready"),
        (("note",), "ready"),
        (("note", "note"), "ready"),
        (("look",), "look"),
        (("note", "look"), "look"),
        (("look", "note"), "look"),
        (("hold",), "hold"),
        (("look", "hold"), "hold"),
        (("hold", "look", "note"), "hold"),
    ],
)
def test_the_highest_level_is_the_verdict(levels: tuple[Level, ...], said: str) -> None:
    assert verdict(_found(*levels)) == said


def test_only_a_hold_holds() -> None:
    for levels in product(LEVELS, repeat=3):
        assert held(_found(*levels)) == ("hold" in levels) == (verdict(_found(*levels)) == "hold")
