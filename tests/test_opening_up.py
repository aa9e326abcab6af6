"""Letters are opened up only where that helps and harms nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from engrave import making
from engrave.making import Piece, environment, set_and_checked
from engrave.problems import Problem
from engrave.verbs import try_words


@pytest.mark.parametrize(
    ("added", "taken"),
    [(None, True), (Problem("note", "note", "so"), True), (Problem("too-small", "look", "so"), False), (Problem("x", "hold", "so"), False)],
)  # fmt: skip
def test_wider_letters_that_are_worse_in_another_way_are_not_taken(
    added: Problem | None, taken: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    env = environment()
    task = try_words("Ida", lid="card-box", typeface="withy", wood="walnut", env=env).entries[0].piece.task
    assert task

    def found(piece: Piece, share: float, *_: Any) -> tuple[float, Piece]:
        wider = replace(piece, task=replace(task, tracking=0.03))
        return 0.03, replace(wider, problems=(*piece.problems, added) if added else piece.problems)

    monkeypatch.setattr(making, "with_room", found)
    made = set_and_checked(task, env)
    assert made.task
    assert (made.task.tracking == 0.03) is taken
    assert ("opened-up" in {p.code for p in made.problems}) is taken
