"""Cutters that are offered: looked at one after the other, and in the order in which all of them would have come."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import pytest

from engrave.advising import HELPABLE, others
from engrave.advising.nearness import machine_of
from engrave.advising.others import other_cutters, usable, with_cutter
from engrave.cache import Cache
from engrave.cutting import KeptMeasures, check
from engrave.cutting.judge import case
from engrave.making import Env, Piece, environment
from engrave.verbs import try_words

HELD = [
    {"name": "Christopher", "lid": "oval-box", "typeface": "linux-libertine", "cutter": "mill-08", "wood": "basswood"},
    {"name": "Hannah", "message": "14 June 2024", "lid": "heart-box", "typeface": "vollkorn", "cutter": "ball-2",
     "wood": "basswood"},
    {"name": "Wanda", "message": "14 June 2024", "lid": "oval-box", "typeface": "ems-tech", "cutter": "v90",
     "wood": "cherry"},
    {"name": "Katharina", "lid": "heart-box", "typeface": "vollkorn", "cutter": "drag", "wood": "cherry"},
]  # fmt: skip
RANKS = ("passes", "leaves a look", "may pass")


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def held_piece(ordered: dict[str, str], env: Env) -> Piece:
    piece = try_words(env=env, advice=False, **ordered).entries[0].piece  # type: ignore[arg-type]
    assert piece.verdict == "hold"
    return piece


@pytest.mark.parametrize("ordered", HELD, ids=lambda o: o["name"])
@pytest.mark.parametrize("here", [True, False])
def test_cutters_come_as_if_all_had_been_looked_at_first(ordered: dict[str, str], here: bool, env: Env) -> None:
    piece = held_piece(ordered, env)
    targets = set(piece.serious & HELPABLE)
    found = [dict(c.change)["cutter"] for c in other_cutters(piece, env, targets, here)]
    told = {
        c.id: others._as_set(with_cutter(c), piece, env, targets)
        for c in usable(piece, env)
        if (c.machine == machine_of(piece, env)) is here
    }
    assert sorted(found) == sorted(i for i, rank in told.items() if rank != "fails")
    ranks = [RANKS.index(told[i]) for i in found]
    assert ranks == sorted(ranks)


def test_no_more_cutters_are_looked_at_than_pass(env: Env, monkeypatch: pytest.MonkeyPatch) -> None:
    piece = held_piece(HELD[1], env)
    targets = set(piece.serious & HELPABLE)
    told: list[str] = []
    look = others._as_set

    def looked(*given: object) -> str:
        told.append(look(*given))  # type: ignore[arg-type]
        return told[-1]

    monkeypatch.setattr(others, "_as_set", looked)
    assert len(list(islice(other_cutters(piece, env, targets, here=True), 1))) == 1
    assert told.index("passes") == len(told) - 1
    assert len(told) < len(usable(piece, env))


def test_letters_are_not_checked_twice_for_one_cutter(env: Env, monkeypatch: pytest.MonkeyPatch) -> None:
    """A V-bit passes on the letters as they stand; its piece has just these, and is not checked again."""
    from engrave import making
    from engrave.advising import remedies

    piece = held_piece(HELD[1], env)
    checked: list[tuple[int, object]] = []
    check = making.check

    def counted(lettering: object, *how: object) -> object:
        checked.append((id(lettering), how[:3]))
        return check(lettering, *how)  # type: ignore[arg-type]

    monkeypatch.setattr(making, "check", counted)
    env.cache._kept.pop(making.CHECKED.name, None)
    assert [dict(r.change).get("cutter") for r in remedies(piece, env)][:1] == ["v60"]
    assert checked
    assert len(set(checked)) == len(checked)


def test_lines_are_taken_apart_once_for_grooves_of_all_widths(env: Env, monkeypatch: pytest.MonkeyPatch) -> None:
    piece = held_piece(HELD[2], env)
    assert piece.task is not None
    assert piece.lettering is not None
    tool, wood, lid = piece.task.tool, piece.task.wood, piece.task.lid
    grooves = [replace(piece.lettering, groove=share * piece.lettering.groove) for share in (0.5, 0.7, 1.3)]
    alone = [check(laid, tool, wood, lid, KeptMeasures(cache=Cache())).problems for laid in grooves]
    assert len(set(alone)) == len(grooves)  # what is found is another thing for each
    asked: list[object] = []
    parted = case.components_of
    monkeypatch.setattr(case, "components_of", lambda *given: (asked.append(given), parted(*given))[1])
    together = KeptMeasures(cache=Cache())
    assert [check(laid, tool, wood, lid, together).problems for laid in grooves] == alone
    assert len(asked) == 1
