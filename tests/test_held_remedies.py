"""What is offered for held pieces is what was offered before remedies were sought faster, word by word."""

from __future__ import annotations

from typing import Any

import pytest
from held_remedies import KEPT, kept, told

from engrave.making import Env, environment

EVERY = 50
"""Of so many pieces one is always looked at; all of them take minutes."""

HELD = kept()
PARTS = 10


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def differing(held: list[dict[str, Any]], env: Env) -> list[dict[str, Any]]:
    return [
        {"ordered": one["ordered"], "before": one["told"], "now": now}
        for one in held
        if (now := told(one["ordered"], env)) != one["told"]
    ]


def test_there_are_three_hundred_held_pieces_of_many_kinds() -> None:
    assert len(HELD) >= 300, KEPT
    holds = {code for one in HELD for entry in one["told"] for code in entry["holds"]}
    assert {"stroke-too-thin", "web-too-thin", "loop-fills", "too-small", "no-recipe", "web-under-depth"} <= holds
    columns = {c for one in HELD for entry in one["told"] for r in entry["remedies"] for c, _ in r["change"]}
    assert {"cutter", "typeface", "spacing", "depth", "thicken", "setting", "lid", "message"} <= columns
    assert sum(bool(entry["letters"]) for one in HELD for entry in one["told"]) >= 5


def test_some_held_pieces_are_offered_what_they_were_before(env: Env) -> None:
    assert differing(HELD[::EVERY], env) == []


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
def test_every_held_piece_is_offered_what_it_was_before(env: Env, part: int) -> None:
    others = [one for k, one in enumerate(HELD) if k % EVERY]
    assert differing(others[part::PARTS], env) == []
