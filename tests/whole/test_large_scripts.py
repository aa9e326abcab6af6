"""Han letters and emoji as a shop meets them: with a font of its own, with one that no page may carry, with none."""

from __future__ import annotations

from functools import cache

import pytest
from read_pdf import page_texts

from engrave.making import Env, Piece, environment
from engrave.output.numbers import plain as told
from engrave.output.sheets import order_proof
from engrave.output.terminal.answers import tried as answer
from engrave.problems import Problem
from engrave.verbs import try_words
from tests.promises import promised
from tests.typefaces.built_fonts import BESIDE, CORNERS, TREE, built

NAME = "山田花子"


@pytest.fixture(scope="module")
def shops(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Env]:
    """A shop with a font that pages may carry, one whose licence forbids it, and one whose strokes nearly meet."""
    made = {}
    for shop, letters, bits in (
        ("open", dict.fromkeys(NAME, TREE), 0),
        ("restricted", dict.fromkeys(NAME, TREE), 0x0002),
        ("corners", dict.fromkeys(NAME, CORNERS), 0),
        ("beside", dict.fromkeys(NAME, BESIDE), 0),
    ):
        folder = tmp_path_factory.mktemp(shop)
        (folder / "typefaces").mkdir()
        built(folder / "typefaces" / "kanji.ttf", letters, bits)
        made[shop] = environment(folder)
    return made


@cache
def plain() -> Env:
    return environment()


def tried(env: Env, name: str = NAME, **how: str) -> Piece:
    return try_words(name, env=env, **({"lid": "round-caddy"} | how)).entries[0].piece  # type: ignore[arg-type]


def only(piece: Piece, code: str) -> Problem:
    (found,) = [p for p in piece.problems if p.code == code]
    return found


def proof_text(piece: Piece, env: Env) -> str:
    pdf = order_proof([piece], "4F8G6M", env.shop, env.shelf).pdf
    return "\n".join(page_texts(pdf))


@promised(
    "For Chinese, Japanese or Korean names put an open family there, such as Noto Sans JP; a hold for a lacking letter names one"
)
def test_with_an_open_font_names_are_set_and_the_proof_shows_them(shops: dict[str, Env]) -> None:
    env = shops["open"]
    piece = tried(env)
    assert piece.is_made and piece.lettering is not None
    assert [line.text for line in piece.lettering.lines] == [NAME]
    says = only(piece, "letter-from-companion").says
    assert says.startswith(f"{NAME} is set in Built Kanji Regular (kanji)") and "no Han letters" in says
    assert tried(env, typeface="kanji").verdict == "ready"
    shown = proof_text(piece, env)
    assert shown.count(NAME[1:]) == 2 and "letters]" not in shown


@pytest.mark.source("OpenType specification, OS/2 fsType")
def test_a_font_that_no_page_may_carry_is_cut_and_only_named_on_the_proof(shops: dict[str, Env]) -> None:
    env = shops["restricted"]
    piece = tried(env, typeface="kanji")
    assert piece.is_made
    assert [p.code for p in env.shelf.notes] == ["typeface-not-embedded"]
    assert env.shelf.carried() == ()
    shown = proof_text(piece, env)
    assert NAME not in shown and shown.count("[4 Han letters]") == 2
    assert "Built Kanji Regular" in shown


def test_without_a_font_the_hold_names_open_families() -> None:
    for name, family in ((NAME, "Noto Sans SC, TC, HK or JP"), ("김민준", "Noto Sans KR")):
        piece = tried(plain(), name, typeface="withy")
        assert [p.code for p in piece.problems if p.level == "hold"] == ["letter-missing"]
        assert family in only(piece, "letter-missing").says
        assert not any(p.code == "weight-given-up" for p in piece.problems)


def test_the_proof_says_how_high_letters_are_that_have_no_capitals(shops: dict[str, Env]) -> None:
    piece = tried(shops["open"], typeface="kanji")
    assert piece.lettering is not None
    high = piece.lettering.cap_mm * 820 / 700
    assert f"letters {told(high, 1)} mm high" in proof_text(piece, shops["open"])
    assert piece.lettering.size_is_of == "letters"
    assert f"letters {high:.1f} mm high" in answer(
        try_words(NAME, env=shops["open"], lid="round-caddy", typeface="kanji").entries, plain().shop
    )
    hebrew, armenian = (tried(plain(), name, typeface="noto-sans") for name in ("שלום", "Անի"))
    assert hebrew.lettering is not None and armenian.lettering is not None
    assert (hebrew.lettering.size_is_of, armenian.lettering.size_is_of) == ("letters", "capitals")


def test_corners_of_strokes_a_hair_apart_meet_and_strokes_beside_each_other_do_not(shops: dict[str, Env]) -> None:
    corners, beside = (tried(shops[shop], typeface="kanji") for shop in ("corners", "beside"))
    assert corners.is_made and only(corners, "strokes-meet").level == "note"
    assert "web-too-thin" in beside.serious or "loop-fills" in beside.serious
    assert not any(p.code == "strokes-meet" for p in beside.problems)


def test_a_sign_that_nobody_has_is_shown_and_a_near_drawing_offered() -> None:
    env = plain()
    piece = tried(env, "Zoë 🐶")
    found = only(piece, "sign-left-out")
    assert found.level == "look" and "🐶" in found.says and "‘🐾’ (paw prints)" in found.says
    assert "[dog face]" in proof_text(piece, env)
    drawn = tried(env, "Zoë 💕")
    assert drawn.is_made and "💕" in only(drawn, "sign-drawn").says
    assert "comes nearest" not in only(tried(env, "Zoë 🧱"), "sign-left-out").says


def test_georgian_and_armenian_words_stand_on_the_proof() -> None:
    env = plain()
    for name in ("ნინო", "Անի"):
        assert proof_text(tried(env, name, typeface="noto-sans"), env).count(name) == 2
