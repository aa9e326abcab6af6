"""Words that lack room are told how many letters would fit, in their own typeface and in a plainer one."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from engrave import making
from engrave.advising.codes import TOO_SMALL
from engrave.advising.nearness import character_of
from engrave.advising.trying import Trials, remake
from engrave.cli import main
from engrave.making import Env, environment
from engrave.verbs import try_words

LONG = "Wilhelmina Featherstonehaugh-Cholmondeley and Bartholomew"


@pytest.fixture(scope="module")
def env() -> Env:
    return environment()


def test_so_many_letters_fit_as_is_said_in_its_own_typeface_and_in_a_plainer_one(env: Env) -> None:
    ordered = {"lid": "dice-cup", "typeface": "great-vibes", "wood": "oak", "cutter": "v60", "setting": "stack"}
    (one,) = try_words(LONG, env=env, **ordered).entries  # type: ignore[arg-type]
    assert one.piece.serious & TOO_SMALL
    counts = {face: count for face, _, count in one.letters}
    assert next(iter(counts)) == "great-vibes"
    plainer = next(face for face in counts if face != "great-vibes")
    assert character_of(plainer, env) == "even"
    for face, count in counts.items():
        words = _first(LONG, count)
        (shorter,) = try_words(words, env=env, **(ordered | {"typeface": face})).entries  # type: ignore[arg-type]
        assert not shorter.piece.serious & TOO_SMALL
        longer_words = _first(LONG, count + 3)
        (longer,) = try_words(longer_words, env=env, **(ordered | {"typeface": face})).entries  # type: ignore[arg-type]
        assert longer.piece.serious & TOO_SMALL


def _first(text: str, letters: int) -> str:
    """Return a text's beginning that has so many letters."""
    return next(text[:k] for k in range(len(text) + 1) if len(text[:k].replace(" ", "")) == letters)


def test_a_script_is_offered_scripts_before_other_letters(env: Env) -> None:
    """Of what may help, typefaces of the same character of letter are tried, and offered, first."""
    (one,) = try_words("Rosemary", message="happy birthday", lid="card-box", typeface="great-vibes", cutter="mill-08",
                       wood="maple", env=env).entries  # fmt: skip
    faces = [dict(r.change)["typeface"] for r in one.remedies if "typeface" in dict(r.change)]
    scripts = [character_of(face, env) == "script" for face in faces]
    assert set(scripts) == {True, False}
    assert scripts == sorted(scripts, reverse=True)


def test_words_that_fit_are_told_no_number(env: Env) -> None:
    (one,) = try_words("Ida", lid="card-box", typeface="withy", wood="maple", env=env).entries
    assert one.letters == ()


def test_try_tells_the_answer_and_then_what_would_help() -> None:
    said = [
        "try",
        "Ada",
        "--lid",
        "card-box",
        "--typeface",
        "vollkorn",
        "--cutter",
        "half-round-20",
        "--wood",
        "walnut",
    ]
    told = CliRunner().invoke(main, said).stdout
    assert told.index("Cannot be tried") < told.index("Hold:") < told.index("What would help:")
    assert told.count("What would help:") == 1


@pytest.mark.parametrize("typeface", ["vollkorn", "saira-stencil", "withy"])
@pytest.mark.parametrize("lid", ["dice-cup", "card-box"])
def test_whether_words_have_room_is_known_as_if_they_were_made(lid: str, typeface: str, env: Env) -> None:
    """Most are only set for it; what a check would change must not matter."""
    (one,) = try_words("Ida", lid=lid, typeface=typeface, wood="maple", cutter="v60", env=env, advice=False).entries
    for length in (12, 24, len(LONG)):
        change = (("message", LONG[:length].rstrip()),)
        made = remake(change, one.piece, env, None)
        fits = made is not None and made.is_laid and not made.serious & TOO_SMALL
        assert Trials(one.piece, env, None, 9).has_room(change) is fits


def test_words_that_have_room_are_not_checked_for_it(env: Env, monkeypatch: pytest.MonkeyPatch) -> None:
    (one,) = try_words(
        "Ida", lid="card-box", typeface="vollkorn", wood="maple", cutter="v60", env=env, advice=False
    ).entries
    monkeypatch.setattr(making, "check", None)
    trials = Trials(one.piece, env, None, 2)
    assert trials.has_room((("name", "Adam"),))
    assert not trials.has_room((("name", "m" * 200),))
    assert not trials.has_room((("name", "Ada"),)), "patience is used up"
