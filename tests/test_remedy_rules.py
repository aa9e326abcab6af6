"""When a change counts as a remedy: it clears what was wrong, adds nothing, and its lid is made."""

from __future__ import annotations

from dataclasses import replace

import pytest
from week.made import MARK, entry

from engrave.advising import clears
from engrave.making import Piece
from engrave.problems import Level, Problem

Found = list[tuple[str, Level]]


def _piece(found: Found, laid: bool = True) -> Piece:
    made = entry("a").piece
    assert made.lettering
    lettering = replace(made.lettering, marks=(MARK,) if laid else ())
    return replace(made, lettering=lettering, problems=tuple(Problem(code, level, "so") for code, level in found))


THIN: Found = [("web-too-thin", "hold"), ("groove-heavy", "look"), ("travel-height", "note")]


@pytest.mark.parametrize(
    ("after", "helps"),
    [
        ([], True),
        ([("travel-height", "note")], True),
        ([("groove-heavy", "look")], True),  # that was so before
        ([("single-line", "note")], True),  # a note is no harm
        ([("web-too-thin", "hold")], False),  # as bad as before
        ([("web-too-thin", "look")], False),  # it is still there
        ([("web-too-thin", "note")], False),  # even as a note: what was asked for is that it goes
        ([("groove-light", "look")], False),  # something else to look at
        ([("stroke-too-thin", "hold")], False),  # something else that holds it
        ([("travel-height", "look")], False),  # what was a note must be looked at now
    ],
)
def test_what_clears(after: Found, helps: bool) -> None:
    assert clears(_piece(THIN), _piece(after), {"web-too-thin"}) is helps


def test_a_lid_without_lettering_clears_nothing() -> None:
    assert not clears(_piece(THIN), _piece([], laid=False), {"web-too-thin"})


def test_all_that_was_asked_for_must_go() -> None:
    before: Found = [("web-too-thin", "hold"), ("too-small", "look")]
    assert not clears(_piece(before), _piece([("too-small", "look")]), {"web-too-thin", "too-small"})
    assert clears(_piece(before), _piece([("too-small", "look")]), {"web-too-thin"})
